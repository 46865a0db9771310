"""A batch tells what was done with it, from its entries alone."""

from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.craft.batches import Batch, Draw, Look, Warmth, fold, use_by, window
from bot.craft.entries import Entry, Head
from bot.craft.lineage import line, may_be_kept_back, renewal
from bot.recipes.reading import shipped

HEAD = Head("b1", "batch", "B1", "g1", datetime(2026, 3, 1, tzinfo=UTC), "Asia/Kolkata")
MOTHER = shipped()["mother"]
DAY = date(2026, 3, 2)


def entry(kind: str, day: int = 2, hour: int = 3, **data: object) -> Entry:
    return Entry(kind, datetime(2026, 3, day, hour, tzinfo=UTC), data)


def barrel(*entries: Entry) -> Batch:
    start = entry("start", recipe="mother", size_ml=200_000)
    return fold(HEAD, (start, *entries))


def test_nothing_started_is_empty() -> None:
    batch = fold(HEAD, ())
    assert (batch.state, batch.is_live, batch.left_ml) == ("empty", False, 0)
    with pytest.raises(ValueError, match="never started"):
        batch.age_days(DAY)


def test_a_started_barrel_ferments_and_counts_its_days() -> None:
    batch = barrel()
    assert (batch.state, batch.size_ml, batch.left_ml, batch.generation) == (
        "fermenting",
        200_000,
        200_000,
        1,
    )
    assert batch.started_on == DAY
    assert batch.age_days(date(2026, 3, 7)) == 5
    assert batch.is_live


def test_the_start_counts_on_the_members_own_day() -> None:
    late = fold(HEAD, [entry("start", hour=20, recipe="mother", size_ml=1000)])
    assert late.started_on == date(2026, 3, 3)


def test_yesterday_is_the_day_that_was_said() -> None:
    batch = fold(HEAD, [entry("start", size_ml=1000, on="2026-03-01")])
    assert batch.started_on == date(2026, 3, 1)


def test_stirring_is_kept_a_day_once_and_a_missed_one_is_mended() -> None:
    batch = barrel(
        entry("stir", 3),
        entry("stir", 3, 9),
        entry("stir", 4, missed=True),
        entry("stir", 5, missed=True),
        entry("stir", 6, on="2026-03-04"),
        entry("stir", 6, on="2026-03-03", missed=True),
    )
    assert batch.stirred_on == (date(2026, 3, 3), date(2026, 3, 4))
    assert batch.unstirred_on == (date(2026, 3, 5),)


def test_a_look_turns_it_ready_and_a_second_one_back() -> None:
    batch = barrel(entry("look", 7, verdict="ready"))
    assert (batch.state, batch.ready_on) == ("ready", date(2026, 3, 7))
    again = barrel(entry("look", 7, verdict="ready"), entry("look", 8, verdict="ready"))
    assert again.ready_on == date(2026, 3, 7)
    back = barrel(entry("look", 7, verdict="ready"), entry("look", 8, verdict="not_yet"))
    assert (back.state, back.ready_on) == ("fermenting", None)
    assert [look.verdict for look in back.looks] == ["ready", "not_yet"]
    assert back.looks[0] == Look(date(2026, 3, 7), "ready", datetime(2026, 3, 7, 3, tzinfo=UTC))


def test_a_spoilt_barrel_ends_and_gives_no_start() -> None:
    batch = barrel(entry("look", 7, verdict="bad"), entry("look", 8, verdict="ready"))
    assert (batch.state, batch.ended_on, batch.is_live) == ("bad", date(2026, 3, 7), False)
    assert not may_be_kept_back(batch)
    assert renewal(batch, MOTHER) == "fresh_starter"
    assert fold(HEAD, [entry("start", size_ml=1), entry("look", verdict="bad"), entry("finish")])
    emptied = barrel(entry("look", 7, verdict="bad"), entry("finish", 8))
    assert (emptied.state, emptied.left_ml) == ("bad", 0)


def test_a_verdict_nobody_knows_changes_nothing_but_is_kept() -> None:
    batch = barrel(entry("look", 7, verdict="odd"))
    assert batch.state == "fermenting"
    assert len(batch.looks) == 1


def test_what_is_drawn_is_gone_and_a_tenth_is_not_for_use() -> None:
    batch = barrel(entry("draw", 8, amount_ml=150_000, use="leaf"))
    assert (batch.left_ml, batch.drawn_ml, batch.usable_ml(MOTHER)) == (50_000, 150_000, 30_000)
    assert batch.draws == (Draw(date(2026, 3, 8), 150_000, "leaf"),)
    assert barrel(entry("draw", 8, amount_ml=190_000)).usable_ml(MOTHER) == 0


def test_a_barrel_drawn_empty_is_finished_and_never_below_zero() -> None:
    batch = barrel(entry("draw", 8, amount_ml=250_000))
    assert (batch.left_ml, batch.state, batch.ended_on) == (0, "finished", date(2026, 3, 8))
    assert barrel(entry("draw", 8, amount_ml=-5)).left_ml == 200_000
    spoilt = barrel(entry("look", 7, verdict="bad"), entry("draw", 8, amount_ml=200_000))
    assert spoilt.state == "bad"


