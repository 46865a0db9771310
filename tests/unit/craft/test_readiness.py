import math
from itertools import permutations
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.craft import readiness
from bot.craft.learning import Evidence, Outcome
from bot.craft.readiness import Reply, Window, heard, looks
from bot.craft.ways import Start

CUSTOM = Window(5, 7)
WARM = Start((26.0,), 2.0)
KEPT = Start((31.0,), 2.0, kept=True)
COLD = Start((14.0,), 2.0)


def test_replies_close_in_on_the_day() -> None:
    told = [Reply(5, "not_yet"), Reply(6, "not_yet"), Reply(7, "ready"), Reply(8, "ready")]
    for order in permutations(told):
        assert heard(WARM, order) == Outcome(WARM, 6, 7)


def test_no_reply_is_nothing_known() -> None:
    assert heard(WARM, []) == Outcome(WARM, 0, math.inf)


def test_a_later_not_yet_overrules_a_ready() -> None:
    told = [Reply(5, "ready"), Reply(6, "not_yet"), Reply(8, "ready")]
    assert heard(WARM, told) == Outcome(WARM, 6, 8)


def test_a_bad_batch_is_known_not_to_have_been_ready_when_last_looked_at() -> None:
    found = heard(WARM, [Reply(6, "bad"), Reply(5, "not_yet")])
    assert found == Outcome(WARM, 5, math.inf, bad=True)


def test_bad_can_be_taken_back_by_a_later_word() -> None:
    assert not heard(WARM, [Reply(6, "bad"), Reply(7, "ready")]).bad


def test_a_reply_from_before_the_start_is_refused() -> None:
    with pytest.raises(ValueError, match="before the start"):
        heard(WARM, [Reply(-1, "ready")])


def test_a_new_recipe_starts_from_its_own_window() -> None:
    brew = readiness.forecast(Window(10, 10), WARM)
    heap = readiness.forecast(Window(30, 40), WARM)
    assert brew.median_days == pytest.approx(10, rel=0.05)
    assert 30 < heap.median_days < 40


@pytest.mark.parametrize("days", [(0, 0), (0, 1), (1, 2), (2, 7), (6, 14), (10, 10), (30, 40)])
def test_every_recipes_window_is_where_its_forecast_begins(days: tuple[int, int]) -> None:
    window = Window(*days)
    found = readiness.forecast(window, Start((26.5,), 2.0))
    assert max(days[0], 0.5) * 0.95 <= found.median_days <= max(days[1], 0.5) * 1.1
    told = looks(found, window)
    assert days[0] <= told.look_days <= days[1] + 1


def test_a_window_wider_than_warmth_explains_leaves_more_open() -> None:
    narrow, wide = (readiness.forecast(Window(*days), WARM) for days in ((3, 5), (2, 7)))
    assert wide.log_sd > narrow.log_sd


def test_no_look_before_the_recipes_first_day_until_three_batches_were_ready_earlier() -> None:
    early = Outcome(KEPT, 2.5, 3.5)
    for told, day in ((2, 5), (3, 4)):
        own = readiness.learned(CUSTOM, [early] * told)
        everyone = readiness.shared(CUSTOM, [own])
        found = looks(readiness.forecast(CUSTOM, KEPT, own, everyone), CUSTOM, own)
        assert found.held == (told == 2)
        assert (found.look_days == day) if told == 2 else (found.look_days < day)


def test_other_groups_never_bring_a_look_before_the_first_day() -> None:
    others = [readiness.learned(CUSTOM, [Outcome(KEPT, 2.5, 3.5)] * 4) for _ in range(3)]
    found = readiness.forecast(CUSTOM, KEPT, None, readiness.shared(CUSTOM, others))
    assert found.median_days < 5
    assert looks(found, CUSTOM).look_days == 5


