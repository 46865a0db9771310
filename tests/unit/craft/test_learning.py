import json
import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.craft.foresight import foreseen, warmth_acts
from bot.craft.growth import Law
from bot.craft.learning import Evidence, Outcome, Pool, evidence_of, gathered, leaning
from bot.craft.learning_cache import restored, stored
from bot.craft.ways import Cell, Model, Start, model_of

LAW = Law.of_window(5, 7)
ONE = Model((Cell(LAW, 0.12, 1.0),), first_day=5, lagging=0)
"""The study's filter: one law, one spread."""
MODEL = model_of(5, 7)
WARM = Start((26.0,), 0.0)
BASE = math.log(LAW.days_at(26))

STARTS = st.builds(
    Start, st.floats(15, 38).map(lambda c: (c,)), st.sampled_from([1.5, 2.5]), st.booleans()
)
OUTCOMES = st.builds(
    Outcome,
    STARTS,
    st.sampled_from([0.0, 3.0, 5.0, 6.0]),
    st.sampled_from([7.0, 8.0, 12.0, math.inf]),
    st.booleans(),
)


def offset_of(others: Pool, own: Evidence) -> tuple[float, float]:
    found = foreseen(ONE, others, own, WARM)
    return found.log_mean - BASE, found.log_sd**2 - 0.12**2


# The check values of the readiness study. Ours sums over a grid, so it is good to 0.0005; the
# last one the study approximated by moments, reply after reply (see tests/outside for the
# integral), so it is met to 0.002.
def test_a_new_group_begins_from_the_custom() -> None:
    found = foreseen(ONE, Pool(), Evidence(), WARM)
    assert found.log_mean == pytest.approx(1.747501, abs=1e-6)
    assert found.log_sd == pytest.approx(0.277308, abs=0.001)
    assert found.interval_days(0.8) == pytest.approx((4.023356, 8.189776), abs=0.011)


def test_not_yet_on_day_6_and_ready_on_day_7_moves_its_group_and_the_next() -> None:
    said = evidence_of(ONE, Outcome(WARM, 6, 7))
    assert offset_of(Pool(), said) == pytest.approx((0.089187, 0.017173), abs=0.0005)
    assert offset_of(leaning(ONE, said), Evidence()) == pytest.approx(
        (0.057080, 0.043934), abs=0.0005
    )
    more = said + evidence_of(ONE, Outcome(WARM, 5))
    assert offset_of(Pool(), more) == pytest.approx((0.107787, 0.014528), abs=0.002)


def test_the_studys_mixture_comes_out_the_same() -> None:
    """15 ways: how strongly temperature acts times spread; its beta is our exponent of the law."""

    class Bent(Law):
        def days_at(self, temperature_c: float) -> float:
            beta, at_27 = self.fixed_days, LAW.days_at(27)
            return at_27 * math.pow(LAW.days_at(temperature_c) / at_27, beta)

    cells = tuple(
        Cell(Bent(beta, 0), spread, weight)
        for beta, weight in zip((0, 0.5, 1, 1.6, 2.4), (1, 2, 4, 2, 1), strict=True)
        for spread in (0.08, 0.14, 0.22)
    )
    model = Model(cells, first_day=5, group_sd=0.16, lagging=0)
    seen = ((26, 6, 7), (30, 5, 6), (22, 8, 9))
    own = gathered(model, (Outcome(Start((t,), 1.5), low, high) for t, low, high in seen))
    found = foreseen(model, Pool(), own, Start((26.0,), 1.5))
    assert found.log_mean == pytest.approx(1.856591, abs=0.005)
    assert found.log_sd == pytest.approx(0.181588, abs=0.005)


@settings(max_examples=12)
@given(st.lists(OUTCOMES, max_size=6), st.integers(0, 1000))
def test_the_order_of_reports_does_not_matter(outcomes: list[Outcome], seed: int) -> None:
    shuffled = random.Random(seed).sample(outcomes, len(outcomes))
    assert gathered(MODEL, outcomes) == gathered(MODEL, shuffled)


