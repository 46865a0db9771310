"""Printed sheets, read back by an independent PDF reader (pypdfium2, PDFium)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest

from bot.craft.units import Quantity
from bot.facts import Band, DayStrip, Fact, Table, Term
from bot.wording import pseudo
from bot.wording.catalogue import LOCALES, load
from bot.wording.sheets import sheet
from bot.wording.voice import Voice

AT = datetime(2026, 3, 1, 12, tzinfo=UTC)
STRIP = DayStrip(
    "B1", date(2026, 3, 1), date(2026, 3, 9), bands=(Band("look", AT.date(), AT.date()),)
)
LITRES = Quantity(Decimal("1.5"), "litre")


@dataclass(frozen=True, slots=True)
class Note(Fact):
    words = "picture.days"
    title: str


@pytest.fixture
def root(tmp_path: Path) -> Path:
    english = load("en")
    (tmp_path / "en").symlink_to((LOCALES / "en").resolve())
    for tag in (pseudo.LONG, pseudo.RIGHT_TO_LEFT, "hi"):
        (tmp_path / tag).mkdir()
        text = pseudo.catalogue(pseudo.LONG if tag == "hi" else tag, english)
        (tmp_path / tag / "messages.po").write_text(text, encoding="utf-8")
    return tmp_path


def text_of(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    return [page.get_textpage().get_text_bounded() for page in document]


def ink(pdf: bytes) -> tuple[int, int, int, int]:
    """The box around all that is printed on the first page but its number, of 1000 by 1000."""
    page = pypdfium2.PdfDocument(pdf)[0]
    grey = page.render(scale=1).to_pil().convert("L")
    wide, high = grey.size
    dark = grey.crop((0, 0, wide, int(high * 0.94))).point(lambda shade: 255 * (shade < 200))
    left, top, right, bottom = dark.getbbox() or (0,) * 4
    return (left * 1000 // wide, top * 1000 // high, right * 1000 // wide, bottom * 1000 // high)


def test_a_sheet_holds_its_title_clauses_and_table() -> None:
    table = Table(("day", "amount"), tuple((date(2026, 3, n), LITRES) for n in (5, 6)))
    pdf = sheet(Note("record of B1"), [Note("two draws"), table, STRIP], Voice(), AT)
    [page] = text_of(pdf)
    for said in ("Record of B1", "Two draws", "Thu 5 Mar", "1.5 L", "day", "amount"):
        assert said in page


def test_a_long_table_goes_over_several_pages_with_its_head_on_each() -> None:
    table = Table(("day", "amount"), tuple((date(2026, 3, 5), LITRES) for _ in range(90)))
    pages = text_of(sheet(Note("record"), [table], Voice(), AT))
    assert len(pages) == 3
    assert all("amount" in page for page in pages)
    assert sum(page.count("Thu 5 Mar") for page in pages) == 90


def test_the_same_values_give_the_same_bytes() -> None:
    first, second = (sheet(Note("record"), [STRIP], Voice(), AT) for _ in range(2))
    assert first == second


def test_hindi_is_printed_shaped(root: Path) -> None:
    pdf = sheet(Note("किण्वन की क्षमता"), [], Voice("hi"), AT, root)
    assert "क्षमता" in text_of(pdf)[0]


def test_a_right_to_left_sheet_begins_at_the_right(root: Path) -> None:
    tag = pseudo.RIGHT_TO_LEFT
    note = Note(pseudo._right_to_left("record"))
    table = Table((Term("use", "leaf"), LITRES), ((date(2026, 3, 5), LITRES),))
    assert sheet(note, [], Voice(tag), AT, root) == b"", "no font has the script"
    fontpkg = pytest.importorskip("fontpkg_noto_sans_arabic")
    [font] = (Path(fontpkg.__file__).parent / "files").glob("*.ttf")
    (root / tag / "font.ttf").symlink_to(font)
    left, _, right, _ = ink(sheet(note, [], Voice(tag), AT, root))
    assert left > 500
    assert right > 880
    assert len(text_of(sheet(note, [note, table, STRIP], Voice(tag), AT, root))) == 1


def test_long_words_stay_within_the_margins(root: Path) -> None:
    note = Note("unreasonably-long-name " * 30 + "w" * 200)
    table = Table(("w" * 40, "w" * 40), (("w" * 90, "x " * 90),))
    left, top, right, bottom = ink(sheet(note, [note, table], Voice(pseudo.LONG), AT, root))
    assert left > 70
    assert right < 930
    assert top > 40
    assert bottom < 930


def test_what_no_font_can_show_is_not_printed(root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    voice = Voice("en")
    assert sheet(Note("B1"), [Table(("ሰላም",), (("a",),))], voice, AT, root) == b""
    monkeypatch.setattr("bot.wording.sheets.picture", lambda *_: b"")
    assert sheet(Note("B1"), [STRIP], voice, AT, root) == b""
