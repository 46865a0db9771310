"""Hours in which nobody is woken: when they end, on the member's own clock."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from bot.clock import instant


def quiet_until(moment: datetime, zone: str, settings: Mapping[str, Any]) -> datetime | None:
    """When the member's quiet hours end, if it is quiet at `moment`; else None.

    `settings["quiet"]` is two wall times, the end not included; over midnight where the first is
    later.

    >>> from datetime import UTC
    >>> night = {"quiet": ["21:00", "05:00"]}
    >>> quiet_until(datetime(2026, 3, 2, 23, tzinfo=UTC), "UTC", night).isoformat()
    '2026-03-03T05:00:00+00:00'
    >>> quiet_until(datetime(2026, 3, 2, 5, tzinfo=UTC), "UTC", night) is None
    True
    """
    chosen = settings.get("quiet")
    if not chosen:
        return None
    begins, ends = (time.fromisoformat(str(each)) for each in chosen)
    here = moment.astimezone(ZoneInfo(zone))
    wall = here.time()
    if begins <= ends:
        quiet, end_on = begins <= wall < ends, here.date()
    else:
        quiet = wall >= begins or wall < ends
        end_on = here.date() + timedelta(days=1) if wall >= begins else here.date()
    if not quiet:
        return None
    # The hour that a change of the clock repeats is quiet both times.
    return max(instant(end_on, ends, zone), moment + timedelta(minutes=1))
