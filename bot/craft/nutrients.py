"""What a brew holds at most, if all of its seed dissolves; what share of a salt is metal.

An upper bound, always: nothing here says what a plant takes up.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from bot.craft.amounts import positive

ELEMENTS = ("N", "P", "K", "Ca", "Mg", "Fe", "Zn", "Cu")

SOURCE = "USDA National Nutrient Database for Standard Reference, public domain"


@dataclass(frozen=True, slots=True)
class Composition:
    """Milligrams of each element in 100 g of one food, by its number in the database (NDB)."""

    ndb: str
    mg: Mapping[str, Decimal]


def _food(ndb: str, protein: str, factor: str, rest: str) -> Composition:
    nitrogen = Decimal(protein) / Decimal(factor) * 1000
    values = [nitrogen, *(Decimal(each) for each in rest.split())]
    return Composition(ndb, MappingProxyType(dict(zip(ELEMENTS, values, strict=True))))


FOODS: Mapping[str, Composition] = MappingProxyType(
    {
        "mustard": _food("02024", "26.08", "5.40", "828 738 266 370 9.21 6.08 0.645"),
        "sesame": _food("12023", "17.73", "5.30", "629 468 975 351 14.55 7.75 4.082"),
        "sunflower": _food("12036", "20.78", "5.30", "660 645 78 325 5.25 5.00 1.800"),
        "linseed": _food("12220", "18.29", "5.30", "642 813 255 392 5.73 4.34 1.220"),
        "groundnut": _food("16087", "25.80", "5.46", "376 705 92 168 4.58 3.27 1.144"),
        "soybean": _food("16108", "36.49", "5.71", "704 1797 277 280 15.70 4.89 1.658"),
        "lentil": _food("16069", "24.63", "6.25", "281 677 35 47 6.51 3.27 0.754"),
        "chickpea": _food("16056", "20.47", "6.25", "252 718 57 79 4.31 2.76 0.656"),
        "mung_bean": _food("16080", "23.86", "6.25", "367 1246 132 189 6.74 2.68 0.941"),
        "black_gram": _food("16083", "25.21", "6.25", "379 983 138 267 7.57 3.35 0.981"),
        "pigeon_pea": _food("16101", "21.70", "6.25", "367 1392 130 183 5.23 2.76 1.057"),
        "cowpea": _food("16062", "23.52", "6.25", "424 1112 110 184 8.27 3.37 0.845"),
    }
)
"""Nitrogen is protein by the database's own factor. Source: SR27 abbreviated file, seen; the
soybean's factor 5.71 is from memory (blank in the file)."""

OILSEEDS = ("mustard", "sesame", "sunflower", "linseed", "groundnut")
PULSES = ("soybean", "lentil", "chickpea", "mung_bean", "black_gram", "pigeon_pea", "cowpea")


def at_most_mg_per_l(grams: Mapping[str, Decimal], litres: Decimal) -> dict[str, Decimal]:
    """Milligrams of each element in a litre, if all of these foods dissolves.

    Raises:
        AmountError: an amount of zero or below.
        KeyError: no composition is known for a name.

    >>> at_most_mg_per_l({"mustard": Decimal(1000)}, Decimal(20))["Fe"]
    Decimal('4.605')
    """
    positive(litres=litres, **grams)
    return {
        element: sum(
            (FOODS[name].mg[element] * amount / 100 for name, amount in grams.items()), Decimal(0)
        )
        / litres
        for element in ELEMENTS
    }


def richest(names: tuple[str, ...], element: str) -> Decimal:
    """The most of an element that any of these foods holds, in mg in 100 g."""
    return max(FOODS[name].mg[element] for name in names)


