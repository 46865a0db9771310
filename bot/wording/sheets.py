"""Printed sheets: facts, tables and pictures on A4 pages, as PDF."""

from __future__ import annotations

import io
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import cast

from fpdf import FPDF
from fpdf.enums import TextDirection, XPos, YPos
from fpdf.fonts import FontFace, TTFFont

from bot.facts import Fact, Picture, Table
from bot.wording.canvas import CannotDraw, font_of, lacking
from bot.wording.catalogue import LOCALES
from bot.wording.pictures import picture
from bot.wording.values import Speaker
from bot.wording.voice import Voice

MARGIN_MM = 18


class _Pages(FPDF):
    """A4 pages with their number at the foot, in one font and the script's direction."""

    def __init__(self, font: Path, *, right_to_left: bool) -> None:
        super().__init__(format="A4")
        self.path = font
        self.right_to_left = right_to_left
        self.set_margin(MARGIN_MM)
        self.set_auto_page_break(auto=True, margin=MARGIN_MM + 6)
        self.add_font("sheet", fname=str(font))
        self.set_font("sheet", size=11)
        self.set_text_shaping(
            use_shaping_engine=True,
            direction=TextDirection.RTL if right_to_left else TextDirection.LTR,
        )
        self.add_page()

    def footer(self) -> None:
        self.set_y(-MARGIN_MM)
        self.set_font("sheet", size=9)
        self.cell(0, 6, f"{self.page_no()}", align="C")
        self.set_font("sheet", size=11)

    def close_font(self) -> None:
        """Let go of the font's file, which the library keeps open."""
        cast("TTFFont", self.fonts["sheet"]).ttfont.close()

    @property
    def side(self) -> str:
        return "R" if self.right_to_left else "L"

    def paragraph(self, text: str, size_pt: int) -> None:
        if missing := lacking(self.path, text):
            raise CannotDraw(f"the font has no {missing!r}")
        self.set_font("sheet", size=size_pt)
        height = size_pt * 0.55
        self.multi_cell(0, height, text, align=self.side, new_x=XPos.LMARGIN, new_y=YPos.NEXT)
        self.ln(2)

    def grid(self, head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
        for text in (*head, *(cell for row in rows for cell in row)):
            if missing := lacking(self.path, text):
                raise CannotDraw(f"the font has no {missing!r}")
        turn = -1 if self.right_to_left else 1
        self.set_font("sheet", size=10)
        side = "RIGHT" if self.right_to_left else "LEFT"
        shaded = FontFace(fill_color=(232, 240, 226))
        with self.table(text_align=side, line_height=6, headings_style=shaded) as table:
            for cells in (head, *rows):
                table.row(list(cells)[::turn])
        self.ln(4)


def sheet(
    title: Fact,
    parts: Sequence[Fact | Table],
    voice: Voice,
    made_at: datetime,
    root: Path = LOCALES,
) -> bytes:
    """A PDF with a title, and facts, tables and pictures in their order.

    `made_at` is what the file says of its making; the same values give the same bytes. Empty if
    no font here has the language's script: then the words must go as text.
    """
    speaker = Speaker(voice, root)
    pages = _Pages(font_of(voice.language, root), right_to_left=speaker.right_to_left)
    pages.set_creation_date(made_at)
    pages.set_lang(voice.language)
    try:
        pages.set_title(speaker.fact(title))
        pages.paragraph(speaker.fact(title), 18)
        for part in parts:
            if isinstance(part, Table):
                cells = [[speaker.value(cell) for cell in row] for row in (part.head, *part.rows)]
                pages.grid(cells[0], cells[1:])
            elif isinstance(part, Picture):
                drawn = picture(part, speaker)
                if not drawn:
                    return b""
                pages.image(io.BytesIO(drawn), w=pages.epw, alt_text=speaker.fact(part))
                pages.ln(4)
            else:
                pages.paragraph(speaker.fact(part), 11)
        return bytes(pages.output())
    except CannotDraw:
        return b""
    finally:
        pages.close_font()
