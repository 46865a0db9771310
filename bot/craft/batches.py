"""A batch: one filling of a barrel, what was done with it, and the fillings before it.

Entries of a batch, with the keys of their data (days are ISO text, `on` is the day spoken of where
that is not the day of the message, amounts are whole millilitres):

| kind | data |
|---|---|
| start | recipe, size_ml, kept_ml (what it was started with), name, parent (id of the batch that \
gave it), generation (where the parent is another batch), on |
| stir | on: it was stirred; missed: it was said not to have been |
| look | verdict: ready, not_yet or bad; on |
| draw | amount_ml, use, on: culture was taken out |
| keep | amount_ml, on: so much stays in as the next start, all else is out |
| restart | size_ml, kept_ml, recipe, on: filled up again from what was kept; the next generation |
| temperature | celsius, or warmth (hot, warm, cool); on |
| name | name: what people call this barrel |
| finish | on: emptied, or given up |
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Literal

from bot.craft.entries import Entry, Head
from bot.craft.recipe import Recipe

SUBJECT = "batch"

State = Literal["empty", "fermenting", "ready", "bad", "finished"]


@dataclass(frozen=True, slots=True)
class Look:
    """What someone saw on a day: ready, not_yet or bad. `at` is the moment it was told."""

    on: date
    verdict: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Draw:
    """So much culture taken out on a day, by whom, and for which use (empty: nobody said)."""

    on: date
    amount_ml: int
    use: str = ""
    member_id: str = ""


@dataclass(frozen=True, slots=True)
class Warmth:
    """How warm it was on a day: degrees, or a word (hot, warm, cool)."""

    on: date
    celsius: Decimal | None = None
    word: str = ""


@dataclass(frozen=True, slots=True)
class Batch:
    """One filling of a barrel, as its entries tell it.

    `kept_back_ml` is what it was started with (0: a fresh starter), `kept_ml` what was kept in it
    for the next one. `left_ml` is what it still holds. `generation` counts fillings in one line:
    1 is a fresh starter. `parent` is the id of another batch that gave its start. `past` are the
    fillings before it in the same barrel, oldest first, each without a past of its own.
    """

    id: str
    code: str
    group_id: str
    zone: str
    name: str = ""
    state: State = "empty"
    recipe: str = ""
    size_ml: int = 0
    kept_back_ml: int = 0
    started_at: datetime | None = None
    started_on: date | None = None
    generation: int = 1
    parent: str = ""
    stirred_on: tuple[date, ...] = ()
    unstirred_on: tuple[date, ...] = ()
    looks: tuple[Look, ...] = ()
    draws: tuple[Draw, ...] = ()
    warmths: tuple[Warmth, ...] = ()
    ready_on: date | None = None
    kept_ml: int = 0
    left_ml: int = 0
    ended_on: date | None = None
    past: tuple[Batch, ...] = ()

    @property
    def is_live(self) -> bool:
        """Whether there is culture in it that wants tending: fermenting or ready."""
        return self.state in {"fermenting", "ready"}

    @property
    def drawn_ml(self) -> int:
        """All that was taken out of this filling."""
        return sum(draw.amount_ml for draw in self.draws)

    def age_days(self, day: date) -> int:
        """Whole days from its start to `day`; the day it was started is 0.

        Raises:
            ValueError: it was never started.
        """
        if self.started_on is None:
            raise ValueError(f"{self.code} was never started")
        return (day - self.started_on).days

    def usable_ml(self, recipe: Recipe) -> int:
        """What can be drawn off while the start of the next one stays in (never below 0)."""
        return max(0, self.left_ml - keep_back_ml(recipe, self.size_ml))


def fold(head: Head, entries: Sequence[Entry]) -> Batch:
    """The batch that these entries (oldest first) make; entries it does not know change nothing."""
    batch = Batch(head.id, head.code, head.group_id, head.zone)
    for entry in entries:
        change = _CHANGES.get(entry.kind)
        if change is not None:
            batch = change(batch, entry, head.day_of(entry))
    return batch


# --- what each kind of entry changes ----------------------------------------------------------


def _start(batch: Batch, entry: Entry, on: date) -> Batch:
    kept_ml = entry.whole("kept_ml") or 0
    size_ml = entry.whole("size_ml") or batch.size_ml
    return Batch(
        batch.id,
        batch.code,
        batch.group_id,
        batch.zone,
        name=entry.text("name", batch.name),
        state="fermenting",
        recipe=entry.text("recipe", batch.recipe),
        size_ml=size_ml,
        kept_back_ml=kept_ml,
        started_at=entry.at,
        started_on=on,
        generation=entry.whole("generation") or (2 if kept_ml else 1),
        parent=entry.text("parent"),
        left_ml=size_ml,
        past=_with_past(batch),
    )


def _restart(batch: Batch, entry: Entry, on: date) -> Batch:
    kept_ml = entry.whole("kept_ml")
    if kept_ml is None:
        kept_ml = batch.kept_ml or batch.left_ml
    closed = replace(batch, state="finished", ended_on=on, left_ml=0)
    data = {**entry.data, "kept_ml": kept_ml, "generation": batch.generation + 1}
    return _start(closed, replace(entry, data=data), on)


def _with_past(batch: Batch) -> tuple[Batch, ...]:
    return batch.past if batch.started_on is None else (*batch.past, replace(batch, past=()))


def _stir(batch: Batch, entry: Entry, on: date) -> Batch:
    if entry.data.get("missed"):
        missed = tuple(sorted({*batch.unstirred_on, on} - {*batch.stirred_on}))
        return replace(batch, unstirred_on=missed)
    return replace(
        batch,
        stirred_on=tuple(sorted({*batch.stirred_on, on})),
        unstirred_on=tuple(day for day in batch.unstirred_on if day != on),
    )


def _look(batch: Batch, entry: Entry, on: date) -> Batch:
    verdict = entry.text("verdict")
    batch = replace(batch, looks=(*batch.looks, Look(on, verdict, entry.at)))
    if not batch.is_live or verdict not in _STATES:
        return batch
    ready_on = (batch.ready_on or on) if verdict == "ready" else None
    ended_on = on if verdict == "bad" else None
    return replace(batch, state=_STATES[verdict], ready_on=ready_on, ended_on=ended_on)


_STATES: Mapping[str, State] = {"ready": "ready", "not_yet": "fermenting", "bad": "bad"}


def _draw(batch: Batch, entry: Entry, on: date) -> Batch:
    amount_ml = max(0, entry.whole("amount_ml") or 0)
    left_ml = max(0, batch.left_ml - amount_ml)
    draws = (*batch.draws, Draw(on, amount_ml, entry.text("use"), entry.member_id))
    batch = replace(batch, draws=draws, left_ml=left_ml)
    if left_ml == 0 and batch.is_live:
        return replace(batch, state="finished", ended_on=on)
    return batch


def _keep(batch: Batch, entry: Entry, _on: date) -> Batch:
    kept_ml = max(0, entry.whole("amount_ml") or 0)
    return replace(batch, kept_ml=kept_ml, left_ml=kept_ml)


def _temperature(batch: Batch, entry: Entry, on: date) -> Batch:
    warmth = Warmth(on, entry.number("celsius"), entry.text("warmth"))
    return replace(batch, warmths=(*batch.warmths, warmth))


def _name(batch: Batch, entry: Entry, _on: date) -> Batch:
    return replace(batch, name=entry.text("name", batch.name))


def _finish(batch: Batch, _entry: Entry, on: date) -> Batch:
    state: State = "bad" if batch.state == "bad" else "finished"
    return replace(batch, state=state, ended_on=on, left_ml=0)


_CHANGES: Mapping[str, Callable[[Batch, Entry, date], Batch]] = {
    "start": _start,
    "stir": _stir,
    "look": _look,
    "draw": _draw,
    "keep": _keep,
    "restart": _restart,
    "temperature": _temperature,
    "name": _name,
    "finish": _finish,
}


# --- what follows from a batch and its recipe -------------------------------------------------


def keep_back_ml(recipe: Recipe, size_ml: int) -> int:
    """What stays in a barrel of this size to start the next one; 0 if the recipe keeps none.

    >>> from bot.craft.recipe import Ready
    >>> mother = Recipe("mother", (), (), Ready(5, 7, (), ()), (), (), "cloth", 15, 30, True, False,
    ...     keep_back=Decimal("0.1"))
    >>> keep_back_ml(mother, 200_000)
    20000
    """
    return 0 if recipe.keep_back is None else int(recipe.keep_back * size_ml)


def window(recipe: Recipe, started_on: date) -> tuple[date, date]:
    """The first and the last day on which the recipe expects it ready (both inclusive)."""
    first = started_on + timedelta(days=recipe.ready.warm_days)
    return first, started_on + timedelta(days=recipe.ready.cool_days)


def use_by(recipe: Recipe, ready_on: date) -> tuple[date, date]:
    """The last day it is at its best, and the last day it is used at all (both inclusive)."""
    best = ready_on + timedelta(days=recipe.shelf_days)
    return best, ready_on + timedelta(days=recipe.shelf_days_most)
