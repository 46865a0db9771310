"""One check against the outside: what we find, what a source says, and how sure that is.

A test module lists its checks as `CHECKS` and runs each; `python -m tests.outside.table` counts
them all by topic and mark.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

Mark = Literal["seen", "quoted", "from memory", "computed", "common practice, no source"]

Number = Decimal | Fraction | int | float


@dataclass(frozen=True, slots=True)
class Check:
    """One figure of a source beside ours.

    `tolerance` is the share of the expected value that may be missed (a percent is "0.01"), or,
    where `absolute`, the amount itself. What is no number must be equal.
    """

    id: str
    topic: str
    source: str
    mark: Mark
    found: object
    expected: object
    tolerance: str = "0"
    absolute: bool = False

    def passes(self) -> None:
        """Nothing, where what we find is what the source says."""
        found, expected = self.found, self.expected
        if not isinstance(expected, str):
            assert isinstance(expected, Number), self.id
            assert isinstance(found, Number), self.id
            wanted, got = exact(expected), exact(found)
            room = Fraction(self.tolerance) * (1 if self.absolute else abs(wanted))
            assert abs(got - wanted) <= room, f"{self.id}: {float(got)} is not {float(wanted)}"
        else:
            assert found == expected, self.id


def exact(value: object) -> Fraction:
    """The number as a fraction; text such as "0.0254" too."""
    if isinstance(value, float):
        return Fraction(str(value))
    assert isinstance(value, Decimal | Fraction | int)
    return Fraction(value)


def D(text: str | int) -> Decimal:  # noqa: N802 - short, as it stands in every row
    """A decimal."""
    return Decimal(text)
