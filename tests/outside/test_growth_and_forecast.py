"""The growth curve against published cultures, the arithmetic against scipy."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from bot.craft.forecast import Forecast, between
from bot.craft.foresight import foreseen
from bot.craft.growth import BEST_C, COLDEST_C, HOTTEST_C, Law, pace, pace_unbent
from bot.craft.learning import Outcome, gathered, leaning
from bot.craft.ways import Cell, Model, Start

LAW = Law.of_window(5, 7)


@pytest.mark.parametrize(
    ("temperature_c", "rate"),
    [
        (10, 0.020506),
        (15, 0.077647),
        (20, 0.161053),
        (25, 0.250435),
        (28, 0.290010),
        (30, 0.300000),
        (33, 0.265014),
        (35, 0.180000),
        (36, 0.105798),
    ],
)
def test_the_curve_of_rosso(temperature_c: float, rate: float) -> None:
    """Source: Rosso et al. 1993 by the implementation in the R package nlsMicrobio; computed."""
    assert 0.30 * pace(temperature_c, 5, 30, 37) == pytest.approx(rate, abs=1e-6)


@pytest.mark.parametrize(
    ("best_rate", "coldest_c", "best_c", "hottest_c", "temperature_c"),
    [
        # E. coli in nutrient broth and in brain-heart infusion: parameter sets 387 and 284 of the
        # GroPIN collection (RakipInitiative/ModelRepository), whose own formula stands below.
        (1.4, 5.6, 40.3, 47.3, 25.0),
        (1.4, 5.6, 40.3, 47.3, 44.0),
        (2.35, 8.44, 41.5, 46.4, 20.0),
        (2.35, 8.44, 41.5, 46.4, 45.0),
    ],
)
def test_the_curve_of_published_parameter_sets(
    best_rate: float, coldest_c: float, best_c: float, hottest_c: float, temperature_c: float
) -> None:
    t = temperature_c
    published = (best_rate * ((t - coldest_c) ** 2) * (t - hottest_c)) / (
        (best_c - coldest_c)
        * (
            (best_c - coldest_c) * (t - best_c)
            - (best_c - hottest_c) * (coldest_c + best_c - 2 * t)
        )
    )
    assert best_rate * pace(t, coldest_c, best_c, hottest_c) == pytest.approx(published)


def test_the_best_temperature_is_where_scipy_finds_the_top() -> None:
    """A property of the model: 1 at the best temperature and flat there, 0 at both ends."""
    found = optimize.minimize_scalar(
        lambda t: -pace(t), bounds=(COLDEST_C, HOTTEST_C), method="bounded"
    )
    assert found.x == pytest.approx(BEST_C, abs=1e-3)
    assert pace(COLDEST_C) == pace(HOTTEST_C) == 0
    assert pace(COLDEST_C + 1e-6) == pytest.approx(0, abs=1e-6)
    assert pace(HOTTEST_C - 1e-6) == pytest.approx(0, abs=1e-6)


# Source: E. coli growth rates measured by Salter (Ross, Ratkowsky, Mellefont & McMeekin 2003, Int.
# J. Food Microbiol. 82:33; data set ross of the R package nlsMicrobio): doubling times in hours.
MEASURED = {14.48: 4.80, 21.5: 1.50, 25.43: 0.90, 30.6: 0.60}


@pytest.mark.parametrize(("temperature_c", "doubling_h"), MEASURED.items())
def test_the_curve_fitted_to_27_measured_rates_gives_the_measured_doubling_times(
    temperature_c: float, doubling_h: float
) -> None:
    """Source: scipy curve_fit to those 27 points: 1.8115 an hour, 6.127, 41.076, 48.121 °C."""
    rate = 1.8115 * pace(temperature_c, 6.127, 41.076, 48.121)
    assert math.log(2) / rate == pytest.approx(doubling_h, rel=0.12)


def test_one_measured_rate_and_the_curve_beat_a_fixed_doubling_every_ten_degrees() -> None:
    """Scale each law on three of the measured points, foresee the fourth."""
    temperatures, logs = np.array(list(MEASURED)), np.log(list(MEASURED.values()))
    curve = np.array([-math.log(pace(t, 6.127, 41.076, 48.121)) for t in MEASURED])
    doubling = -temperatures / 10 * math.log(2)

    def missed(law: "np.ndarray[tuple[int], np.dtype[np.float64]]") -> float:
        errors = []
        for left in range(len(logs)):
            kept = [place for place in range(len(logs)) if place != left]
            errors.append(logs[left] - law[left] - np.mean(logs[kept] - law[kept]))
        return float(np.sqrt(np.mean(np.square(errors))))

    assert missed(curve) < 0.15
    assert missed(doubling) > 0.4


def test_the_square_root_line_of_the_cool_half() -> None:
    """Source: straight line through the roots of the rates up to 37 °C: b 0.042515, 5.271 °C.

    It gives 0.1711, 0.3921, 0.7035, 1.1053 an hour at 15, 20, 25, 30 °C (computed); ours has the
    same form with its own coldest temperature.
    """
    line = [(0.042515 * (t - 5.271)) ** 2 for t in (15, 20, 25, 30)]
    assert line == pytest.approx([0.1711, 0.3921, 0.7035, 1.1053], abs=1e-3)
    for low, high in pairwise((15, 20, 25, 30)):
        assert pace_unbent(high) / pace_unbent(low) == pytest.approx(
            ((high - COLDEST_C) / (low - COLDEST_C)) ** 2
        )


def test_growth_from_an_inoculum_counts_doublings() -> None:
    """A tenth kept back needs 3.3219 doublings, 1 in 50 5.6439 (log2, exact)."""
    fresh_without_lag = LAW.started_from(1 / 50).growing_days
    tenth = LAW.started_from(1 / 10).growing_days
    assert fresh_without_lag / tenth == pytest.approx(math.log2(50) / 3.3219281)
    assert LAW.started_from(1 / 50, sleepy=2) == LAW


def test_changing_days_add_up_as_an_integral_does() -> None:
    """Rate summation against scipy's quadrature and root finder."""
    days_c = [19.0, 33.0, 24.5, 28.0, 21.0, 30.0, 26.0]

    def done(until: float) -> float:
        breaks = [float(day) for day in range(1, len(days_c))]
        found, _ = integrate.quad(
            lambda t: 1 / LAW.days_at(days_c[min(int(t), len(days_c) - 1)]),
            0,
            until,
            points=[day for day in breaks if day < until],
            limit=200,
        )
        return float(found)

    expected = optimize.brentq(lambda until: done(until) - 1, 1, 20)
    assert LAW.days_along(days_c) == pytest.approx(expected, abs=1e-6)


