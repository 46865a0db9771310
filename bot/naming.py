"""How a thing with a short name is named to a reader."""

from __future__ import annotations

from bot.craft.crops import CROPS
from bot.facts import Term


def named(code: str) -> Term | str:
    """A crop by its name in the reader's language; a barrel, or a crop we do not know, as it is.

    >>> named("maize"), named("B1")
    (Term(kind='crop', name='maize'), 'B1')
    """
    return Term("crop", code) if code in CROPS else code