def test_kept_and_restarted_begins_the_next_generation_in_the_same_barrel() -> None:
    batch = barrel(
        entry("look", 7, verdict="ready"),
        entry("draw", 8, amount_ml=100_000),
        entry("keep", 9, amount_ml=20_000),
        entry("restart", 9),
    )
    assert (batch.state, batch.generation, batch.kept_back_ml) == ("fermenting", 2, 20_000)
    assert (batch.started_on, batch.size_ml, batch.recipe) == (
        date(2026, 3, 9),
        200_000,
        "mother",
    )
    assert batch.looks == ()
    (before,) = batch.past
    assert (before.kept_ml, before.ready_on, before.ended_on) == (
        20_000,
        date(2026, 3, 7),
        date(2026, 3, 9),
    )
    assert before.past == ()


def test_a_restart_says_its_own_amount_or_takes_what_is_left() -> None:
    said = barrel(entry("restart", 9, kept_ml=10_000, size_ml=100_000))
    assert (said.kept_back_ml, said.size_ml) == (10_000, 100_000)
    left = barrel(entry("draw", 8, amount_ml=170_000), entry("restart", 9))
    assert left.kept_back_ml == 30_000


def test_a_start_over_an_old_filling_keeps_it_as_past() -> None:
    batch = barrel(entry("finish", 9), entry("start", 10, size_ml=50_000))
    assert (len(batch.past), batch.size_ml, batch.generation) == (1, 50_000, 1)


def test_a_name_and_a_temperature_are_kept_and_what_is_unknown_is_passed_over() -> None:
    batch = barrel(
        entry("name", 3, name="the big one"),
        entry("temperature", 3, celsius="28.5"),
        entry("temperature", 4, warmth="hot"),
        entry("sang", 4),
    )
    assert batch.name == "the big one"
    assert batch.warmths == (
        Warmth(date(2026, 3, 3), Decimal("28.5")),
        Warmth(date(2026, 3, 4), None, "hot"),
    )


def test_the_window_and_the_shelf_life_are_the_recipes() -> None:
    assert window(MOTHER, DAY) == (date(2026, 3, 7), date(2026, 3, 9))
    assert use_by(MOTHER, DAY) == (date(2026, 3, 17), date(2026, 4, 1))


@pytest.mark.parametrize(
    ("generation", "advice"),
    [(1, "carry_on"), (8, "carry_on"), (9, "last_one"), (10, "fresh_starter")],
)
def test_a_line_is_renewed_after_ten_fillings(generation: int, advice: str) -> None:
    batch = barrel(entry("restart", 9, kept_ml=20_000))
    start = entry("start", size_ml=1000, kept_ml=100, generation=generation)
    assert renewal(fold(HEAD, [start]), MOTHER) == advice
    assert renewal(batch, shipped()["brew"]) == "carry_on"


def test_a_line_runs_through_its_barrel_and_into_the_one_that_gave_it() -> None:
    giver = barrel(entry("restart", 9, kept_ml=20_000))
    other = Head("b2", "batch", "B2", "g1", HEAD.opened_at, HEAD.zone)
    taker = fold(
        other,
        [
            entry("start", 12, size_ml=100_000, kept_ml=10_000, parent="b1", generation=3),
            entry("restart", 20, kept_ml=10_000),
        ],
    )
    found = line(taker, {"b1": giver, "b2": taker})
    assert [each.generation for each in found] == [1, 2, 3, 4]
    assert [each.id for each in found] == ["b1", "b1", "b2", "b2"]


def test_a_line_ends_where_its_giver_is_unknown_or_younger() -> None:
    taker = fold(HEAD, [entry("start", size_ml=10, kept_ml=1, parent="b9")])
    assert line(taker, {}) == (taker,)
    younger = fold(
        Head("b9", "batch", "B9", "g1", HEAD.opened_at), [entry("start", 20, size_ml=10)]
    )
    assert line(taker, {"b9": younger}) == (taker,)
    circle: Mapping[str, Batch] = {
        "b1": taker,
        "b9": fold(
            Head("b9", "batch", "B9", "g1", HEAD.opened_at),
            [entry("start", size_ml=10, kept_ml=1, parent="b1")],
        ),
    }
    assert len(line(taker, circle)) == 2


KINDS = st.sampled_from(
    ["start", "stir", "look", "draw", "keep", "restart", "finish", "temperature"]
)


@given(
    st.lists(
        st.tuples(KINDS, st.integers(0, 300_000), st.sampled_from(["ready", "not_yet", "bad"])),
        max_size=30,
    )
)
def test_no_history_makes_a_barrel_hold_less_than_nothing(
    told: list[tuple[str, int, str]],
) -> None:
    at = datetime(2026, 3, 2, tzinfo=UTC)
    entries = [
        Entry(
            kind,
            at + timedelta(hours=7 * n),
            {"amount_ml": ml, "size_ml": 200_000, "kept_ml": min(ml, 100_000), "verdict": verdict},
        )
        for n, (kind, ml, verdict) in enumerate(told)
    ]
    batch = fold(HEAD, entries)
    assert batch.left_ml >= 0
    assert all(each.past == () for each in batch.past)
    assert batch == fold(HEAD, entries)
    assert len(line(batch, {batch.id: batch})) <= 1 + len(batch.past)
