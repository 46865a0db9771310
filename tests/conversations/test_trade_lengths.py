"""The trade's arithmetic asked in plain messages: one number in one SMS, the rest in at most two.

Each line is one capability. A reply in several parts is counted to its end: `more` is sent until
nothing is left. Lists on asking (all cautions, a whole recipe) are read in parts and stand apart.
"""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from bot.messages import Manner
from bot.wording.segments import is_gsm, segments
from tests.conversations.chat_file import Stage, stage

START = datetime(2026, 3, 2, 9, tzinfo=UTC)

ONE_NUMBER = (
    # mixing: culture in hand, mix wanted, tanks with a part-filled one, an area, parts, percent
    "1:3 for 16 litres",
    "i have 40 l culture, how much leaf spray does it make",
    "leaf spray 2.5 tanks of 16 l",
    "leaf spray 1 acre, 60 l an acre",
    "leaf spray 10% for 20 l",
    # drench
    "drench 300 plants 250 ml each",
    "soil drench half an acre at 2 l per m2",
    # sprayer
    "walked 20 m in 25 s swath 1 m caught 0.5 l",
    "0.8 l/min at 4 km/h",
    "1 m",
    "caught 300 ml in jar",
    "how many tanks for 2 acres with a tank of 16 l",
    "how much spray for crop 80 cm tall",
    "nozzle 600 ml now, 500 ml when new",
    "walked 100 m in 90 s",
    # measures and units
    "5 cups fill 1 litre",
    "how many litres in 2 buckets",
    "2 acres in hectares",
    "leaf spray 2 us gallons",
    "leaf spray 2 gallons",
    "2",
    "leaf spray 1 alqueire",
    # prices
    "sugar is 60 a kg",
    "starter pack is 100",
    "cost per litre",
    # seed
    "culture for 10 kg seed",
    # heap
    "heap of 20 kg straw 10 kg dung",
    "started a heap",
    "heap 60 c",
    "turned heap",
    # copper, rules, cautions by worry
    "how much copper",
    "use the manure rule",
    "add caution: gloves at the barrel",
    "recipe brew: leaf 1:12",
    "recipe mother sugar 12 g per litre",
)

IN_TWO = (
    "used 300 g copper oxychloride on 1 acre",
    "what do i need for 200 l",
    "what do i need for 25 l brew",
    "cost of 20 l brew",
    "started 200 l barrel",
    "where does b1 come from",
    "started brew 20 l",
    "soak 2 kg bean seed",
    "how hot must the heap get",
    "what is in the brew",
    "how much zinc is in 200 l brew on 1 acre",
    "can i drink it",
    "can i put old batteries in the brew",
    "add recipe fish brew like brew",
    "spraying tomato from tomorrow every 10 days 4 times, 2 tanks of 16 l",
    "sprayed",
    "late, will spray friday",
    "harvest tomato 20 may",
    "my rounds",
)


def _answered(here: Stage, line: str) -> list[str]:
    """Every part of the reply to one message."""
    here.said.clear()
    here.chat.line(line)
    while here.said and here.said[-1].endswith("More: send MORE"):
        here.chat.line("more")
    return list(here.said)


def _sms(parts: list[str]) -> int:
    assert all(is_gsm(part) for part in parts), parts
    return sum(segments(part) for part in parts)


def test_what_is_one_number_is_one_sms_and_the_rest_two_at_most(tmp_path: Path) -> None:
    long: list[str] = []
    with stage(tmp_path, {"language": "en"}, START) as here:
        here.chat.terminal.manner = Manner(one_message=160, alphabet="gsm7", pages=1)
        for lines, most in ((ONE_NUMBER, 1), (IN_TWO, 2)):
            for line in lines:
                parts = _answered(here, line)
                assert parts, f"{line!r}: no answer"
                assert "could not handle" not in parts[0], line
                assert "did not understand" not in parts[0], line
                if _sms(parts) > most:
                    long.append(f"{line!r}: {_sms(parts)}: {parts}")
    assert not long, "\n".join(long)
