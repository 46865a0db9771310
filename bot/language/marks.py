"""Everything in a message that carries a value: numbers and dates, trade words, names, barrels."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import lru_cache
from typing import Any

from bot.craft.units import Quantity, known, measures
from bot.facts import Count, Duration, Mention, Per, Ratio, Span, Term
from bot.language.called import COUNTING, WEAK, of_barrels, of_names
from bot.language.cues import Cues
from bot.language.lexicon import Lexicon
from bot.language.mark import Mark
from bot.language.reading import Reading
from bot.language.slips import SHORT
from bot.language.templates import Symbols, hits

_INVITE = re.compile(
    r"(?=.*\d)(?=.*[A-Z])[A-Z\d]{5,6}|(?i:[CDFHJKMNPQRTWY][34679][34679CDFHJKMNPQRTWY]{4})"
)
_MINUTE_UNITS = frozenset({"second", "minute", "hour"})


@lru_cache(maxsize=512)
def dimension(unit: str) -> str:
    """What a unit measures: volume, mass, length, area, temperature or share; "" if unknown."""
    return measures(unit) if known(unit) else ""


def marks(
    reading: Reading,
    symbols: Symbols,
    lexicon: Lexicon,
    cues: Cues,
    names: Mapping[str, tuple[str, ...]],
) -> tuple[Mark, ...]:
    """The marks of a message, in order; of two that overlap as the same kind, the longer one."""
    found = _fractions(reading)
    found += [
        _of_mention(mention, cues)
        for mention in reading.mentions
        if not any((one.start, one.end) == (mention.start, mention.end) for one in found)
    ]
    found += _no_days(reading, lexicon)
    found += _weekdays(reading, lexicon)
    found += _below_nothing(reading)
    found += of_names(reading, names)
    terms, pointing = [], []
    for hit in hits(cues.terms, symbols):
        if hit.weight <= SHORT * (hit.end - hit.start):
            continue  # "god bless" is no verdict: good
        if isinstance(hit.payload, Term):
            types = (hit.payload.kind,)
            terms.append((hit.weight, Mark(types, hit.payload, hit.start, hit.end)))
        else:
            pointing.append((hit.payload.sort, hit.start, hit.end))
    found += _longest(terms)
    found += [
        Mark(("invite",), token.text, place, place + 1)
        for place, token in enumerate(reading.tokens)
        if _INVITE.fullmatch(token.text)
    ]
    found = [mark for mark in found if not _one_barrel(mark, reading)]
    named = [mark for mark in found if mark.types[0] in names or mark.types == ("which", "code")]
    found = [
        mark
        for mark in found
        if mark.types[0] not in WEAK or not any(mark.overlaps(other) for other in named)
    ]
    barrels = of_barrels(reading, pointing, found, names.get("barrel", ()))
    spoken = [mark for mark in barrels if mark.types[1] in {"all", "noun"}]
    found = [
        mark
        for mark in found
        if mark.types[0] not in WEAK | COUNTING or not any(mark.overlaps(other) for other in spoken)
    ]
    found += barrels
    return tuple(sorted(found, key=lambda mark: (mark.start, -mark.end)))


def _one_barrel(mark: Mark, reading: Reading) -> bool:
    """Whether a count is only an article before a barrel: el barril 2."""
    return (
        mark.types[0] in {"count:barrel", "count:tank"}
        and mark.value.n == 1
        and mark.value.noun in {"barrel", "drum"}
        and reading.tokens[mark.start].kind != "numeral"
    )


def _longest(weighed: Sequence[tuple[int, Mark]]) -> list[Mark]:
    """Of terms of one kind that overlap the heaviest; of the same words all kinds."""
    kept: list[Mark] = []
    for _, mark in sorted(weighed, key=lambda pair: (-pair[0], pair[1].start)):
        clash = [
            other
            for other in kept
            if mark.overlaps(other)
            and (other.types == mark.types or (other.start, other.end) != (mark.start, mark.end))
        ]
        if not clash:
            kept.append(mark)
    return kept


def _fractions(reading: Reading) -> list[Mark]:
    """A fraction that may be a ratio (dilute 1/3) can pass for one as well."""
    found = []
    for mention in reading.of("number", "ratio"):
        words = [token.word for token in reading.tokens[mention.start : mention.end]]
        if len(words) == 3 and words[1] == "/" and words[0].isdigit() and words[2].isdigit():
            ratio = Ratio(Decimal(words[0]), Decimal(words[2]))
            found.append(Mark(("ratio", "fraction"), ratio, mention.start, mention.end))
    return found


def _no_days(reading: Reading, lexicon: Lexicon) -> list[Mark]:
    """What looks like a day and is none: 31 feb, 30/2."""
    tokens = reading.tokens
    dated = {place for day in reading.of("date") for place in range(day.start, day.end)}
    numbers = {one.start for one in reading.of("number") if one.end == one.start + 1}
    found = []
    for place in range(len(tokens) - 1):
        if place not in numbers | dated or not tokens[place].word.isdigit():
            continue
        month = place + 1
        while month < len(tokens) - 1 and _sense(lexicon, tokens[month].word, "of") is not None:
            month += 1
        # "el 31 de febrero": the 31st alone would be read as a day of this month.
        if month not in dated and _sense(lexicon, tokens[month].word, "month") is not None:
            found.append(Mark(("no_day",), None, place, month + 1))
        elif place not in dated and tokens[place + 1].word == "/" and place + 2 in numbers:
            found.append(Mark(("no_day",), None, place, place + 3))
    return found


def _weekdays(reading: Reading, lexicon: Lexicon) -> list[Mark]:
    """Friday, every friday: which day of the week, Monday first, counted from 0."""
    found = []
    for every in reading.of("every", "date"):
        for place in range(every.start, every.end):
            day = _sense(lexicon, reading.tokens[place].word, "weekday")
            if day is not None:
                found.append(Mark(("weekday",), int(day), place, place + 1))
    return found


def _sense(lexicon: Lexicon, word: str, role: str) -> Any | None:
    for words, senses in lexicon.phrases.get(word, ()):
        if len(words) == 1 and role in senses:
            return senses[role]
    return None


def _of_mention(mention: Mention, cues: Cues) -> Mark:
    return Mark(_types(mention, cues), mention.value, mention.start, mention.end)


def _below_nothing(reading: Reading) -> list[Mark]:
    """An amount with a minus before it, as -5 l, or a ratio of nothing, as 0:3."""
    tokens = reading.tokens
    found = [
        Mark(("negative",), None, place, place + 2)
        for place in range(len(tokens) - 1)
        if tokens[place].word == "-"
        and (place == 0 or tokens[place].gap != "")
        and tokens[place + 1].gap == ""
        and tokens[place + 1].kind == "numeral"
    ]
    timed = {place for one in reading.of("time", "ratio") for place in range(one.start, one.end)}
    found += [
        Mark(("negative",), None, place, place + 3)
        for place in range(len(tokens) - 2)
        if tokens[place].word == "0"
        and tokens[place + 1].word == ":"
        and tokens[place + 2].kind == "numeral"
        and place not in timed
    ]
    return found


def _types(mention: Mention, cues: Cues) -> tuple[str, ...]:
    value = mention.value
    if mention.kind in {"flow", "speed"}:
        return (mention.kind,)
    if isinstance(value, Quantity):
        return (dimension(value.unit), "quantity", "amount")
    if isinstance(value, Span):
        return (dimension(value.low.unit), "span", "amount")
    if isinstance(value, Count):
        return (f"count:{cues.shapes.nouns.get(value.noun, value.noun)}", "count")
    if isinstance(value, Per):
        return ("per",)
    if isinstance(value, Duration):
        return ("seconds", "duration") if value.unit in _MINUTE_UNITS else ("duration",)
    if isinstance(value, Ratio):
        return ("ratio",)
    return (mention.kind,)
