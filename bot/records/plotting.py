"""Plots read back: one's own, and the one of a name."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from bot.craft import plots
from bot.craft.plots import Plot
from bot.facts import Count, Per, Request, Term
from bot.records.book import Book


def owned(book: Book) -> tuple[Plot, ...]:
    """The member's own open plots, oldest first."""
    return tuple(
        each
        for each in book.open(plots.SUBJECT, plots.fold)
        if book.owner_of(each.id) == book.member.id
    )


def plot_named(book: Book, name: str) -> Plot | None:
    """The group's open plot of that name, the member's own before another's; case counts not."""
    wanted = name.casefold()
    found = [
        each
        for each in book.open(plots.SUBJECT, plots.fold)
        if wanted in {each.name.casefold(), each.code.casefold()}
    ]
    own = [each for each in found if book.owner_of(each.id) == book.member.id]
    return next(iter([*own, *found]), None)


def called(book: Book, member_id: str) -> str:
    """The name of somebody in the group; empty where they gave none, or have left."""
    return next((each.name for each in book.members() if each.id == member_id), "")


def with_plot(request: Request, book: Book) -> tuple[Request, Plot | None]:
    """A request about a plot, with what is known of the plot where nothing was said of it.

    A plot that is named where the crop stands ("spraying north") is a plot, too.
    """
    slots = request.slots
    crop = slots.get("crop")
    said = slots.get("plot") or (crop if isinstance(crop, str) else "")
    plot = plot_named(book, str(said)) if said else None
    if plot is None:
        return request, None
    more: dict[str, Any] = _of_plot(plot, slots)
    if (crop is None or crop == said) and plot.crop:
        more["crop"] = Term("crop", plot.crop)
    elif crop is None:
        more["crop"] = plot.name
    return request.with_slots(**more), plot


def _of_plot(plot: Plot, slots: Mapping[str, Any]) -> dict[str, Any]:
    more: dict[str, Any] = {}
    per = slots.get("per")
    by_plant = isinstance(per, Per) and isinstance(per.each, Count)
    if "area" not in slots and plot.area is not None and per is not None and not by_plant:
        more["area"] = plot.area
    if "plants" not in slots and plot.plants and by_plant:
        more["plants"] = Count(Decimal(plot.plants), "plant")
    if "harvest" not in slots and plot.harvest.harvest_on is not None:
        more["harvest"] = plot.harvest.harvest_on
    return more