@given(st.floats(-4, 4), st.floats(0.1, 3), st.floats(-4, 4), st.floats(0.05, 5))
def test_truncated_normal_moments_are_scipys(
    mean: float, sd: float, low: float, width: float
) -> None:
    mass, middle, variance = between(mean, sd, low, low + width)
    a, b = (low - mean) / sd, (low + width - mean) / sd
    reference = stats.truncnorm(a, b, loc=mean, scale=sd)
    expected = (
        stats.norm.cdf(b) - stats.norm.cdf(a) if a < 0 else stats.norm.sf(a) - stats.norm.sf(b)
    )
    assert mass == pytest.approx(expected, rel=1e-6, abs=1e-12)
    if mass > 1e-6:
        assert middle == pytest.approx(reference.mean(), rel=1e-4, abs=1e-4)
        assert variance == pytest.approx(reference.var(), rel=1e-3, abs=1e-4)


@given(st.floats(0.5, 3.5), st.floats(0.05, 0.6), st.floats(0.5, 40))
def test_chances_and_days_are_those_of_scipys_log_normal(
    mean: float, sd: float, day: float
) -> None:
    found = Forecast(((1.0, mean, sd),))
    reference = stats.lognorm(s=sd, scale=math.exp(mean))
    assert found.chance_by(day) == pytest.approx(reference.cdf(day), abs=1e-9)
    assert found.interval_days(0.8) == pytest.approx(reference.ppf([0.1, 0.9]), rel=1e-6)


REPLIES = st.lists(
    st.sampled_from([(0.0, 5.0), (5.0, 6.0), (6.0, 7.0), (6.0, math.inf), (8.0, 9.0)]), max_size=4
)


@settings(max_examples=20)
@given(REPLIES, REPLIES)
def test_what_a_group_and_another_teach_is_the_exact_integral(
    own: list[tuple[float, float]], other: list[tuple[float, float]]
) -> None:
    """Bayes' rule on a fine grid of numpy, by scipy's normal distribution, without our sums."""
    spread, group_sd, centre_sd, wrong = 0.12, 0.15, 0.20, 0.03
    model = Model((Cell(LAW, spread, 1.0),), first_day=5, lagging=0)
    start = Start((26.0,), 0.0)
    base = math.log(LAW.days_at(26))
    said = [
        gathered(model, (Outcome(start, *reply) for reply in replies)) for replies in (own, other)
    ]
    found = foreseen(model, leaning(model, said[1]), said[0], start)

    offsets = np.linspace(-1.5, 1.5, 1201)
    centres = np.linspace(-1.0, 1.0, 401)

    def likely(replies: list[tuple[float, float]]) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        chance = np.ones_like(offsets)
        for low, high in replies:
            bottom = -math.inf if low == 0 else math.log(low)
            top = math.log(high) if high < math.inf else math.inf
            mass = stats.norm.cdf((top - base - offsets) / spread) - stats.norm.cdf(
                (bottom - base - offsets) / spread
            )
            chance *= (1 - wrong) * mass + wrong / 2
        return chance

    among = stats.norm.pdf(offsets[None, :], centres[:, None], group_sd)
    weight = stats.norm.pdf(centres, 0, centre_sd) * (among @ likely(other))
    after = (weight @ among) * likely(own)
    after /= after.sum()
    mean = float(after @ offsets)
    variance = float(after @ (offsets - mean) ** 2)
    assert found.log_mean - base == pytest.approx(mean, abs=0.004)
    assert found.log_sd == pytest.approx(math.sqrt(variance + spread**2), rel=0.02)