@settings(max_examples=15)
@given(st.lists(OUTCOMES, max_size=5), OUTCOMES)
def test_a_correction_leaves_what_the_record_says(outcomes: list[Outcome], slip: Outcome) -> None:
    rebuilt = gathered(MODEL, outcomes)
    corrected = gathered(MODEL, [slip, *outcomes]) - evidence_of(MODEL, slip)
    assert corrected == rebuilt


@settings(max_examples=10)
@given(st.lists(st.lists(OUTCOMES, max_size=3), max_size=4), st.integers(0, 1000))
def test_workers_that_each_saw_some_groups_merge_to_the_rebuilt_state(
    groups: list[list[Outcome]], seed: int
) -> None:
    said = [leaning(MODEL, gathered(MODEL, outcomes)) for outcomes in groups]
    rebuilt = sum(said, Pool())
    mixed = random.Random(seed).sample(said, len(said))
    half = len(mixed) // 2
    assert sum(mixed[half:], Pool()) + sum(mixed[:half], Pool()) == rebuilt
    for one in mixed:
        rebuilt -= one
    assert rebuilt == Pool()


@settings(max_examples=10)
@given(st.lists(OUTCOMES, max_size=4))
def test_state_survives_a_restart_unchanged(outcomes: list[Outcome]) -> None:
    evidence = gathered(MODEL, outcomes)
    pool = leaning(MODEL, evidence)
    kept = json.loads(json.dumps([stored(MODEL, evidence), stored(MODEL, pool)]))
    assert restored(MODEL, Evidence, kept[0]) == evidence
    assert restored(MODEL, Pool, kept[1]) == pool
    assert restored(model_of(5, 8), Pool, kept[1]) is None


@settings(max_examples=15)
@given(STARTS, st.floats(1, 30))
def test_reports_move_the_next_forecast_their_own_way(start: Start, day: float) -> None:
    before = foreseen(MODEL, Pool(), Evidence(), start)
    later = foreseen(MODEL, Pool(), evidence_of(MODEL, Outcome(start, day)), start)
    sooner = foreseen(MODEL, Pool(), evidence_of(MODEL, Outcome(start, 0, day)), start)
    assert sooner.median_days <= before.median_days * 1.01
    assert later.median_days >= before.median_days * 0.99


@settings(max_examples=20)
@given(STARTS, st.floats(0.01, 0.999), st.booleans())
def test_an_answer_never_widens_the_window_on_its_own_side(
    start: Start, chance: float, ready: bool
) -> None:
    """After "not yet" no earlier day comes in, after "ready" no later one (but for the grid)."""
    before = foreseen(MODEL, Pool(), Evidence(), start)
    day = before.by_chance(chance)
    said = Outcome(start, 0, day) if ready else Outcome(start, day)
    after = foreseen(MODEL, Pool(), evidence_of(MODEL, said), start)
    (low, high), (low_after, high_after) = before.interval_days(), after.interval_days()
    if ready:
        assert high_after <= high * 1.005
    else:
        assert low_after >= low * 0.995


@settings(max_examples=12)
@given(STARTS)
def test_a_report_that_agrees_makes_the_next_forecast_no_less_certain(start: Start) -> None:
    before = foreseen(MODEL, Pool(), Evidence(), start)
    low, high = before.by_chance(0.45), before.by_chance(0.55)
    after = foreseen(MODEL, Pool(), evidence_of(MODEL, Outcome(start, low, high)), start)
    assert after.log_sd <= before.log_sd


def test_what_others_report_counts_for_a_new_group_but_less_than_its_own() -> None:
    start = Start((26.0,), 1.5)
    said = gathered(MODEL, [Outcome(start, 8, 9)] * 3)
    alone = foreseen(MODEL, Pool(), Evidence(), start).median_days
    other = foreseen(MODEL, leaning(MODEL, said), Evidence(), start).median_days
    own = foreseen(MODEL, Pool(), said, start).median_days
    assert alone < other < own
    assert 8 < own < 9


