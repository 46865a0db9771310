"""Rounding to what can be measured: the marks of a bottle, a bucket, a drum; or one measure."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

from bot.craft.amounts import positive

Rounding = Callable[[Fraction], int]
"""Turns an exact amount of culture in mL into one that can be measured."""

_STEPS_ML = (10_000_000, 1_000_000, 100_000, 10_000, 5_000, 1_000, 500, 100, 50, 10, 5, 1)
"""Each step divides the one before, so rounding never turns a larger amount into a smaller."""


def handy(exact_ml: Fraction) -> int:
    """The amount nearest to `exact_ml` on the coarsest usual marks that stay within 1 %.

    Never under 1 mL; below 50 mL the mark is the millilitre, however far it is off.

    >>> handy(Fraction(8000, 3)), handy(Fraction(3750)), handy(Fraction(15000, 11))
    (2650, 3750, 1350)
    """
    # Whole numbers throughout: a Fraction a step costs twenty times as much.
    number, parts = exact_ml.numerator, exact_ml.denominator
    for step in _STEPS_ML:
        nearest = _nearest(exact_ml, step)
        if abs(nearest * parts - number) * 100 <= number:
            return nearest
    return max(1, _nearest(exact_ml, 1))


def handy_up(exact_ml: Fraction) -> int:
    """At least `exact_ml`, on the coarsest usual marks at most 2 % above it.

    >>> handy_up(Fraction("40468.56"))
    41000
    """
    number, parts = exact_ml.numerator, exact_ml.denominator
    for step in _STEPS_ML:
        above = -(-number // (parts * step)) * step
        if (above * parts - number) * 100 <= number * 2:
            return above
    return -(-number // parts)


def to_step(step_ml: int) -> Rounding:
    """A rounding to whole steps of a measure (a 50 mL cap: 50), half up, at least one step.

    >>> to_step(180)(Fraction(4000))
    3960
    """
    positive(step_ml=step_ml)

    def rounded(exact_ml: Fraction) -> int:
        return max(step_ml, _nearest(exact_ml, step_ml))

    return rounded


def to_the_ml(exact_ml: Fraction) -> int:
    """The amount to the nearest millilitre, half up, at least 1."""
    return max(1, _nearest(exact_ml, 1))


def _nearest(exact: Fraction, step: int) -> int:
    number, parts = exact.numerator, exact.denominator * step
    return (2 * number + parts) // (2 * parts) * step
