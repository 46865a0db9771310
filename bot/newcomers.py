"""What can be guessed of somebody who writes for the first time; each guess is said and mended."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from bot import phones
from bot.craft import places
from bot.messages import Incoming


def guess(incoming: Incoming) -> Mapping[str, Any]:
    """Country and zone from the number's prefix or a shared place.

    The zone is unsure where the country has several, or nothing is known at all.

    >>> from datetime import UTC, datetime
    >>> said = Incoming("modem", "1", "+254712345678", "hello", datetime(2026, 3, 2, tzinfo=UTC))
    >>> guess(said)
    {'country': 'KE', 'zone': 'Africa/Nairobi', 'zone_unsure': False}
    """
    if incoming.place is not None:
        here = places.nearest(*incoming.place)
        return {"country": here.country, "zone": here.zone, "zone_unsure": False}
    number = phones.normal(incoming.address)
    country = phones.country(number) if number else ""
    zones = phones.zones(number) if number else ()
    if not country or not zones:
        return {"zone_unsure": True}
    return {"country": country, "zone": zones[0], "zone_unsure": len(zones) > 1}
