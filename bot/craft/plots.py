"""A member's plot: what grows there, how big it is, when it was sown and will be harvested.

Entries of a plot (days are ISO text, amounts decimal text):

| kind | data |
|---|---|
| plot | name, owner_id, crop, area, area_unit, plants, sown_on, planted_on, sprayer_id, tank_ml; \
harvest's keys; a later one changes what it names |
| harvest | harvest_on, first_pick_on, pick_every_days, stop_days |
| closed, reopened | the crop is off, or not yet |
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from bot.craft.entries import Entry, Head
from bot.craft.harvest import Harvest, told
from bot.craft.units import Quantity

SUBJECT = "plot"


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot as its entries left it. What nobody said is None or empty.

    `area` is in the unit it was told in.
    """

    id: str
    code: str
    group_id: str
    name: str = ""
    owner_id: str = ""
    crop: str = ""
    area: Quantity | None = None
    plants: int | None = None
    sown_on: date | None = None
    planted_on: date | None = None
    sprayer_id: str = ""
    tank_ml: int | None = None
    harvest: Harvest = field(default_factory=Harvest)
    closed_on: date | None = None

    @property
    def area_m2(self) -> Decimal | None:
        """The area in square metres, not rounded."""
        return None if self.area is None else self.area.to("square_metre").value

    @property
    def begun_on(self) -> date | None:
        """The day the crop began on this plot: planted out, else sown."""
        return self.planted_on or self.sown_on

    def age_days(self, on: date) -> int | None:
        """How many days the crop has stood on a day; None before its beginning, or if unknown."""
        begun = self.begun_on
        return None if begun is None or on < begun else (on - begun).days


def fold(head: Head, entries: Sequence[Entry]) -> Plot:
    """The plot that these entries (oldest first) make."""
    plot = Plot(head.id, head.code, head.group_id)
    for entry in entries:
        if entry.kind == "plot":
            plot = _plot(plot, entry)
        elif entry.kind == "harvest":
            plot = replace(plot, harvest=told(plot.harvest, entry))
        elif entry.kind == "closed":
            plot = replace(plot, closed_on=head.day_of(entry))
        elif entry.kind == "reopened":
            plot = replace(plot, closed_on=None)
    return plot


def _plot(plot: Plot, entry: Entry) -> Plot:
    area = entry.number("area")
    return replace(
        plot,
        name=entry.text("name", plot.name),
        owner_id=entry.text("owner_id", plot.owner_id or entry.member_id),
        crop=entry.text("crop", plot.crop),
        area=plot.area if area is None else Quantity(area, entry.text("area_unit", "square_metre")),
        plants=entry.whole("plants") or plot.plants,
        sown_on=entry.day("sown_on") or plot.sown_on,
        planted_on=entry.day("planted_on") or plot.planted_on,
        sprayer_id=entry.text("sprayer_id", plot.sprayer_id),
        tank_ml=entry.whole("tank_ml") or plot.tank_ml,
        harvest=told(plot.harvest, entry),
    )
