"""Units against NIST and other published sizes, and against pint's own definitions."""

from decimal import Decimal
from typing import Any

import pint
import pytest

from bot.craft.units import Quantity, factor, settle
from tests.outside.check import Check, D, Mark

NIST = "NIST SP 811, App. B"
CFR = "21 CFR 101.9(b)(5)(viii), quoted in ucum.org ticket 120"
COOKING = "liquisearch, US customary units, cooking measures"
PINT = "pint 0.25.3, its own definitions"

LAND_RECORDS = "landrecords.co.in"
GUNTHA = "accommodationtimes.com"
EXAMBOARD = "examboard.in, land units by state"
FRONTDESK = "Department of Land Resources list, copy"
NEPAL = "panchthar.dolrm.gov.np, Government of Nepal"
JOSHI = "nirmaljoshi.wordpress.com 2009"
WIKI = "Wikipedia, Bigha"
EVISION = "evisionbd, Bangladesh"
CIVILSIR = "civilsir, Patna"
RAWNEXT = "rawnext 2013"
UN = "United Nations 1966 list (sizes.com/units/manzana)"
CHARITY = "charitylook, tarea"
FEDDAN = "Wikipedia, Feddan, after Lyons 1907"
JERIB = "Wikipedia copy, Jerib"
MEMORY = "national metric definitions"


def _row(
    id_: str,
    source: str,
    found: object,
    expected: str,
    tolerance: str = "0",
    mark: Mark = "seen",
    topic: str = "units",
) -> Check:
    return Check(id_, topic, source, mark, found, D(expected), tolerance)


def _land(
    id_: str, source: str, unit: str, size_m2: str, tolerance: str = "1e-5", mark: Mark = "seen"
) -> Check:
    return _row(id_, source, factor(unit, "square_metre"), size_m2, tolerance, mark, "land units")


def celsius(fahrenheit: str) -> Decimal:
    return Quantity(D(fahrenheit), "degree_fahrenheit").to("degree_celsius").value


