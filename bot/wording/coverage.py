"""How much each language can say, by grade, and what its reviewer goes through."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bot.wording.catalogue import ENGLISH, LOCALES, Catalogue, load, tags

GRADES = ("needed", "usable", "complete")
"""Without the first a grower cannot use the bot; with the second it serves a group daily."""


@dataclass(frozen=True, slots=True)
class Row:
    """How many messages of one grade a language says, of how many."""

    tag: str
    grade: str
    said: int
    wanted: int


def grade(key: str, english: Catalogue) -> str:
    """The grade a key belongs to, by the lines X-Needed and X-Usable of the English header."""
    first = key.partition(".")[0]
    for name in GRADES[:-1]:
        if first in english.habits.get(name, "").split():
            return name
    return GRADES[-1]


def coverage(root: Path = LOCALES) -> tuple[Row, ...]:
    """One row for each language and grade; a grade holds what the grades before it hold.

    Short forms are not counted: which messages need one differs from language to language.
    """
    english = load(ENGLISH, root)
    rows = []
    keys = [key for key in english.messages if not key.endswith(".short")]
    for tag in tags(root):
        said = load(tag, root).messages
        wanted: list[str] = []
        for name in GRADES:
            wanted += [key for key in keys if grade(key, english) == name]
            rows.append(Row(tag, name, sum(key in said for key in wanted), len(wanted)))
    return tuple(rows)


def coverage_table(root: Path = LOCALES) -> str:
    """The rows of `coverage` as text, with the highest grade each language has reached."""
    rows = coverage(root)
    lines = [
        f"{'language':<10}" + "".join(f"{name:>18}" for name in GRADES) + "   reached    read by"
    ]
    for tag in tags(root):
        mine = [row for row in rows if row.tag == tag]
        cells = "".join(f"{f'{row.said}/{row.wanted}':>18}" for row in mine)
        reached = "-"
        for row in mine:
            if row.said < row.wanted:
                break
            reached = row.grade
        reader = load(tag, root).habits.get("reader", "-" if tag == ENGLISH else "awaited")
        lines.append(f"{tag:<10}{cells}   {reached:<11}{reader}")
    return "\n".join(lines)


def is_caution(key: str, english: Catalogue) -> bool:
    """Whether a wrong translation of this key can hurt someone.

    That is a caution, its reason in full, and what the English header names in X-Cautions.
    """
    kind, _, rest = key.removesuffix(".short").partition(".")
    named = english.habits.get("cautions", "").split()
    reason = kind == "why" and f"caution.{rest}" in english.messages
    return kind == "caution" or reason or f"{kind}.{rest}" in named


def back_check(tag: str, root: Path = LOCALES) -> str:
    """The cautions of a language for a reader who knows it, beside what each must say.

    The reader covers the English, says back in English what the other line tells a grower, and
    ticks it if it means the same.
    """
    english, mine = load(ENGLISH, root), load(tag, root)
    said = {entry.key: entry.forms for entry in mine.entries}
    lines = [f"Cautions in {tag}: does each mean the same? A wrong one can hurt someone."]
    for entry in english.entries:
        if is_caution(entry.key, english) and (
            entry.key in said or not entry.key.endswith(".short")
        ):
            lines += ["", f"[ ] {entry.key}", f"    must say: {entry.about}"]
            lines += [f"    {ENGLISH}: {form}" for form in entry.forms]
            lines += [
                f"    {tag}: {form or '(nothing yet)'}" for form in said.get(entry.key, ("",))
            ]
    return "\n".join(lines)
