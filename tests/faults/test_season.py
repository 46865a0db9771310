"""A season against an independent reckoning: dateutil's rules and zones, none of our own code.

Each barrel is stirred from the day after its start to the day it is finished; what falls due for
one member on one day at their hour is one message. dateutil reckons those moments: recurrence by
`rrule`, wall time by its own zone files, gaps by `resolve_imaginary`, overlaps by fold 0.
"""

from __future__ import annotations

import random
from collections import Counter
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from dateutil import rrule, tz

from tests.contract.stores import is_full, opened, sqlite_at
from tests.faults.farm import Farm

BEGIN = date(2026, 2, 25)
ZONES = {
    "Europe/Paris": ["02:30", "06:00"],  # a gap on 29 March, an overlap on 25 October
    "America/New_York": ["02:30", "07:00"],  # a gap on 8 March
    "Pacific/Auckland": ["02:30", "06:00"],  # an overlap on 5 April
    "Africa/Casablanca": ["02:30", "07:00"],  # Ramadan: back on 15 February, on again on 22 March
    "Africa/Nairobi": ["06:30", "07:00"],
    "Asia/Kolkata": ["05:30", "07:00"],
}


def reckoned(first_on: date, days: int, hour: str, zone: str) -> set[datetime]:
    """The moments, UTC, of a wall time on each of so many days."""
    wall = datetime.combine(first_on, time.fromisoformat(hour))
    here = tz.gettz(zone)
    return {
        tz.resolve_imaginary(each.replace(tzinfo=here)).astimezone(UTC)
        for each in rrule.rrule(rrule.DAILY, dtstart=wall, count=days)
    }


def noon(day: date, zone: str) -> datetime:
    return datetime.combine(day, time(12), tz.gettz(zone)).astimezone(UTC)


def season(folder: Path, *, days: int, members: int, batches: int, seed: int) -> None:
    chance = random.Random(seed)
    store = opened(sqlite_at(folder))
    farm = Farm(store)
    start = datetime.combine(BEGIN, time(0), UTC)
    homes = [(zone, hour) for zone, hours in ZONES.items() for hour in hours]
    events: list[tuple[datetime, str, str]] = []
    wanted: dict[str, set[datetime]] = {}
    kept: Counter[str] = Counter()
    for who in range(members):
        zone, hour = homes[who % len(homes)]
        farm.settle(str(who), zone, hour, start)
        wanted[f"m{who}"] = set()
    free_on = [BEGIN + timedelta(days=1)] * members
    for number in range(batches):
        who = number % members
        zone, hour = homes[who % len(homes)]
        kept[str(who)] += 1
        length = chance.randint(2, 4)
        # So that the last of them end with the season.
        rounds = -(-batches // members)
        begun = free_on[who] + timedelta(days=chance.randrange((days - 6) // rounds - 1))
        ended = begun + timedelta(days=length)
        # The next barrel may begin while this one still ferments.
        free_on[who] = begun + timedelta(days=1)
        events.append((noon(begun, zone), str(who), "started 200 l barrel"))
        finished = f"finished b{kept[str(who)]}"
        events.append((noon(ended, zone) + timedelta(minutes=1), str(who), finished))
        wanted[f"m{who}"] |= reckoned(begun + timedelta(days=1), length, hour, zone)
    now = start
    for moment, whom, text in sorted(events):
        farm.until(moment, now)
        now = moment
        farm.says(whom, text, now)
        farm.engine.step(now)
    farm.until(now + timedelta(days=2), now)
    got: dict[str, Counter[datetime]] = {who: Counter() for who in wanted}
    rows = farm.reminders()
    for row in rows:
        got[row.member_id][row.created_at] += 1
    store.close()
    for each, moments in wanted.items():
        assert sorted(got[each].elements()) == sorted(moments), each
    arrived = Counter(each.key for each in farm.net.arrived)
    assert max(arrived.values()) == 1
    # Written is not enough: each went.
    assert {row.status for row in rows} == {"sent"}
    assert {row.key for row in rows} == {
        each.key for each in farm.net.arrived if each.kind == "reminder"
    }
    last = max(moment for moments in wanted.values() for moment in moments)
    assert last.date() >= BEGIN + timedelta(days=days - 15)
    assert sum(map(len, wanted.values())) > batches


def test_some_weeks_of_reminders_go_exactly_when_dateutil_says(tmp_path: Path) -> None:
    season(tmp_path, days=40, members=12, batches=12, seed=1)


@pytest.mark.slow
def test_a_season_of_reminders_goes_exactly_when_dateutil_says(tmp_path: Path) -> None:
    if is_full():
        season(tmp_path, days=120, members=500, batches=800, seed=2)
    else:
        season(tmp_path, days=60, members=60, batches=60, seed=2)