CHECKS: tuple[Check, ...] = (
    _row("U1 US gallon", NIST, factor("us_gallon", "cubic_metre"), "3.785412e-3", "1e-6"),
    _row("U2 imperial gallon", NIST, factor("imperial_gallon", "litre"), "4.54609"),
    _row("U3 US fluid ounce", NIST, factor("us_fluid_ounce", "millilitre"), "29.57353", "1e-7"),
    _row(
        "U3 imperial fluid ounce",
        NIST,
        factor("imperial_fluid_ounce", "millilitre"),
        "28.41306",
        "1e-6",
    ),
    _row("U4 US cup", NIST, factor("us_cup", "millilitre"), "236.5882", "1e-6"),
    _row("U4 US tablespoon", NIST, factor("us_tablespoon", "millilitre"), "14.78676", "1e-6"),
    _row("U4 US teaspoon", NIST, factor("us_teaspoon", "millilitre"), "4.928922", "1e-6"),
    _row("U5 US pint", NIST, factor("us_pint", "millilitre"), "473.1765", "1e-6"),
    _row("U5 US quart", NIST, factor("us_quart", "millilitre"), "946.3529", "1e-6"),
    _row("U5 bushel", NIST, factor("us_bushel", "litre"), "35.23907", "1e-6"),
    _row("U6 label tablespoon", CFR, factor("metric_tablespoon", "millilitre"), "15"),
    _row("U6 label teaspoon", CFR, factor("metric_teaspoon", "millilitre"), "5"),
    _row("U6 label ounce", CFR, factor("ounce", "gram"), "28", "0.02"),
    _row(
        "U7 Australian tablespoon",
        COOKING,
        factor(settle("tablespoon", "AU"), "millilitre"),
        "20",
        mark="quoted",
    ),
    _row(
        "U7 Australian cup",
        COOKING,
        factor(settle("cup", "AU"), "millilitre"),
        "250",
        mark="quoted",
    ),
    _row(
        "U7 Canadian tablespoon",
        COOKING,
        factor(settle("tablespoon", "CA"), "millilitre"),
        "15",
        mark="quoted",
    ),
    _row(
        "U7 imperial cup",
        COOKING,
        factor("imperial_cup", "millilitre"),
        "284.13",
        "1e-5",
        mark="quoted",
    ),
    _row(
        "U8 survey acre, 4 in a million off",
        NIST,
        factor("acre", "square_metre"),
        "4046.873",
        "5e-6",
    ),
    _row(
        "U8 international acre",
        NIST,
        factor("acre", "square_metre"),
        "4046.8564224",
        mark="computed",
    ),
    _row("U10 hectare", NIST, factor("hectare", "square_metre"), "10000"),
    _row("U10 hectare in acres", NIST, factor("hectare", "acre"), "2.4710538", "1e-7"),
    _row("U11 131 °F", NIST, celsius("131"), "55"),
    _row("U11 170 °F", NIST, celsius("170"), "76.667", "1e-5"),
    _row(
        "U12 pound an acre",
        PINT,
        factor("pound", "kilogram") / factor("acre", "hectare"),
        "1.12085",
        "1e-5",
    ),
    _row(
        "U12 fluid ounce an acre",
        PINT,
        factor("us_fluid_ounce", "millilitre") / factor("acre", "hectare"),
        "73.078",
        "1e-5",
    ),
    _row("U13 foot", NIST, factor("foot", "metre"), "0.3048"),
    _row("U13 inch", NIST, factor("inch", "metre"), "0.0254"),
    _row("U13 yard", NIST, factor("yard", "metre"), "0.9144"),
    _row("U13 mile", NIST, factor("mile", "metre"), "1609.344"),
    _row("U13 pound", NIST, factor("pound", "kilogram"), "0.45359237"),
    _row("U13 ounce", NIST, factor("ounce", "gram"), "28.34952", "1e-6"),
    _row("U13 square foot", NIST, factor("square_foot", "square_metre"), "0.09290304"),
    _row("U13 square yard", NIST, factor("square_yard", "square_metre"), "0.8361274", "1e-6"),
    _row("U13 square mile", NIST, factor("square_mile", "square_metre"), "2.589988e6", "1e-6"),
    _row("U13 cubic foot", NIST, factor("cubic_foot", "cubic_metre"), "2.831685e-2", "1e-6"),
    # --- land, each source its own row ---------------------------------------------------------
    _land("L cent", LAND_RECORDS, "cent", "40.4686"),
    _land("L guntha", GUNTHA, "guntha", "101.1714"),
    _land("L kanal", EXAMBOARD, "kanal", "505.857"),
    _land("L marla", EXAMBOARD, "marla", "25.2929"),
    _land("L bigha pucca", FRONTDESK, "bigha_pucca", "2529.285"),
    _land("L bigha gantari", FRONTDESK, "bigha_gantari", "1618.743"),
    _land("L bigha of Bengal", EXAMBOARD, "bigha_bengal", "1337.804"),
    _land("L bigha of Assam", WIKI, settle("bigha", "IN-AS"), "1337.804"),
    _land("L bigha of Bangladesh", EVISION, "bigha_bangladesh", "1348.952"),
    _land("L bigha of Himachal", EXAMBOARD, "bigha_himachal", "809.371"),
    _land("L bigha of Uttarakhand", EXAMBOARD, "bigha_uttarakhand", "752.515"),
    _land("L bigha kachha", EXAMBOARD, "bigha_kachha", "843.1", "1e-4"),
    _land("L bigha of Nepal", NEPAL, "bigha_nepal", "6772.632"),
    _land("L katha of Nepal", NEPAL, "katha_nepal", "338.632", "2e-6"),
    _land("L katha of Bengal", EXAMBOARD, "katha_bengal", "66.890"),
    _land("L katha of Assam", WIKI, "katha_assam", "267.561"),
    _land("L katha of Patna", CIVILSIR, "katha_bihar", "126.464"),
    _land("L dhur of Nepal", NEPAL, "dhur_nepal", "16.932", "1e-4"),
    _land("L lessa", WIKI, "lessa", "13.378"),
    _land("L ropani", NEPAL, "ropani", "508.737"),
    _land("L ropani as printed", JOSHI, "ropani", "508.72", "1e-4"),
    _land("L aana", JOSHI, "aana", "31.796"),
    _land("L kani", RAWNEXT, "kani_small", "1605.36"),
    _land("L manzana", UN, "manzana_central", "6988.96", "0.01"),
    _land("L manzana, highest printed", UN, "manzana_central", "7056", "0.01"),
    _land("L manzana of Belize", UN, "manzana_belize", "8353"),
    _land("L tarea", CHARITY, "tarea", "628.86"),
    _land("L feddan", FEDDAN, "feddan", "4200"),
    _land("L kirat", FEDDAN, "kirat", "175"),
    _land("L jerib", JERIB, "jerib", "2000"),
    _land("L rai", MEMORY, "rai", "1600", mark="from memory"),
    _land("L mu", MEMORY, "mu", "666.667", mark="from memory"),
    _land("L dunam", MEMORY, "dunam_metric", "1000", mark="from memory"),
    _row(
        "L ropani in a bigha of Nepal",
        JOSHI,
        factor("bigha_nepal", "ropani"),
        "13.31",
        "1e-3",
        topic="land units",
    ),
    _row("L gunthas in an acre", GUNTHA, factor("acre", "guntha"), "40", topic="land units"),
    _row("L marlas in a kanal", EXAMBOARD, factor("kanal", "marla"), "20", topic="land units"),
    _row("L kanals in an acre", EXAMBOARD, factor("acre", "kanal"), "8", topic="land units"),
    _row(
        "L largest bigha by smallest",
        NEPAL,
        factor("bigha_nepal", "bigha_uttarakhand"),
        "9",
        topic="land units",
    ),
)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_unit_is_the_sources(check: Check) -> None:
    check.passes()


