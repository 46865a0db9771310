"""What a grower sends most is answered in one SMS: 160 GSM-7 characters, nothing left for MORE."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from bot.messages import Manner
from bot.wording.segments import is_gsm, segments
from tests.conversations.chat_file import stage

START = datetime(2026, 3, 2, 9, tzinfo=UTC)

LINES = (
    "leaf spray 3 tanks of 16 litres",
    "i have 40 l culture, how much leaf spray does it make",
    "drench 300 plants 250 ml each",
    "soil drench for half an acre",
    "1:5 for 20 litres",
    "leaf spray 2.5 tanks of 16 l",
    "how much for polishing",
    "started 200 l barrel",
    "stirred",
    "undo",
    "my barrels",
    "today",
    "started 100 l barrel yesterday with 10 l kept back",
    "@ +5d",
    "b1 not yet",
    "@ +1d",
    "b1 ready",
    "used 150 l from b1",
    "kept 20 l in b1, restarted",
    "b2 smells bad",
    "finished b1",
    "finished b2",
    "spraying tomato from tomorrow every 10 days 4 times, 2 tanks of 16 l",
    "@ +1d",
    "sprayed",
    "rained",
    "@ +1d",
    "sprayed",
    "late, will spray friday",
    "skip",
    "my rounds",
    "harvest tomato 20 april",
    "@ +40d",
    "language english",
    "remind me at 6",
    "i live in kisumu",
    "my tank is 16 l",
    "my cup is 180 ml",
    "28c in the shed",
    "leaves curl, what now?",
    "asdf qwer",
    "hello",
    "thanks",
    "stop",
    "start",
    "delete me",
)


def test_every_answer_fits_one_message_of_the_cheapest_phone(tmp_path: Path) -> None:
    long: list[str] = []
    with stage(tmp_path, {}, START) as here:
        here.chat.terminal.manner = Manner(one_message=160, alphabet="gsm7", pages=1)
        for line in LINES:
            here.said.clear()
            here.chat.line(line)
            long += [
                f"{line!r}: {text}"
                for text in here.said
                if not is_gsm(text)
                or segments(text.partition("] ")[2] or text) > 1
                or text.endswith("More: send MORE")
            ]
    assert not long, "\n".join(long)
