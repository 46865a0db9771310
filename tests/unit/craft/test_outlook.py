"""A batch's outlook in days of the calendar, for every recipe."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from bot.craft import batches
from bot.craft.batches import Batch
from bot.craft.entries import Entry, Head
from bot.craft.learning import Evidence, Outcome, Pool
from bot.craft.outlook import Outlook, evidence, outlook, window_of
from bot.craft.readiness import learned, shared
from bot.craft.ways import Start
from bot.recipes.own import Tweak, tweaked
from bot.recipes.reading import shipped

RECIPES = shipped()
MOTHER = RECIPES["mother"]
AT = datetime(2026, 3, 2, 9, tzinfo=UTC)
ON = date(2026, 3, 2)
KISUMU = (-0.1, 34.75, 1131.0)
NOTHING = Evidence(), Pool()


def batch(kind: str = "mother", *entries: Entry, kept_ml: int = 0) -> Batch:
    data = {"recipe": kind, "size_ml": 100_000, "kept_ml": kept_ml, "on": ON.isoformat()}
    head = Head("b", batches.SUBJECT, "B1", "g", AT, "UTC")
    return batches.fold(head, [Entry("start", AT, data), *entries])


def warmth(celsius: str, days: int = 0) -> Entry:
    data = {"celsius": celsius, "on": (ON + timedelta(days=days)).isoformat()}
    return Entry("temperature", AT + timedelta(days=days), data)


def look(verdict: str, days: int) -> Entry:
    data = {"verdict": verdict, "on": (ON + timedelta(days=days)).isoformat()}
    return Entry("look", AT + timedelta(days=days), data)


def seen(which: Batch, own: Evidence | None = None) -> Outlook:
    mine = own or Evidence()
    window = window_of(RECIPES[which.recipe])
    found = outlook(which, RECIPES[which.recipe], (), mine, shared(window, [mine]))
    assert found is not None
    return found


@pytest.mark.parametrize("kind", sorted(RECIPES))
@pytest.mark.parametrize("celsius", ["", "22", "26", "31"])
def test_every_recipe_begins_from_its_own_window(kind: str, celsius: str) -> None:
    window = window_of(RECIPES[kind])
    found = seen(batch(kind, *([warmth(celsius)] if celsius else [])))
    assert window.first_day <= (found.look_on - ON).days <= window.last_day + 1
    assert window.first_day * 0.8 <= (found.likely_on - ON).days <= window.last_day * 1.25 + 1
    assert found.look_on <= found.likely_on <= found.until_on
    assert found.likely_on <= found.inspect_on
    assert found.doubt_on == ON + timedelta(days=int(window.last_day + 0.5))
    assert found.batches == found.everyone == 0


@pytest.mark.parametrize("kind", sorted(RECIPES))
def test_every_recipe_learns_from_its_own_groups_reports(kind: str) -> None:
    window = window_of(RECIPES[kind])
    later = max(window.last_day, 1) * 1.6
    own = learned(window, [Outcome(Start((26.0,), 2.0), later * 0.95, later)] * 4)
    before, after = seen(batch(kind)), seen(batch(kind), own)
    assert after.forecast.median_days > before.forecast.median_days
    assert after.likely_on >= before.likely_on


def test_a_recipe_that_a_group_adds_begins_from_its_own_window() -> None:
    ours = tweaked(MOTHER, Tweak(warm_days=9, cool_days=12), kind="ours")
    # What the group learned of the mother culture says nothing of it.
    mothers = [batch("mother", look("not_yet", 3), look("ready", 4))] * 4
    assert evidence(mothers, MOTHER, ()).batches == 4
    own = evidence(mothers, ours, ())
    assert own == Evidence()
    found = outlook(batch("ours"), ours, (), own, Pool())
    assert found is not None
    assert 9 <= (found.look_on - ON).days <= (found.likely_on - ON).days <= 12
    assert found.doubt_on == ON + timedelta(days=12)


def test_warmer_is_sooner_and_a_change_on_the_way_counts() -> None:
    days = [seen(batch("mother", warmth(each))).forecast.median_days for each in ("18", "26", "33")]
    assert days == sorted(days, reverse=True)
    turned = seen(batch("mother", warmth("33"), warmth("18", 3))).forecast.median_days
    assert days[2] < turned < days[0]


def test_a_reading_beyond_the_curve_is_known_until_another_is_told() -> None:
    assert seen(batch("mother", warmth("41"))).outside == "hot"
    assert seen(batch("mother", warmth("55"))).outside == "hot"
    assert seen(batch("mother", warmth("9"))).outside == "cold"
    assert seen(batch("mother", warmth("55"), warmth("28", 1))).outside is None
    assert seen(batch("mother", warmth("55"), warmth("28"))).outside is None
    word = Entry("temperature", AT, {"warmth": "warm", "on": ON.isoformat()})
    assert seen(batch("mother", warmth("55"), word)).outside is None
    assert seen(batch()).outside is None


def test_a_place_that_is_usually_too_cold_is_known_without_a_reading() -> None:
    high = outlook(batch(), MOTHER, (-16.5, -68.15, 4800.0), *NOTHING)
    low = outlook(batch(), MOTHER, KISUMU, *NOTHING)
    assert high is not None
    assert low is not None
    assert (high.outside, low.outside) == ("cold", None)


def test_a_look_that_practice_puts_off_is_known_to_be_late() -> None:
    early = Outcome(Start((26.0,), 2.0), 0, 3)
    assert not seen(batch()).sooner
    told = seen(batch(), learned(window_of(MOTHER), [early] * 2))
    assert told.sooner
    assert (told.look_on - ON).days == 5
    lifted = seen(batch(), learned(window_of(MOTHER), [early] * 3))
    assert not lifted.sooner
    assert (lifted.look_on - ON).days < 5
    refused = seen(batch("mother", look("not_yet", 5)), learned(window_of(MOTHER), [early] * 2))
    assert not refused.sooner


def test_the_chance_by_a_day_rises_and_not_yet_lowers_it() -> None:
    found = seen(batch())
    days = [ON + timedelta(days=each) for each in range(15)]
    chances = [found.chance_by(each) for each in days]
    assert chances == sorted(chances)
    assert chances[0] == pytest.approx(0, abs=1e-6)
    assert found.chance_by(found.likely_on) > 0.5 > found.chance_by(found.look_on - timedelta(1))
    refused = seen(batch("mother", look("not_yet", 6)))
    assert refused.chance_by(ON + timedelta(days=6)) < found.chance_by(ON + timedelta(days=6))
    assert refused.chance_by(ON + timedelta(days=7)) < found.chance_by(ON + timedelta(days=7))


def test_a_barrel_that_was_not_started_has_no_outlook() -> None:
    head = Head("b", batches.SUBJECT, "B1", "g", AT, "UTC")
    assert outlook(batches.fold(head, []), MOTHER, (), *NOTHING) is None


def test_usual_warmth_is_what_counts_where_nobody_told() -> None:
    found = outlook(batch(), MOTHER, KISUMU, *NOTHING)
    assert found is not None
    assert found.warm.source == "climate"
    assert Decimal(20) < Decimal(found.warm.temperatures_c[0]) < Decimal(28)