REGISTRY: Any = pint.UnitRegistry(non_int_type=Decimal)


@pytest.mark.parametrize(
    ("ours", "theirs", "into"),
    [
        ("us_gallon", "gallon", "liter"),
        ("us_quart", "quart", "liter"),
        ("us_pint", "pint", "liter"),
        ("us_cup", "cup", "liter"),
        ("us_fluid_ounce", "fluid_ounce", "liter"),
        ("us_tablespoon", "tablespoon", "liter"),
        ("us_teaspoon", "teaspoon", "liter"),
        ("us_bushel", "bushel", "liter"),
        ("imperial_gallon", "imperial_gallon", "liter"),
        ("imperial_quart", "imperial_quart", "liter"),
        ("imperial_pint", "imperial_pint", "liter"),
        ("imperial_cup", "imperial_cup", "liter"),
        ("imperial_fluid_ounce", "imperial_fluid_ounce", "liter"),
        ("cubic_foot", "foot ** 3", "liter"),
        ("hectare", "hectare", "meter ** 2"),
        ("square_yard", "yard ** 2", "meter ** 2"),
    ],
)
def test_our_definitions_are_pints_own(ours: str, theirs: str, into: str) -> None:
    wanted = REGISTRY.Quantity(Decimal(1), theirs).to(into).magnitude
    si = "litre" if into == "liter" else "square_metre"
    assert abs(factor(ours, si) - wanted) < Decimal("1e-15") * wanted


def test_pints_acre_is_the_survey_acre_and_ours_is_not() -> None:
    theirs = REGISTRY.Quantity(Decimal(1), "acre").to("meter ** 2").magnitude
    ours = factor("acre", "square_metre")
    assert Decimal("3e-6") < (theirs - ours) / ours < Decimal("5e-6")


def test_a_published_lessa_five_times_too_large_is_not_taken() -> None:
    """One list prints 5 lessa as 720 ft² and a bigha as 2880 ft²; a katha is 20 lessa."""
    assert factor("katha_assam", "lessa") == 20
    assert factor(settle("bigha", "IN-AS"), "lessa") == 100


def test_a_published_acre_with_swapped_digits_is_not_taken() -> None:
    """A compilation prints 1 acre = 4067.23 m²; another 121 square yards; another 404.68 ac/ha."""
    assert abs(factor("acre", "square_metre") - Decimal("4067.23")) > 20
    assert factor("acre", "square_yard") == 4840
    assert factor("hectare", "acre") < Decimal("2.5")
