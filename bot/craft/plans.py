"""Which plan of rounds a member's words point at."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from bot.craft.round_plan import Rounds


def meant(
    plans: Sequence[Rounds], crop: str, asked: frozenset[str], today: date
) -> tuple[Rounds, ...]:
    """The plans of the crop named; else those asked about, those due by now, else all.

    `asked` are the identities of the plans that an open question is about.
    """
    if crop:
        folded = crop.casefold()
        return tuple(
            each for each in plans if folded in {each.crop.casefold(), each.code.casefold()}
        )
    about = tuple(each for each in plans if each.id in asked)
    if about:
        return about
    due = tuple(each for each in plans if each.next_on is not None and each.next_on <= today)
    return due or tuple(plans)
