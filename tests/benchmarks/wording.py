"""What wording costs: a reply of three facts, over the same sentences by gettext and Babel alone.

Run: python tests/benchmarks/wording.py   (from the repository's top)
The peer looks the messages up in a compiled catalogue and has Babel write units, plurals and the
day; it chooses no form by length, looks at no alphabet and falls back to no other language.
"""

from __future__ import annotations

import gettext
import io
import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from time import perf_counter

sys.path.insert(0, str(Path(__file__).parents[2]))

from babel.dates import format_skeleton
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po
from babel.units import format_unit

from bot.craft.units import Quantity
from bot.facts import Count, Fact
from bot.messages import Manner
from bot.wording.catalogue import LOCALES
from bot.wording.say import say
from bot.wording.voice import Voice

TIMES = 2000


@dataclass(frozen=True, slots=True)
class Per(Fact):
    """An amount for each of something, in the catalogue's own words."""

    words = "value.per"
    amount: Quantity
    each: Count


@dataclass(frozen=True, slots=True)
class Near(Fact):
    """A day."""

    words = "value.near_day"
    near: str
    day: date


def seconds(run: Callable[[], object]) -> float:
    """The best of five tries, each of many runs, for one run."""
    tries = []
    for _ in range(5):
        begun = perf_counter()
        for _ in range(TIMES // 5):
            run()
        tries.append((perf_counter() - begun) / (TIMES // 5))
    return min(tries)


def main() -> None:
    """Print both, and their ratio."""
    compiled = io.BytesIO()
    write_mo(compiled, read_po(io.BytesIO((LOCALES / "en" / "messages.po").read_bytes())))
    compiled.seek(0)
    known = gettext.GNUTranslations(compiled)
    facts = [
        Per(Quantity(Decimal(4), "litre"), Count(Decimal(3), "tank")),
        Near("first", date(2026, 3, 6)),
        Per(Quantity(Decimal("1.5"), "kilogram"), Count(Decimal(1), "barrel")),
    ]
    voice, sms = Voice(today=date(2026, 3, 5)), Manner(alphabet="gsm7")

    def peer() -> str:
        per, day = known.gettext("value.per"), known.gettext("value.near_day")
        litres = format_unit(4, "volume-liter", "short", locale="en_GB")
        kilograms = format_unit(Decimal("1.5"), "mass-kilogram", "short", locale="en_GB")
        tanks = known.ngettext("noun.tank", "noun.tank", 3).format(n=3)
        barrels = known.ngettext("noun.barrel", "noun.barrel", 1).format(n=1)
        friday = format_skeleton("MMMEd", date(2026, 3, 6), locale="en_GB")
        first = per.format(amount=litres, each=tanks)
        second = day.format(near="first", day=friday)
        return "\n".join([first, second, per.format(amount=kilograms, each=barrels)])

    ours, theirs = seconds(lambda: say(facts, voice, sms)), seconds(peer)
    print(f"say, three facts: {ours * 1e6:.0f} us; gettext and Babel alone: {theirs * 1e6:.0f} us")
    print(f"ratio: {ours / theirs:.1f}")


if __name__ == "__main__":
    main()
