"""JSON Lines in, JSON Lines out: what `stirbell read` prints, so that anyone can score it."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any, TextIO

from bot.language.lexicon import LexiconError, load, tags
from bot.language.read import read
from bot.language.reading import Reading

_EPOCH = datetime(2026, 1, 5, 8)  # noqa: DTZ001 - wall time, for lines that bring no moment


def line(text: str, tag: str, ref: datetime) -> dict[str, Any]:
    """What one message reads as, in the names and order that are printed.

    Raises:
        LexiconError: there is no such language.
    """
    return printable(read(text, load(tag), ref))


def printable(reading: Reading) -> dict[str, Any]:
    """The values of a reading as JSON: numbers as numbers, moments in ISO 8601."""
    return {
        "quantities": [
            {"value": _plain(m.value.value), "unit": m.value.unit} for m in reading.of("quantity")
        ],
        "counts": [{"value": _plain(m.value.n), "unit": m.value.noun} for m in reading.of("count")],
        "ratios": [
            [_plain(m.value.culture_parts), _plain(m.value.water_parts)]
            for m in reading.of("ratio")
        ],
        "numbers": [_plain(m.value) for m in reading.of("number")],
        "dates": [m.value.isoformat() for m in reading.of("date")],
        "times": [m.value.strftime("%H:%M") for m in reading.of("time")],
        "every": [{"n": m.value.n, "unit": m.value.unit} for m in reading.of("every")],
        "durations": [
            {"value": _plain(m.value.n), "unit": m.value.unit} for m in reading.of("duration")
        ],
    }


def _plain(value: Any) -> int | float:
    return int(value) if value == int(value) else float(value)


def lines(source: Iterable[str]) -> Iterator[str]:
    """One JSON object for each line; a line that cannot be read gives an object with `fault`."""
    for raw in source:
        if not raw.strip():
            continue
        try:
            message = json.loads(raw)
            ref = datetime.fromisoformat(message["ref"]) if message.get("ref") else _EPOCH
            found = line(str(message["text"]), str(message.get("lang", "en")), ref)
        except (ValueError, KeyError, TypeError, LexiconError) as fault:
            found = {"fault": f"{type(fault).__name__}: {fault}"}
        yield json.dumps(found, ensure_ascii=False)


def main(source: TextIO, out: TextIO) -> int:
    """0 when every line was read; each answer is written before the next line is read."""
    for answer in lines(source):
        out.write(answer + "\n")
        out.flush()
    return 0


if __name__ == "__main__":
    for _tag in tags():
        load(_tag)
    sys.exit(main(sys.stdin, sys.stdout))
