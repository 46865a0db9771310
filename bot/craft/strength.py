"""How strong a mix is: parts of culture to parts of water, in every way growers say it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from bot.craft.amounts import AmountError, positive


@dataclass(frozen=True, slots=True)
class Strength:
    """Parts of culture to parts of water; no water is the culture as it is."""

    culture_parts: Decimal
    water_parts: Decimal

    def __post_init__(self) -> None:
        positive(culture_parts=self.culture_parts)
        if not self.water_parts.is_finite() or self.water_parts < 0:
            raise AmountError("water_parts", "negative")
        if self.water_parts > self.culture_parts * 1_000_000:
            raise AmountError("water_parts", "too_large")

    @property
    def share(self) -> Fraction:
        """The culture's part of the mix, exact: a quarter for 1:3."""
        culture = Fraction(self.culture_parts)
        return culture / (culture + Fraction(self.water_parts))

    @property
    def percent(self) -> Decimal:
        """The culture's part of the mix in percent by volume."""
        return decimal_of(self.share * 100)


def parts(culture_parts: Decimal | int, water_parts: Decimal | int) -> Strength:
    """The strength of culture parts TO water parts.

    >>> parts(1, 3).percent
    Decimal('25')
    """
    return Strength(Decimal(culture_parts), Decimal(water_parts))


def one_in(total_parts: Decimal | int) -> Strength:
    """The strength of 1 part IN so many of the mix, as pharmacies and laboratories count.

    Raises:
        AmountError: fewer than one part in all.

    Source: WHO 2014, Infection prevention and control of ARI, Annex G (1:100 is 1 + 99).

    >>> one_in(4) == parts(1, 3)
    True
    """
    return parts(1, Decimal(total_parts) - 1)


def percent(culture_percent: Decimal | int) -> Strength:
    """The strength of so many percent of culture by volume in the mix.

    Raises:
        AmountError: not above 0 and up to 100.

    >>> percent(25).share == parts(1, 3).share
    True
    """
    return parts(Decimal(culture_percent), 100 - Decimal(culture_percent))


def ml_in(culture_ml: Decimal | int, mix_ml: Decimal | int) -> Strength:
    """The strength of so much culture in a mix filled up to so much, as 30 mL in a 15-L tank.

    >>> ml_in(250, 1000) == Strength(Decimal(250), Decimal(750))
    True
    """
    return parts(Decimal(culture_ml), Decimal(mix_ml) - Decimal(culture_ml))


def ml_to(culture_ml: Decimal | int, water_ml: Decimal | int) -> Strength:
    """The strength of so much culture added to so much water, as 30 mL to each litre of water."""
    return parts(Decimal(culture_ml), Decimal(water_ml))


def water_parts_from(have_percent: Decimal, wanted_percent: Decimal) -> Decimal:
    """Parts of water to add to one part of a solution, from both strengths in percent.

    Raises:
        AmountError: the wanted strength is above the one in hand.

    Source: CDC, Chlorine disinfectant solution preparation, App. E: have/wanted - 1.

    >>> water_parts_from(Decimal("3.5"), Decimal("0.5"))
    Decimal('6')
    """
    positive(have_percent=have_percent)
    positive(wanted_percent=wanted_percent)
    if wanted_percent > have_percent:
        raise AmountError("wanted_percent", "too_large")
    return have_percent / wanted_percent - 1


def decimal_of(exact: Fraction) -> Decimal:
    """The same number as a Decimal of 28 digits."""
    return Decimal(exact.numerator) / Decimal(exact.denominator)
