from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.circle import Borrowed, Circle, Fasting, Shaken, Shared, fold
from bot.craft.entries import Entry, Head
from bot.craft.spans import Span, cut

BEGIN = datetime(2026, 3, 2, 6, 0, tzinfo=UTC)  # a Monday
HEAD = Head("c1", "circle", "C1", "g1", BEGIN)


def circle(*entries: Entry) -> Circle:
    return fold(HEAD, entries)


def said(kind: str, **data: object) -> Entry:
    return Entry(kind, BEGIN, data, "k")


def test_market_days_feasts_and_rest_close_days_with_their_reason() -> None:
    days = circle(
        said("blocked", weekdays=[4], reason="market"),
        said("blocked", on="2026-03-10", reason="feast"),
        said("blocked"),
        said("rest", from_on="2026-11-01", until_on="2027-01-31"),
    )
    assert days.closed(date(2026, 3, 6)) == "market"
    assert days.closed(date(2026, 3, 10)) == "feast"
    assert days.closed(date(2026, 3, 2)) == "other"
    assert days.closed(date(2026, 12, 25)) == "rest"
    assert days.closed(date(2026, 3, 7)) == ""
    assert days.resting(date(2026, 3, 7)) is None


def test_what_was_closed_can_be_opened_again() -> None:
    days = circle(
        said("blocked", weekdays=[4, 5], reason="market"),
        said("opened", weekdays=[5]),
        said("blocked", from_on="2026-03-10", until_on="2026-03-20", reason="feast"),
        said("rest", from_on="2026-11-01", until_on="2026-12-31"),
        said(
            "fasting",
            from_on="2026-03-01",
            until_on="2026-03-31",
            from_hour="05:00",
            until_hour="18:00",
        ),
        said("opened", from_on="2026-03-12", until_on="2026-03-14"),
        said("opened", from_on="2026-12-01", until_on="2026-12-31"),
    )
    assert days.closed(date(2026, 3, 6)) == "market"
    assert days.closed(date(2026, 3, 7)) == ""
    closed = [n for n in range(8, 22) if days.closed(date(2026, 3, n)) == "feast"]
    assert closed == [10, 11, 15, 16, 17, 18, 19, 20]
    assert days.resting(date(2026, 12, 1)) is None
    assert days.asked_at(date(2026, 3, 13), time(7)) == time(7)
    assert days.asked_at(date(2026, 3, 15), time(7)) == time(18)


@pytest.mark.parametrize(
    ("wanted", "asked"),
    [
        (time(4, 59), time(4, 59)),
        (time(5, 0), time(18, 30)),
        (time(18, 29), time(18, 30)),
        (time(18, 30), time(18, 30)),
    ],
)
def test_nobody_is_asked_in_fasting_hours(wanted: time, asked: time) -> None:
    month = Span(date(2026, 2, 18), date(2026, 3, 19))
    days = Circle("c", "g", fasting=(Fasting(month, time(5), time(18, 30)),))
    assert days.asked_at(date(2026, 3, 1), wanted) == asked
    assert days.asked_at(date(2026, 3, 20), wanted) == wanted


def test_hours_over_midnight_move_the_evening_before_and_the_morning_after() -> None:
    nights = Circle(
        "c", "g", fasting=(Fasting(Span(date(2026, 3, 1), date(2026, 3, 9)), time(20), time(6)),)
    )
    assert nights.asked_at(date(2026, 3, 2), time(22)) == time(20)
    assert nights.asked_at(date(2026, 3, 2), time(4)) == time(6)
    assert nights.asked_at(date(2026, 3, 2), time(12)) == time(12)


def test_rain_holds_from_the_first_word_until_released() -> None:
    assert circle(said("hold"), said("hold", on="2026-03-09")).held_since == date(2026, 3, 2)
    assert circle(said("hold"), said("release")).held_since is None


