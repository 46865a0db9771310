"""For whom something is said: language, place and the habits of the reader."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Voice:
    """How one reader is spoken to.

    `language` is the tag of a folder in locales, `zone` an IANA name, `country` two letters
    (decimal marks differ between countries of one language) or empty. `plain_letters` leaves out
    the marks that the GSM alphabet lacks. `digits` is "latin" or "native". `hours` is "24", "12",
    "swahili" or empty for the language's own habit. `today` is the reader's day, if days may be
    called today and tomorrow.
    """

    language: str = "en"
    zone: str = "UTC"
    country: str = ""
    plain_letters: bool = False
    digits: str = "latin"
    hours: str = ""
    today: date | None = None
