"""A crop's spray or drench rounds: what was planned, what was done, and the dates to come.

Entries of a plan of rounds, with the keys of their data (days are ISO text, `on` is the day spoken
of where that is not the day of the message, amounts are whole millilitres):

| kind | data |
|---|---|
| plan | use, crop, plot_id, recipe, culture_parts, water_parts, mix_ml, tank_ml, area_m2, plants, \
start_on, interval_days, minimum_days, times; harvest's keys; shut_weekdays, shut_spans, held: \
what the group's circle says already; a later one changes what it names |
| sprayed | on, mix_ml, culture_ml: a round was done (drenched is sprayed, too) |
| washed | on: rain took the last round off; it is repeated once |
| skipped | on: the next round is left out |
| late | to_on: the next round moves to that day |
| less | number, percent: that round sprays only so much of its mix |
| harvest | harvest_on, first_pick_on, pick_every_days, stop_days |
| blocked, opened | from_on, until_on (inclusive) or weekdays (0 is Monday): days nobody sprays |
| hold, release | on: every round waits, until released |
| ended | the plan is over |
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from bot.craft.dose import Dose, shortest_gap
from bot.craft.entries import Entry, Head
from bot.craft.harvest import told
from bot.craft.replan import Pace
from bot.craft.round_plan import Done, Need, Rounds, closed, laid_out
from bot.craft.spans import Span, cut, of_entry, weekdays_of

__all__ = ["SUBJECT", "Done", "Dose", "Need", "Rounds", "fold"]

SUBJECT = "rounds"
_DAY = timedelta(days=1)


def fold(head: Head, entries: Sequence[Entry]) -> Rounds:
    """The plan of rounds that these entries (oldest first) make."""
    opened_on = head.said_on(Entry("", head.opened_at))
    rounds = Rounds(head.id, head.code, head.group_id, head.zone, opened_on)
    for entry in entries:
        said_on = max(rounds.as_of, head.said_on(entry))
        rounds = replace(rounds, as_of=said_on)
        on = head.day_of(entry)
        if entry.kind == "sprayed":
            rounds = closed(rounds, min(on, said_on))
        elif entry.kind != "washed":  # rain speaks of the round before, not of the one to come
            rounds = closed(rounds, said_on)
        change = _CHANGES.get(entry.kind)
        if change is not None:
            rounds = change(rounds, entry, on)
        rounds = laid_out(rounds)
    return rounds


# --- what each kind of entry changes ----------------------------------------------------------


def _plan(rounds: Rounds, entry: Entry, _on: date) -> Rounds:
    dose = rounds.dose
    dose = Dose(
        use=entry.text("use", dose.use),
        recipe=entry.text("recipe", dose.recipe),
        culture_parts=entry.number("culture_parts") or dose.culture_parts,
        water_parts=_or(entry.number("water_parts"), dose.water_parts),
        mix_ml=entry.whole("mix_ml") or dose.mix_ml,
        tank_ml=entry.whole("tank_ml") or dose.tank_ml,
        area_m2=entry.number("area_m2") or dose.area_m2,
        plants=entry.whole("plants") or dose.plants,
    )
    interval = entry.whole("interval_days")
    minimum = entry.whole("minimum_days")
    if interval is None:
        interval, minimum = rounds.pace.interval_days, minimum or rounds.pace.minimum_days
    pace = Pace(interval, min(interval, minimum or shortest_gap(interval, dose.use)))
    rounds = replace(
        rounds,
        crop=entry.text("crop", rounds.crop),
        plot_id=entry.text("plot_id", rounds.plot_id),
        dose=dose,
        pace=pace,
        times=entry.whole("times") or rounds.times,
        start_on=entry.day("start_on") or rounds.start_on,
        shut_weekdays=rounds.shut_weekdays | _weekdays(entry),
        shut_spans=(*rounds.shut_spans, *_spans(entry)),
        held=rounds.held or bool(entry.data.get("held")),
    )
    return _harvest(rounds, entry, _on)


def _weekdays(entry: Entry) -> frozenset[int]:
    said = entry.data.get("shut_weekdays")
    return frozenset(int(day) for day in said) if isinstance(said, list | tuple) else frozenset()


def _spans(entry: Entry) -> tuple[Span, ...]:
    said = entry.data.get("shut_spans")
    if not isinstance(said, list | tuple):
        return ()
    return tuple(Span(*(date.fromisoformat(str(day)) for day in days)) for days in said)


def _or(said: Decimal | None, before: Decimal) -> Decimal:
    """What was said, and zero counts as said."""
    return before if said is None else said


def _sprayed(rounds: Rounds, entry: Entry, on: date) -> Rounds:
    if any(done.on == on for done in rounds.done):
        return rounds  # told twice
    dose = rounds.dose_on(rounds.dates[0]) if rounds.dates else rounds.dose
    done = Done(
        on,
        entry.whole("mix_ml") or dose.mix_ml,
        entry.whole("culture_ml") or dose.culture_ml,
        entry.member_id,
        rounds.repeat,
    )
    if rounds.done and on < rounds.done[-1].on:
        return _told_late(rounds, replace(done, repeat=False))
    return replace(
        rounds,
        done=(*rounds.done, done),
        settled=rounds.settled + (not rounds.repeat),
        repeat=False,
        wanted_on=None,
        moved_to=None,
    )


def _told_late(rounds: Rounds, done: Done) -> Rounds:
    """A round before the last one done: it fills a silent date, if there was one."""
    silent = rounds.unreported
    filled = max((day for day in silent if day - _DAY <= done.on), default=None)
    return replace(
        rounds,
        done=tuple(sorted((*rounds.done, done), key=lambda each: each.on)),
        settled=rounds.settled + (filled is None),
        unreported=tuple(day for day in silent if day != filled),
    )


def _washed(rounds: Rounds, _entry: Entry, on: date) -> Rounds:
    if not rounds.done or rounds.done[-1].washed or on < rounds.done[-1].on:
        return rounds
    last = rounds.done[-1]
    return replace(
        rounds,
        done=(*rounds.done[:-1], replace(last, washed=True)),
        repeat=not last.repeat,
        moved_to=None,
        shut_spans=(*rounds.shut_spans, Span(on, on)),
    )


def _skipped(rounds: Rounds, _entry: Entry, on: date) -> Rounds:
    if rounds.repeat:
        return replace(rounds, repeat=False, moved_to=None)
    day = rounds.next_on or on
    return replace(
        rounds,
        skipped=(*rounds.skipped, day),
        settled=rounds.settled + 1,
        wanted_on=day + rounds.pace.interval_days * _DAY,
        moved_to=None,
    )


def _less(rounds: Rounds, entry: Entry, _on: date) -> Rounds:
    number, percent = entry.whole("number"), entry.whole("percent")
    if number is None or percent is None:
        return rounds
    others = tuple(each for each in rounds.less if each[0] != number)
    return replace(rounds, less=(*others, (number, percent)))


def _late(rounds: Rounds, entry: Entry, _on: date) -> Rounds:
    return replace(rounds, moved_to=entry.day("to_on") or rounds.moved_to)


def _harvest(rounds: Rounds, entry: Entry, _on: date) -> Rounds:
    return replace(rounds, harvest=told(rounds.harvest, entry))


def _blocked(rounds: Rounds, entry: Entry, on: date) -> Rounds:
    weekdays = weekdays_of(entry)
    if weekdays:
        return replace(rounds, shut_weekdays=rounds.shut_weekdays | weekdays)
    return replace(rounds, shut_spans=(*rounds.shut_spans, of_entry(entry, on)))


def _opened(rounds: Rounds, entry: Entry, on: date) -> Rounds:
    weekdays = weekdays_of(entry)
    if weekdays:
        return replace(rounds, shut_weekdays=rounds.shut_weekdays - weekdays)
    gone = of_entry(entry, on)
    kept = tuple(piece for span in rounds.shut_spans for piece in cut(span, gone))
    return replace(rounds, shut_spans=kept)


def _held(rounds: Rounds, _entry: Entry, _on: date) -> Rounds:
    # The day it stood on is remembered, so that a short wait moves nothing.
    return replace(rounds, held=True, wanted_on=rounds.next_on or rounds.wanted_on)


def _released(rounds: Rounds, _entry: Entry, _on: date) -> Rounds:
    return replace(rounds, held=False)


def _ended(rounds: Rounds, _entry: Entry, _on: date) -> Rounds:
    return replace(rounds, ended=True)


_CHANGES: Mapping[str, Callable[[Rounds, Entry, date], Rounds]] = {
    "plan": _plan,
    "sprayed": _sprayed,
    "washed": _washed,
    "skipped": _skipped,
    "late": _late,
    "less": _less,
    "harvest": _harvest,
    "blocked": _blocked,
    "opened": _opened,
    "hold": _held,
    "release": _released,
    "ended": _ended,
}