def test_what_the_group_has_to_work_with() -> None:
    group = circle(
        said("well", ml_a_day=400_000),
        said("cans", ml=60_000),
        said("hand", who="m1", tanks_a_day=12),
        said("hand", tanks_a_day=6),
        said("hand", who="m1", tanks_a_day=0),
        said("sprayer", sprayer_id="s1", owner_id="m1", tanks_a_day=20),
        said("sprayer", sprayer_id="s2", tanks_a_day=10),
        said("sprayer", sprayer_id="s1", tanks_a_day=0),
        said("spare", percent=20),
        said("spare"),
        said("sung"),
    )
    assert (group.well_ml_a_day, group.cans_ml, group.spare_percent) == (400_000, 60_000, 20)
    assert group.hands == {"k": 6}
    assert group.sprayers == {"s2": Shared("s2", "k", 10)}


def test_kept_starter_outlasts_a_rest_or_does_not() -> None:
    rest = Span(date(2026, 11, 1), date(2026, 11, 20))
    assert circle().starter_lasts(rest, date(2026, 11, 21))
    assert not circle().starter_lasts(rest, date(2026, 11, 20))


@given(st.integers(0, 20), st.integers(0, 20), st.integers(0, 20), st.integers(0, 20))
def test_a_span_cut_holds_what_is_in_it_and_not_in_the_other(
    first: int, length: int, other: int, other_length: int
) -> None:
    origin = date(2026, 1, 1)

    def span(start: int, days: int) -> Span:
        return Span(origin + timedelta(start), origin + timedelta(start + days))

    whole, gone = span(first, length), span(other, other_length)
    left = [day for piece in cut(whole, gone) for day in piece.days()]
    assert left == [day for day in whole.days() if not gone.holds(day)]


def test_opened_with_a_reason_opens_only_what_was_shut_for_it() -> None:
    days = circle(
        said("blocked", weekdays=[4], reason="market"),
        said("blocked", weekdays=[6], reason="rest"),
        said("blocked", on="2026-03-10", reason="feast"),
        said("rest", from_on="2026-03-09", until_on="2026-03-20"),
        said(
            "fasting",
            from_on="2026-03-01",
            until_on="2026-03-31",
            from_hour="05:00",
            until_hour="18:00",
        ),
        said("opened", weekdays=[4, 6], reason="market"),
        said("opened", from_on="2026-03-02", until_on="2026-03-31", reason="feast"),
    )
    assert days.shut_weekdays == {6: "rest"}
    assert days.shut == ()
    assert days.closed(date(2026, 3, 10)) == "rest"
    assert days.fasting[0].span == Span(date(2026, 3, 1), date(2026, 3, 31))
    over = said("opened", from_on="2026-03-02", until_on="2026-03-31", reason="fasting")
    still = said("blocked", on="2026-03-10", reason="feast")
    assert circle(still, over).closed(date(2026, 3, 10)) == "feast"


def test_a_fast_ends_the_same_evening_or_the_next_morning() -> None:
    fasts = circle(
        said(
            "fasting",
            from_on="2026-03-01",
            until_on="2026-03-05",
            from_hour="20:00",
            until_hour="05:00",
        )
    )
    assert fasts.fast_ends(date(2026, 3, 2), time(21)) == (date(2026, 3, 3), time(5))
    assert fasts.fast_ends(date(2026, 3, 3), time(4)) == (date(2026, 3, 3), time(5))
    assert fasts.fast_ends(date(2026, 3, 3), time(12)) is None
    assert fasts.fast_ends(date(2026, 3, 9), time(21)) is None


def test_rains_a_plan_what_was_borrowed_and_what_shook_it_are_kept() -> None:
    told = circle(
        said("rains", on="2026-03-03"),
        said("planned"),
        said("borrowed", on="2026-03-05", ml=12_000, recipe="mother"),
        said("shaken", why="spoilt", code="B1"),
    )
    assert told.rains_on == date(2026, 3, 3)
    assert told.planned
    assert told.borrowed == (Borrowed(date(2026, 3, 5), 12_000, "mother"),)
    assert told.shaken == Shaken(BEGIN, "spoilt", "B1")