def at_most_of_kinds(oilseed_g: Decimal, pulse_g: Decimal, litres: Decimal) -> dict[str, Decimal]:
    """The most a litre can hold where only the kinds are known: each the richest of its kind.

    Raises:
        AmountError: an amount of zero or below.
    """
    positive(oilseed_g=oilseed_g, pulse_g=pulse_g, litres=litres)
    return {
        element: (richest(OILSEEDS, element) * oilseed_g + richest(PULSES, element) * pulse_g)
        / 100
        / litres
        for element in ELEMENTS
    }


def thinned(mg_per_l: Mapping[str, Decimal], water_parts: Decimal) -> dict[str, Decimal]:
    """The same after one part was mixed with so many parts of water.

    >>> thinned({"Fe": Decimal(22)}, Decimal(10))
    {'Fe': Decimal('2')}
    """
    return {element: mg / (1 + water_parts) for element, mg in mg_per_l.items()}


def g_per_ha(mg_per_l: Mapping[str, Decimal], l_per_ha: Decimal) -> dict[str, Decimal]:
    """Grams of each element on a hectare at so many litres of the mix.

    >>> g_per_ha({"N": Decimal(100)}, Decimal(200))
    {'N': Decimal('20')}
    """
    positive(l_per_ha=l_per_ha)
    return {element: mg * l_per_ha / 1000 for element, mg in mg_per_l.items()}


_MASS = {
    "H": Decimal("1.008"),
    "B": Decimal("10.81"),
    "O": Decimal("15.999"),
    "Na": Decimal("22.990"),
    "Mg": Decimal("24.305"),
    "S": Decimal("32.06"),
    "Cl": Decimal("35.45"),
    "Mn": Decimal("54.938"),
    "Fe": Decimal("55.845"),
    "Cu": Decimal("63.546"),
    "Zn": Decimal("65.38"),
}
"""Source: IUPAC standard atomic weights, abridged, from memory; checked against periodictable."""

_SALTS: Mapping[str, tuple[str, Mapping[str, int]]] = MappingProxyType(
    {
        "zinc_sulphate": ("Zn", {"Zn": 1, "S": 1, "O": 11, "H": 14}),
        "zinc_sulphate_monohydrate": ("Zn", {"Zn": 1, "S": 1, "O": 5, "H": 2}),
        "iron_sulphate": ("Fe", {"Fe": 1, "S": 1, "O": 11, "H": 14}),
        "iron_sulphate_monohydrate": ("Fe", {"Fe": 1, "S": 1, "O": 5, "H": 2}),
        "copper_sulphate": ("Cu", {"Cu": 1, "S": 1, "O": 9, "H": 10}),
        "copper_oxychloride": ("Cu", {"Cu": 2, "O": 3, "H": 3, "Cl": 1}),
        "copper_hydroxide": ("Cu", {"Cu": 1, "O": 2, "H": 2}),
        "copper_oxide": ("Cu", {"Cu": 2, "O": 1}),
        "manganese_sulphate": ("Mn", {"Mn": 1, "S": 1, "O": 5, "H": 2}),
        "magnesium_sulphate": ("Mg", {"Mg": 1, "S": 1, "O": 11, "H": 14}),
        "borax": ("B", {"Na": 2, "B": 4, "O": 17, "H": 20}),
        "boric_acid": ("B", {"B": 1, "O": 3, "H": 3}),
    }
)
"""The usual traded hydrate of each: zinc and iron 7 H2O, copper 5, manganese 1, magnesium 7.

Copper oxychloride is dicopper chloride trihydroxide, copper oxide the red one (Cu2O), as sold
against fungi. Formulas from memory, masses checked against periodictable.
"""

SALT_NAMES = tuple(_SALTS)


def share_of_metal(salt: str) -> Decimal:
    """The share of a pure salt's mass that is the element it is given for.

    Raises:
        KeyError: the salt is unknown.

    >>> round(share_of_metal("copper_sulphate"), 4)
    Decimal('0.2545')
    """
    element, atoms = _SALTS[salt]
    whole = sum((_MASS[each] * n for each, n in atoms.items()), Decimal(0))
    return _MASS[element] * atoms[element] / whole
