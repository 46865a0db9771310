"""Pictures: what is drawn where, in any script, and left out rather than wrong."""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from PIL import Image, features

from bot.craft.units import Quantity
from bot.facts import Band, DayStrip, Mark, Part, Picture, Pour, Term
from bot.messages import Manner
from bot.wording import canvas, pseudo
from bot.wording.canvas import FILLS, MARGIN_PX, WIDTH_PX, CannotDraw, Canvas
from bot.wording.catalogue import load
from bot.wording.pictures import picture
from bot.wording.say import say
from bot.wording.values import Speaker
from bot.wording.voice import Voice

STRIP = DayStrip(
    title="B1",
    first_on=date(2026, 3, 1),
    last_on=date(2026, 3, 10),
    today_on=date(2026, 3, 6),
    bands=(Band("look", date(2026, 3, 6), date(2026, 3, 8)),),
    marks=(Mark("stirred", date(2026, 3, 2)), Mark(Term("verdict", "not_yet"), date(2026, 3, 3))),
)
POUR = Pour("1 tank", (Part("culture", litres := Quantity(Decimal(4), "litre")),))
HINDI = r"""msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\n"
"Plural-Forms: nplurals=2; plural=(n > 1);\n"

msgid "picture.days"
msgstr "{title}"
"""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    (tmp_path / "en").mkdir()
    (tmp_path / "hi").mkdir()
    source = Path(__file__).parents[3] / "locales" / "en" / "messages.po"
    (tmp_path / "en" / "messages.po").write_text(source.read_text("utf-8"), encoding="utf-8")
    (tmp_path / "hi" / "messages.po").write_text(HINDI, encoding="utf-8")
    return tmp_path


def opened(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png)).convert("RGB")


def strip_row(image: Image.Image, y: int = 136) -> list[Any]:
    """The colours along the strip, one a day, a quarter into each of its ten days."""
    day_px = (WIDTH_PX - 2 * MARGIN_PX) / 10
    return [image.getpixel((int(MARGIN_PX + (n + 0.2) * day_px), y)) for n in range(10)]


def rgb(colour: str) -> tuple[int, ...]:
    return tuple(int(colour[n : n + 2], 16) for n in (1, 3, 5))


def near(one: Any, other: tuple[int, ...]) -> bool:
    return all(abs(a - b) < 12 for a, b in zip(one, other, strict=True))


def test_the_days_of_a_band_are_filled_and_no_others() -> None:
    colours = strip_row(opened(picture(STRIP, Speaker(Voice()))))
    filled = [near(colour, rgb(FILLS[0])) for colour in colours]
    assert filled == [n in {5, 6, 7} for n in range(10)]


def test_a_band_reaches_no_further_than_the_strip() -> None:
    wide = replace(
        STRIP,
        bands=(
            Band("a", date(2026, 2, 1), date(2026, 3, 2)),
            Band("b", date(2026, 3, 9), date(2026, 4, 1)),
            Band("gone", date(2026, 5, 1), date(2026, 5, 2)),
        ),
        marks=(Mark("late", date(2026, 5, 1)),),
        today_on=None,
    )
    colours = strip_row(opened(picture(wide, Speaker(Voice()))))
    assert [near(colour, rgb(FILLS[0])) for colour in colours] == [n < 2 for n in range(10)]
    assert [near(colour, rgb(FILLS[1])) for colour in colours] == [n > 7 for n in range(10)]


def test_time_runs_from_right_to_left_where_the_script_does(root: Path) -> None:
    tag = pseudo.RIGHT_TO_LEFT
    (root / tag).mkdir()
    text = pseudo.catalogue(tag, load("en", root))
    (root / tag / "messages.po").write_text(text, encoding="utf-8")
    # No font for the script: no picture rather than one of empty boxes.
    assert picture(STRIP, Speaker(Voice(tag), root)) == b""
    fontpkg = pytest.importorskip("fontpkg_noto_sans_arabic")
    [font] = (Path(fontpkg.__file__).parent / "files").glob("*.ttf")
    (root / tag / "font.ttf").symlink_to(font)
    colours = strip_row(opened(picture(STRIP, Speaker(Voice(tag), root))))
    # The same places counted from the left: days 8, 7, 6 (the probe lies within each day).
    assert [near(colour, rgb(FILLS[0])) for colour in colours] == [
        n in {2, 3, 4} for n in range(10)
    ]


def test_nothing_is_drawn_over_the_edge_however_long_the_words(root: Path) -> None:
    long = " ".join(["unreasonably-long-name"] * 12)
    strip = replace(STRIP, title=long, bands=(Band(long, STRIP.first_on, STRIP.last_on),))
    pour = replace(POUR, title=long, parts=(Part("w" * 60, litres), Part("water", litres)))
    for fact in (strip, pour):
        image = opened(picture(fact, Speaker(Voice("en"), root)))
        for x in (2, WIDTH_PX - 3):
            column = {image.getpixel((x, y)) for y in range(image.height)}
            assert column == {(255, 255, 255)}


def test_hindi_is_drawn_shaped_or_not_at_all(root: Path) -> None:
    strip = replace(STRIP, title="किण्वन")
    speaker = Speaker(Voice("hi"), root)
    assert features.check("raqm"), "Pillow came without raqm"
    assert picture(strip, speaker).startswith(b"\x89PNG")
    assert picture(strip, speaker, shaping=False) == b""
    assert picture(STRIP, Speaker(Voice()), shaping=False).startswith(b"\x89PNG")


def test_shaping_joins_what_the_script_joins() -> None:
    # क + virama + ष is one ligature, narrower than its letters side by side.
    sheet = Canvas(10)
    assert sheet.width("क्ष", 40) < sheet.width("क", 40) + sheet.width("ष", 40)


def test_the_heights_in_a_vessel_follow_the_amounts() -> None:
    water = Part("water", Quantity(Decimal(12000), "millilitre"))
    image = opened(picture(replace(POUR, parts=(*POUR.parts, water)), Speaker(Voice())))
    column = [image.getpixel((MARGIN_PX + 100, y)) for y in range(image.height)]
    culture = sum(near(pixel, rgb(FILLS[0])) for pixel in column)
    clear = sum(near(pixel, rgb(FILLS[1])) for pixel in column)
    assert 2.8 < clear / culture < 3.4


def test_pictures_are_small_enough_for_a_slow_line() -> None:
    assert len(picture(STRIP, Speaker(Voice()))) < 20_000


def test_only_a_channel_with_pictures_gets_one_and_no_channel_gets_its_words_twice() -> None:
    with_picture = say([STRIP], Voice(), Manner(pictures=True))
    assert with_picture.picture.startswith(b"\x89PNG")
    assert with_picture.pages == ("",)
    assert say([STRIP], Voice(), Manner()).picture == b""
    assert say([], Voice(), Manner(pictures=True)).picture == b""


@dataclass(frozen=True, slots=True)
class Unheard(Picture):
    words = "picture.unheard"


def test_a_picture_nobody_can_draw_is_an_error_of_its_author() -> None:
    with pytest.raises(TypeError, match="no drawing of a Unheard"):
        picture(Unheard(), Speaker(Voice()))


def test_a_missing_character_is_found() -> None:
    sheet = Canvas(10)
    with pytest.raises(CannotDraw, match="the font has no"):
        sheet.width("ሰላም", 20)
    assert canvas.is_plain("año – 4 L")
    assert not canvas.is_plain("दिन")
