from __future__ import annotations

from datetime import UTC, date, datetime
from decimal import Decimal

from bot.craft.entries import Entry, Head
from bot.craft.plots import Plot, fold
from bot.craft.units import Quantity

BEGIN = datetime(2026, 3, 1, 6, 0, tzinfo=UTC)
HEAD = Head("p1", "plot", "P1", "g1", BEGIN)


def plot(*entries: Entry) -> Plot:
    first = Entry(
        "plot",
        BEGIN,
        {
            "name": "north",
            "crop": "tomato",
            "area": "0.5",
            "area_unit": "acre",
            "plants": 3000,
            "sown_on": "2026-02-01",
            "sprayer_id": "s1",
            "tank_ml": 16_000,
        },
        "m1",
    )
    return fold(HEAD, [first, *entries])


def test_a_plot_is_what_was_told() -> None:
    north = plot()
    assert (north.name, north.crop, north.owner_id) == ("north", "tomato", "m1")
    assert north.area == Quantity(Decimal("0.5"), "acre")
    assert north.area_m2 is not None
    assert round(north.area_m2, 1) == Decimal("2023.4")
    assert (north.plants, north.sprayer_id, north.tank_ml) == (3000, "s1", 16_000)


def test_an_empty_plot_knows_nothing() -> None:
    bare = fold(HEAD, [Entry("sung", BEGIN)])
    assert bare.area_m2 is None
    assert bare.begun_on is None
    assert bare.age_days(date(2026, 3, 1)) is None


def test_a_later_word_changes_only_what_it_names() -> None:
    north = plot(Entry("plot", BEGIN, {"planted_on": "2026-03-05", "area": "900"}, "m2"))
    assert north.owner_id == "m1"
    assert north.crop == "tomato"
    assert north.area_m2 == 900
    assert plot(Entry("plot", BEGIN, {"owner_id": "m2"})).owner_id == "m2"


def test_a_crop_is_as_old_as_since_it_was_planted_else_sown() -> None:
    assert plot().age_days(date(2026, 2, 11)) == 10
    assert plot().age_days(date(2026, 1, 31)) is None
    planted = plot(Entry("plot", BEGIN, {"planted_on": "2026-03-05"}))
    assert planted.age_days(date(2026, 3, 6)) == 1


def test_a_harvest_is_known_to_the_plot() -> None:
    north = plot(Entry("harvest", BEGIN, {"harvest_on": "2026-05-20", "stop_days": 10}))
    assert north.harvest.last_round_on == date(2026, 5, 10)
    told = plot(Entry("plot", BEGIN, {"first_pick_on": "2026-06-01", "pick_every_days": 3}))
    assert (told.harvest.first_on, told.harvest.every_days) == (date(2026, 6, 1), 3)


def test_a_plot_is_closed_and_opened_again() -> None:
    closed = Entry("closed", BEGIN, {"on": "2026-05-21"})
    assert plot(closed).closed_on == date(2026, 5, 21)
    assert plot(closed, Entry("reopened", BEGIN)).closed_on is None