def test_a_kept_back_start_begins_from_the_same_window_and_learns_its_own_pace() -> None:
    fresh, kept = Start((26.0,), 1.5), Start((26.0,), 1.5, kept=True)
    before = [foreseen(MODEL, Pool(), Evidence(), start).median_days for start in (fresh, kept)]
    assert before[1] == pytest.approx(before[0], rel=0.02)
    groups = [
        gathered(MODEL, [Outcome(fresh, 5, 6), Outcome(kept, 3, 4), Outcome(kept, 3, 4)])
        for _ in range(4)
    ]
    pool = sum((leaning(MODEL, said) for said in groups), Pool())
    after = [foreseen(MODEL, pool, Evidence(), start).median_days for start in (fresh, kept)]
    assert after[1] < 4.2
    assert after[0] > 5


def test_how_much_warmth_acts_is_learned() -> None:
    def told(days: dict[float, float]) -> float:
        pool = Pool()
        for _ in range(6):
            seen = [Outcome(Start((t,), 1.5), at - 0.5, at + 0.5) for t, at in days.items()]
            pool += leaning(MODEL, gathered(MODEL, seen))
        # What has become a thousand times less likely is left out.
        assert len(foreseen(MODEL, pool, Evidence(), WARM).parts) < len(MODEL.cells)
        return warmth_acts(MODEL, pool)

    assert told({18: 6, 24: 6, 30: 6}) < 0.2
    assert told({18: 13, 24: 7.5, 30: 4}) > 0.6


def test_silence_and_a_bad_batch_say_nothing_of_when_but_are_counted() -> None:
    said = gathered(MODEL, [Outcome(WARM), Outcome(WARM, bad=True)])
    assert (said.batches, said.bad) == (2, 1)
    silent = foreseen(MODEL, Pool(), said, WARM)
    assert silent == foreseen(MODEL, Pool(), Evidence(), WARM)
    pool = leaning(MODEL, said)
    assert pool.bad_share == pytest.approx(2 / 22)
    assert Pool().bad_share == pytest.approx(1 / 20)


def test_one_wrong_reply_among_many_moves_little() -> None:
    start = Start((26.0,), 1.5)
    sound = [Outcome(start, 5, 6)] * 6
    steady = foreseen(MODEL, Pool(), gathered(MODEL, sound), start)
    shaken = foreseen(MODEL, Pool(), gathered(MODEL, [*sound, Outcome(start, 14)]), start)
    assert shaken.median_days < steady.median_days * 1.1


@pytest.mark.parametrize(("not_yet", "ready"), [(7, 6), (-1, 5), (0, 0), (math.nan, 5)])
def test_ready_before_it_was_not_is_refused(not_yet: float, ready: float) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        Outcome(WARM, not_yet, ready)


@pytest.mark.parametrize(("first", "last"), [(-1, 5), (7, 5), (5, math.inf), (math.nan, 5)])
def test_a_window_that_cannot_be_is_refused(first: float, last: float) -> None:
    with pytest.raises(ValueError, match="cannot be"):
        model_of(first, last)


@settings(max_examples=15)
@given(
    st.floats(-273, 1000), st.floats(0, 10), st.booleans(), st.floats(0, 400), st.floats(0.01, 400)
)
def test_no_temperature_and_no_reply_breaks_a_forecast(
    temperature_c: float, sd_c: float, kept: bool, not_yet: float, more: float
) -> None:
    start = Start((temperature_c, 26.0, temperature_c), sd_c, kept)
    own = evidence_of(MODEL, Outcome(start, not_yet, not_yet + more))
    found = foreseen(MODEL, leaning(MODEL, own), own, start)
    assert math.isfinite(found.median_days)
    assert 0 <= found.chance_by(6) <= 1
    assert found.log_sd > 0
