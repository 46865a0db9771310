"""JSON Lines in, JSON Lines out: what `stirbell read` prints, so that anyone can score it."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, time
from decimal import Decimal
from typing import Any, TextIO

from bot.facts import Question, Request
from bot.language.hearing import Hearing
from bot.language.lexicon import LexiconError, load, tags
from bot.language.read import read
from bot.language.reading import Reading
from bot.language.understand import tongues, understand

_EPOCH = datetime(2026, 1, 5, 8, tzinfo=UTC)
"""The moment of lines that bring none."""


def line(text: str, tag: str, ref: datetime) -> dict[str, Any]:
    """What one message reads as, in the names and order that are printed.

    `ref` is when it was sent; without a zone it is taken as UTC. Of several requests in one
    message, `request` and `slots` are the first and `more` has the rest.

    Raises:
        LexiconError: there is no such language.
    """
    found = printable(read(text, load(tag), ref))
    said_at = ref if ref.tzinfo else ref.replace(tzinfo=UTC)
    heard = understand(text, tongues(), Hearing(said_at=said_at, language=tag))
    requests = [_request(request) for request in heard.requests]
    found |= requests[0] if requests else {"request": None, "slots": {}}
    found["question"] = _question(heard.question)
    if len(requests) > 1:
        found["more"] = requests[1:]
    return found


def _request(request: Request) -> dict[str, Any]:
    slots = {name: value_of(value) for name, value in request.slots.items()}
    return {"request": request.kind, "slots": slots}


def _question(question: Question | None) -> dict[str, Any] | None:
    if question is None:
        return None
    return {
        "asks": question.ask.words,
        "slot": question.slot,
        "for": question.request.kind,
        "options": [value_of(option.value) for option in question.options],
    }


def value_of(value: Any) -> Any:
    """A slot's value as JSON: numbers as numbers, moments in ISO 8601, values as objects."""
    match value:
        case bool() | int() | str() | None:
            return value
        case Decimal():
            return _plain(value)
        case date() | time():
            return value.isoformat()
        case tuple() | list():
            return [value_of(item) for item in value]
        case _ if is_dataclass(value):
            named = {field.name: getattr(value, field.name) for field in fields(value)}
            return {name: value_of(item) for name, item in named.items()}
        case Mapping():
            return {str(name): value_of(item) for name, item in value.items()}
    return str(value)


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
            message = dict(json.loads(raw))
            ref = datetime.fromisoformat(message["ref"]) if message.get("ref") else _EPOCH
            found = line(str(message["text"]), str(message.get("lang", "en")), ref)
        except (ValueError, KeyError, TypeError, LexiconError) as fault:
            found = {"fault": f"{type(fault).__name__}: {fault}"}
        yield json.dumps(found, ensure_ascii=False)


def main(source: TextIO, out: TextIO) -> int:
    """0 when every line was read; each answer is written before the next line is read."""
    for tag in tags():
        load(tag)
    for answer in lines(source):
        out.write(answer + "\n")
        out.flush()
    return 0
