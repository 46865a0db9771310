"""A sheet to draw on: text that fits and is shaped, and sides that follow the script."""

from __future__ import annotations

import io
from functools import lru_cache
from pathlib import Path
from typing import Literal

from PIL import Image, ImageDraw, ImageFont, features

FONT = Path(__file__).parent / "fonts" / "Mukta-Regular.ttf"
"""Latin and Devanagari. Mukta 2.538 by Ek Type, SIL Open Font License 1.1 (beside the file)."""

WIDTH_PX = 900
MARGIN_PX = 36

SMALLEST_PX = 16
"""Letters of this height are still read on a small phone, where the sheet is shown at half size."""

INK = "#1c1c1c"
PAPER = "#ffffff"
FILLS = ("#86b86f", "#d3e7f5", "#f2dc9a", "#b9b2a3")
"""They differ in grey and to colour-blind eyes too, and black marks show on each."""

DOWN = -3
"""The shape that points down, at today."""


class CannotDraw(Exception):  # noqa: N818 - said where a picture is left out
    """This machine or font cannot show the script; the words go without a picture."""


@lru_cache(maxsize=32)
def _font(path: Path, size_px: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(path), size_px)


def is_plain(text: str) -> bool:
    """Whether a text needs no shaping: no script above the European ones."""
    return all(ord(char) < 0x0590 or 0x1E00 <= ord(char) < 0x2C00 for char in text)


class Canvas:
    """A white sheet of fixed width. In a right-to-left script, x counts from the right."""

    def __init__(
        self, height_px: int, font: Path = FONT, *, mirrored: bool = False, shaping: bool = True
    ) -> None:
        """Begin a sheet; `shaping` False draws as where the shaping library is missing."""
        self.image = Image.new("RGB", (WIDTH_PX, height_px), PAPER)
        self._draw = ImageDraw.Draw(self.image)
        self._path = font
        self._mirrored = mirrored
        self._shaping = shaping and features.check("raqm")

    def _across(self, left: float, right: float) -> tuple[float, float]:
        return (WIDTH_PX - right, WIDTH_PX - left) if self._mirrored else (left, right)

    def box(self, corners: tuple[float, float, float, float], fill: str) -> None:
        """A rectangle with an edge: its left, top, right and bottom."""
        left, top, right, bottom = corners
        a, b = self._across(left, right)
        self._draw.rectangle((a, top, b, bottom), fill=fill, outline=INK, width=3)

    def shape(self, corners: int, x: float, y: float, radius: float) -> None:
        """A mark centred on a point: 0 corners is a disc, 3 a triangle, and so on."""
        a, _ = self._across(x, x)
        if corners == 0:
            self._draw.ellipse((a - radius, y - radius, a + radius, y + radius), fill=INK)
        else:
            turn = 180 if corners == DOWN else 0
            self._draw.regular_polygon((a, y, radius), abs(corners), rotation=turn, fill=INK)

    def lines(self, text: str, width_px: float, size_px: int) -> list[str]:
        """The text broken between words so that each line is within the width."""
        lines = [""]
        for word in text.split():
            longer = f"{lines[-1]} {word}".strip()
            if lines[-1] and self.width(longer, size_px) > width_px:
                lines.append(word)
            else:
                lines[-1] = longer
        return lines

    def width(self, text: str, size_px: int) -> float:
        """The pixels a text takes from side to side."""
        return float(self._font_for(text, size_px).getlength(text, direction=self._direction))

    def text(
        self,
        at: tuple[float, float],
        text: str,
        room_px: float,
        size_px: int,
        *,
        centred: bool = False,
    ) -> None:
        """One line that begins (or has its middle) at a point's x, its top at the point's y.

        It gets smaller to fit its room, down to what a phone still shows, then loses its end.
        """
        while size_px > SMALLEST_PX and self.width(text, size_px) > room_px:
            size_px -= 1
        whole = text
        while whole and self.width(text, size_px) > room_px:
            whole = whole[:-1].rstrip()
            text = f"{whole}..."
        x, _ = self._across(at[0], at[0])
        side = "m" if centred else ("r" if self._mirrored else "l")
        self._draw.text(
            (x, at[1]),
            text,
            fill=INK,
            font=self._font_for(text, size_px),
            anchor=f"{side}a",
            direction=self._direction,
        )

    @property
    def _direction(self) -> Literal["ltr", "rtl"] | None:
        if not self._shaping:
            return None
        return "rtl" if self._mirrored else "ltr"

    def _font_for(self, text: str, size_px: int) -> ImageFont.FreeTypeFont:
        if not self._shaping and not is_plain(text):
            raise CannotDraw("the shaping library (raqm) is missing")
        font = _font(self._path, size_px)
        if missing := lacking(self._path, text):
            raise CannotDraw(f"the font has no {missing!r}")
        return font

    def png(self) -> bytes:
        """The sheet as a PNG file of few colours, small enough for a slow line."""
        file = io.BytesIO()
        self.image.quantize(32).save(file, "PNG", optimize=True)
        return file.getvalue()


def font_of(language: str, root: Path) -> Path:
    """The font a language brings in its folder, else our own."""
    own = root / language / "font.ttf"
    return own if own.is_file() else FONT


def lacking(path: Path, text: str) -> str:
    """The characters of a text that a font does not have, each once."""
    return "".join(char for char in dict.fromkeys(text) if char > " " and not _has(path, char))


@lru_cache(maxsize=4096)
def _has(path: Path, char: str) -> bool:
    """Whether a font has a character of its own, not the box that stands for what is missing."""
    font = _font(path, 32)
    return bytes(font.getmask(char)) != bytes(font.getmask("\U0010fffe"))
