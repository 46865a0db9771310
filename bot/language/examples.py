"""The examples of a word list: what each message must be understood as, and what they exercise.

A line of `[examples.requests] said` is `message => kind slot=value slot=value & kind ...`;
`=> ? slot doubt.name` where it must ask, `=> ! doubt.name` where it must say what was not
understood. They are read as if sent on Wednesday 4 March 2026, 09:00 in Nairobi.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from bot.craft.units import Quantity
from bot.facts import Count, Duration, Every, Per, Ratio, Request, Span, Term
from bot.language.clauses import standing
from bot.language.hearing import Hearing, Understood
from bot.language.understand import Tongue, hear, understand

ZONE = "Africa/Nairobi"
SAID_AT = datetime(2026, 3, 4, 6, 0, tzinfo=UTC)
NAMES: Mapping[str, tuple[str, ...]] = {
    "barrel": ("B1", "B2", "B3"),
    "plot": ("north", "river field"),
    "member": ("Asha", "Ben"),
}


@dataclass(frozen=True, slots=True)
class Example:
    """One message of a word list and what it must be understood as."""

    tag: str
    said: str
    wanted: str


def examples(tag: str, table: Mapping[str, Any]) -> tuple[Example, ...]:
    """The examples of a word list, in its order.

    Raises:
        ValueError: a line has no `=>`.
    """
    found = []
    for raw in table.get("examples", {}).get("requests", {}).get("said", "").splitlines():
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        said, arrow, wanted = line.partition("=>")
        if not arrow:
            raise ValueError(f"locales/{tag}/words.toml: [examples.requests] has no =>: {line}")
        found.append(Example(tag, said.strip(), " ".join(wanted.split())))
    return tuple(found)


def hearing(tag: str) -> Hearing:
    """How the examples of a language are heard."""
    return Hearing(SAID_AT, ZONE, tag, names=NAMES)


def got(example: Example, heard: Mapping[str, Tongue]) -> str:
    """What a message is understood as, written as examples write it."""
    return written(understand(example.said, heard, hearing(example.tag)))


def right(wanted: str, got: str) -> bool:
    """Whether two such lines say the same; the order of slots does not matter."""

    def plain(line: str) -> list[list[str]]:
        return [[words.split()[0], *sorted(words.split()[1:])] for words in line.split(" & ")]

    return plain(wanted) == plain(got)


def written(understood: Understood) -> str:
    """What was understood, in one line."""
    parts = [_request(request) for request in understood.requests]
    if understood.question is not None:
        parts.append(f"? {understood.question.slot} {understood.question.ask.words}")
    if understood.doubt is not None:
        parts.append(f"! {understood.doubt.words}")
    return " & ".join(parts)


def _request(request: Request) -> str:
    slots = [f"{slot}={plain(value)}" for slot, value in sorted(request.slots.items())]
    return " ".join([request.kind, *slots])


def plain(value: Any) -> str:
    """A slot's value as examples write it: without spaces."""
    match value:
        case bool():
            return "yes" if value else "no"
        case Quantity():
            return f"{_number(value.value)}_{value.unit}"
        case Count():
            return _number(value.n)
        case Ratio():
            return f"{_number(value.culture_parts)}:{_number(value.water_parts)}"
        case Term():
            return value.name
        case Every() | Duration():
            return f"{_number(value.n)}_{value.unit}"
        case Per():
            each = value.each
            noun = each.noun if isinstance(each, Count) else each.unit
            number = each.n if isinstance(each, Count) else each.value
            return f"{plain(value.amount)}/{_number(number)}_{noun}"
        case Span():
            return f"{plain(value.low)}..{plain(value.high)}"
        case datetime():
            return value.astimezone(ZoneInfo(ZONE)).strftime("%Y-%m-%dT%H:%M")
        case date():
            return value.isoformat()
        case time():
            return value.strftime("%H:%M")
        case tuple():
            return "+".join(plain(part) for part in value)
        case _:
            return "_".join(str(value).split())


def _number(number: Any) -> str:
    return f"{number:f}".rstrip("0").rstrip(".") if "." in f"{number:f}" else f"{number:f}"


def unexercised(tag: str, heard: Mapping[str, Tongue]) -> tuple[str, ...]:
    """The lines of `[requests]` that no example of the language stands on."""
    tongue = heard[tag]
    used = {
        cue
        for example in examples(tag, tongue.lexicon.table)
        for cue in standing(hear(example.said, tongue, hearing(tag)))
    }
    return tuple(f"{cue.kind}: {cue.line}" for cue in tongue.cues.lines if cue not in used)