def test_past_the_recipes_last_day_a_look_is_asked_however_cold_it_is() -> None:
    found = readiness.forecast(CUSTOM, COLD)
    assert found.median_days > 9
    assert looks(found, CUSTOM).look_days == 8
    assert looks(found, CUSTOM).doubt_days == 7
    assert looks(found, CUSTOM, None, 8).look_days > 9


def test_after_not_yet_the_next_look_is_later() -> None:
    found = readiness.forecast(CUSTOM, WARM)
    days = [looks(found, CUSTOM, None, not_yet).look_days for not_yet in (0, 5, 6, 7, 9, 12)]
    assert days == sorted(days)
    assert all(look > seen for look, seen in zip(days, (0, 5, 6, 7, 9, 12), strict=True))


def test_what_is_said_keeps_its_order() -> None:
    for start in (WARM, KEPT, COLD, Start((45.0,), 2.0), Start((-5.0,), 2.0)):
        found = looks(readiness.forecast(CUSTOM, start), CUSTOM)
        assert 5 <= found.look_days <= found.likely_days <= found.until_days
        assert found.inspect_days <= 28


@settings(max_examples=25)
@given(
    st.lists(st.floats(-273, 1000), min_size=1, max_size=4),
    st.booleans(),
    st.sampled_from([(0, 1), (2, 7), (5, 7), (10, 10), (30, 40)]),
    st.floats(0, 60),
)
def test_at_any_temperature_each_day_said_is_a_number_and_in_order(
    days_c: list[float], kept: bool, days: tuple[int, int], not_yet: float
) -> None:
    window = Window(*days)
    found = looks(
        readiness.forecast(window, Start(tuple(days_c), 2.0, kept)), window, None, not_yet
    )
    said = (found.look_days, found.likely_days, found.until_days)
    assert all(math.isfinite(day) for day in (*said, found.inspect_days))
    assert list(said) == sorted(said)
    assert found.look_days >= max(not_yet, window.first_day)
    assert found.inspect_days <= 4 * max(window.last_day, 1)


@given(
    st.lists(
        st.builds(Reply, st.integers(0, 20), st.sampled_from(["ready", "not_yet", "bad"])),
        max_size=6,
    ),
    st.randoms(use_true_random=False),
)
def test_replies_say_the_same_in_whatever_order_they_came(
    replies: list[Reply], chance: Random
) -> None:
    assert heard(WARM, chance.sample(replies, len(replies))) == heard(WARM, replies)


def test_heat_and_cold_beyond_the_curve_are_known() -> None:
    assert readiness.outside_curve((26.0, 43.0)) == "hot"
    assert readiness.outside_curve((26.0, 8.0)) == "cold"
    assert readiness.outside_curve((26.0,)) is None
    assert readiness.outside_curve((41.0,)) is None
    assert readiness.outside_curve((41.0,), 1.5) == "hot"
    assert readiness.outside_curve((11.0,), 1.5) == "cold"


def test_where_only_practice_holds_a_look_back_the_customs_last_day_is_the_end() -> None:
    own = readiness.learned(CUSTOM, [Outcome(KEPT, 2.5, 3.5)] * 2)
    found = looks(readiness.forecast(CUSTOM, KEPT, own), CUSTOM, own)
    assert (found.look_days, found.likely_days, found.until_days) == (5, 5, 7)


def test_one_batch_can_be_added_and_taken_away() -> None:
    said = readiness.learned_from(CUSTOM, Outcome(WARM, 5, 6))
    assert readiness.learned(CUSTOM, [Outcome(WARM, 5, 6)]) == said
    assert said - said == Evidence()


def test_the_effect_of_warmth_can_be_told() -> None:
    assert 0 < readiness.share_of_warmth(CUSTOM) < 1
    flat = [
        readiness.learned(CUSTOM, [Outcome(Start((t,), 1.5), 5.5, 6.5) for t in (18, 24, 30)])
        for _ in range(6)
    ]
    assert readiness.share_of_warmth(CUSTOM, readiness.shared(CUSTOM, flat)) < 0.2
