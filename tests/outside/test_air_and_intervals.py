"""Gas, intervals to harvest and refused minerals against published figures."""

from decimal import Decimal

import periodictable
import pytest
from scipy import constants

from bot.craft.crops import Crop
from bot.craft.gas import (
    CO2_KG_PER_KG_SUCROSE,
    LIMIT_PPM,
    SHORT_LIMIT_PPM,
    added_ppm,
    co2_litres,
)
from bot.craft.interval import interval, is_refused
from bot.craft.seed import SHADE
from bot.recipes.reading import shipped
from tests.outside.check import Check, D, Mark

NIOSH = "NIOSH pel88 124-38"
MASSES = "formula masses (periodictable) and the molar gas constant (scipy)"
IFCT = "Indian Food Composition Tables 2017, I001"
NOP = "7 CFR 205.203(c)(1)"
TEA = "21 CFR 112.51(b), proposed-rule digest"
TEA_USE = "21 CFR 112.56(a)(1)"
RECKNAGEL = "Recknagel, Radant & Kohlmeyer 2014, Waste Mgmt 34:156"
EPA = "US EPA household hazardous waste (webarchive.library.unt.edu)"
ALLOYS = "free-cutting brass and galvanising hold lead"
SARANRAJ = "microsaranraj.blogspot 2023"

MOTHER = shipped()["mother"]
ON_SOIL, CLEAR = Crop("x", soil=True), Crop("x", soil=False)
COOKED, FODDER = Crop("x", raw=False), Crop("x", food=False)


def _row(
    id_: str,
    source: str,
    found: object,
    expected: object,
    tolerance: str = "0",
    mark: Mark = "seen",
    topic: str = "air",
) -> Check:
    return Check(id_, topic, source, mark, found, expected, tolerance)


def mass(formula: str) -> Decimal:
    return Decimal(str(periodictable.formula(formula).mass))


def _gas_litres(moles: Decimal, celsius: float) -> Decimal:
    return moles * Decimal(str(constants.R * (celsius + 273.15) / 101.325))


_by_mass = 4 * mass("CO2") / mass("C12H22O11")

CHECKS: tuple[Check, ...] = (
    _row("A1 a working day", NIOSH, LIMIT_PPM, 5_000),
    _row("A1 a quarter of an hour", NIOSH, SHORT_LIMIT_PPM, 30_000),
    _row(
        "A2 gas a kilogram of sugar",
        MASSES,
        CO2_KG_PER_KG_SUCROSE,
        _by_mass,
        "0.0002",
        mark="computed",
    ),
    _row("A2 litres", MASSES, co2_litres(D(1000)), D("285.9"), "0.001", mark="computed"),
    _row(
        "A2 litres by the gas constant",
        MASSES,
        co2_litres(D(1000)),
        _gas_litres(4 * 1000 / mass("C12H22O11"), 25),
        "0.0005",
        mark="computed",
    ),
    # 84.3 g sugars in 100 g of jaggery: sucrose 58.23, glucose and fructose 26.1
    _row("A3 a kilogram of jaggery", IFCT, co2_litres(D(843)), 237, "0.02", mark="computed"),
    _row("A4 a closed room", MASSES, added_ppm(D(1000), D(20)), 14_295, "0.001", mark="computed"),
    _row(
        "A4 times the limit",
        MASSES,
        added_ppm(D(1000), D(20)) / LIMIT_PPM,
        D("2.9"),
        "0.02",
        mark="computed",
    ),
    # 20 g of sugar at 30 °C into 2 L of gas space, none dissolved
    _row(
        "A5 bar in a sealed drum",
        MASSES,
        co2_litres(D(20), D(30)) / 2 * D("1.01325"),
        D("2.95"),
        "0.01",
        mark="computed",
    ),
    _row(
        "H4 touching soil",
        NOP,
        interval(MOTHER, ON_SOIL, "leaf", "raw_manure_days").days,
        120,
        topic="intervals",
    ),
    _row(
        "H4 clear of soil",
        NOP,
        interval(MOTHER, CLEAR, "leaf", "raw_manure_days").days,
        90,
        topic="intervals",
    ),
    _row(
        "H4 not for people",
        NOP,
        interval(MOTHER, FODDER, "leaf", "raw_manure_days").days,
        0,
        topic="intervals",
    ),
    _row(
        "T1 a tea with sugar is untreated",
        TEA,
        interval(MOTHER, ON_SOIL, "leaf", "us_tea").reason,
        "us_tea_untreated",
        mark="quoted",
        topic="intervals",
    ),
    _row(
        "T2 untreated does not touch it",
        TEA_USE,
        str(interval(MOTHER, ON_SOIL, "leaf", "us_tea").may_touch),
        "False",
        topic="intervals",
    ),
    _row(
        "T2 no days if it never touches",
        TEA_USE,
        interval(MOTHER, ON_SOIL, "soil", "us_tea").days,
        0,
        topic="intervals",
    ),
    _row(
        "T what is cooked",
        TEA,
        interval(MOTHER, COOKED, "leaf", "us_tea").days,
        0,
        mark="quoted",
        topic="intervals",
    ),
    _row("X1 dry cells", RECKNAGEL, str(is_refused("dry_cell")), "True", topic="minerals"),
    _row("X4 lead in cell zinc", RECKNAGEL, str(is_refused("lead")), "True", topic="minerals"),
    _row(
        "X5 brass", ALLOYS, str(is_refused("brass")), "True", mark="from memory", topic="minerals"
    ),
    _row(
        "X5 galvanised scrap",
        ALLOYS,
        str(is_refused("galvanised_scrap")),
        "True",
        mark="from memory",
        topic="minerals",
    ),
    _row("X7 batteries", EPA, str(is_refused("battery")), "True", topic="minerals"),
    _row("B2 half an hour in shade", SARANRAJ, int(SHADE.total_seconds()) // 60, 30, topic="seed"),
)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_air_and_intervals_are_the_sources(check: Check) -> None:
    check.passes()
