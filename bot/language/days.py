"""Dates: every rule for them, in the order in which they look at a message."""

from __future__ import annotations

from datetime import datetime

from bot.language.days_from_now import feast, from_now, relative
from bot.language.days_written import in_digits, with_month
from bot.language.pieces import Piece, Sheet
from bot.language.weekdays import on_weekday


def find(sheet: Sheet, ref: datetime, tense: str) -> None:
    """Record the dates of a message sent at `ref`; `tense` is past, future or empty."""
    today = ref.date()
    for role, rule in (
        ("month", with_month),
        ("", in_digits),
        ("weekday", on_weekday),
        ("day", relative),
    ):
        if role and role not in sheet.roles:
            continue
        for index, piece in enumerate(sheet.pieces):
            if piece.used:
                continue
            if role in piece.senses if role else _may_be_day(piece):
                rule(sheet, index, today, tense)
    if sheet.roles.isdisjoint(("span", "feast")):
        return
    for index, piece in enumerate(sheet.pieces):
        if not piece.used:
            if "feast" in piece.senses:
                feast(sheet, index, today)
            else:
                from_now(sheet, index, ref)


def _may_be_day(piece: Piece) -> bool:
    return piece.n is not None or "ordinal" in piece.senses or piece.raw[:1].isdigit()
