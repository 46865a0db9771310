"""Dilution against published worked examples, in both readings of a ratio."""

from fractions import Fraction

import pytest

from bot.craft.mixing import (
    Strength,
    mix_of,
    mix_of_tanks,
    ml_in,
    one_in,
    parts,
    percent,
    to_the_ml,
    water_parts_from,
)
from bot.recipes.reading import shipped
from tests.outside.check import Check, D, Mark

CDC = "CDC, Chlorine disinfectant solution preparation, App. E"
WHO = "WHO 2014, Infection prevention and control of ARI, Annex G Table G.1"
BLEACH = "sodium hypochlorite fact sheet (pdf4pro.com)"
REES = "Rees, Smith & Smith, Introduction to Pharmaceutical Calculations, Dilutions"
PHARMA = "pharmacalculation.com 2022/10"
HOUSTON = "University of Houston PHAR 4330"
FORUM = "protocol-online.org laboratory forum"
ARITHMETIC = "parts of a whole"
CUSTOM = "custom of growers who keep mother cultures"


def _row(
    id_: str,
    source: str,
    found: object,
    expected: object,
    tolerance: str = "0",
    mark: Mark = "seen",
) -> Check:
    return Check(id_, "dilution", source, mark, found, expected, tolerance)


def of(stock_percent: str, strength: Strength) -> Fraction:
    """The strength in percent that a stock has once it is thinned."""
    return Fraction(stock_percent) * strength.share


def stock_ml(mix_ml: int, wanted: str, stock: str) -> int:
    """The stock in a mix that brings it from one strength (a fraction) to a lower one."""
    strength = ml_in(D(1), D(int(Fraction(stock) / Fraction(wanted))))
    return mix_of(mix_ml, strength, rounding=to_the_ml).culture_ml


def _project_rows() -> list[Check]:
    rows: list[Check] = []
    for water, share, of_mix, of_water, in_15, in_16, error in (
        (2, "33.333", "333.33", "500.00", "5.000", "5.333", "1.5"),
        (3, "25.000", "250.00", "333.33", "3.750", "4.000", "1.333"),
        (5, "16.667", "166.67", "200.00", "2.500", "2.667", "1.2"),
        (10, "9.0909", "90.909", "100.00", "1.364", "1.455", "1.1"),
    ):
        strength = parts(1, water)
        exact = strength.share
        litre = mix_of(1_000_000, strength, rounding=to_the_ml).culture_ml / Fraction(1000)
        tank_15 = mix_of(15_000, strength, rounding=to_the_ml).culture_ml / Fraction(1000)
        tank_16 = mix_of(16_000, strength, rounding=to_the_ml).culture_ml / Fraction(1000)
        for name, found, expected in (
            ("percent", strength.percent, share),
            ("mL a litre of mix", litre, of_mix),
            ("mL a litre of water", exact / (1 - exact) * 1000, of_water),
            ("15-L tank", tank_15, in_15),
            ("16-L tank", tank_16, in_16),
            ("read as 1 in n", one_in(water).share / exact, error),
        ):
            rows.append(
                _row(
                    f"D table 1:{water} {name}",
                    ARITHMETIC,
                    found,
                    D(expected),
                    "0.0005",
                    mark="computed",
                )
            )
    return rows


def _custom_rows() -> list[Check]:
    uses = {(recipe.kind, use.name): use for recipe in shipped().values() for use in recipe.uses}
    rows = [
        ("seed unthinned", uses["mother", "seed"].water_parts, 0),
        ("seed half an hour", uses["mother", "seed"].minutes, 30),
        ("soil 1 + 2", uses["mother", "soil"].water_parts, 2),
        ("soil every 15 days", uses["mother", "soil"].every_days, 15),
        ("soil up to once a month", uses["mother", "soil"].every_days_most, 30),
        ("leaf 1 + 3", uses["mother", "leaf"].water_parts, 3),
        ("leaf every 10 days", uses["mother", "leaf"].every_days, 10),
        ("leaf 4 times", uses["mother", "leaf"].times, 4),
        ("brew on soil 1 + 5", uses["brew", "soil"].water_parts, 5),
        ("brew on leaves 1 + 10", uses["brew", "leaf"].water_parts, 10),
    ]
    mark: Mark = "common practice, no source"
    return [
        _row(f"custom {name}", CUSTOM, found, wanted, mark=mark) for name, found, wanted in rows
    ]


_own = mix_of_tanks(3, 16_000, parts(1, 3))

CHECKS: tuple[Check, ...] = (
    _row("D1 3.5 % to 0.5 %", CDC, water_parts_from(D("3.5"), D("0.5")), 6),
    _row("D1 5 % to 0.1 %", CDC, water_parts_from(D(5), D("0.1")), 49),
    _row("D1 the parts make that strength", CDC, of("3.5", parts(1, 6)), D("0.5")),
    _row("D2 powder", CDC, ml_in(D("0.5"), D(35)).share * 1000, D("14.3"), "0.005"),
    _row("D3 any measure", CDC, mix_of(4_000, parts(1, 3)).culture_ml * 4, 4_000),
    _row("D4 1:100 is 1 + 99", WHO, one_in(100).water_parts, 99),
    _row("D4 5 % to 0.05 %", WHO, of("5", one_in(100)), D("0.05")),
    _row("D4 500 ppm", WHO, of("5", one_in(100)) * 10_000, 500),
    _row("D4 2.5 % by 2 + 98", WHO, of("2.5", parts(2, 98)), D("0.05")),
    _row("D5 1:10 in all", BLEACH, of("5.25", one_in(10)), D("0.53"), "0.01"),
    _row("D5 1 + 10", BLEACH, of("5.25", parts(1, 10)), D("0.477"), "0.001", mark="computed"),
    _row("D6 1 + 39", REES, parts(1, 39).percent, D("2.5")),
    _row("D6 is 1 in 40", REES, one_in(40).share, parts(1, 39).share),
    _row("D7 1:400 is 0.25 %", PHARMA, one_in(400).percent, D("0.25")),
    _row("D7 5 L of 1:2000 from 1:400", PHARMA, stock_ml(5_000, "1/2000", "1/400"), 1_000),
    _row("D7 500 mL of 1:600 to 2 L", HOUSTON, one_in(600).share * 500 / 2_000, Fraction(1, 2400)),
    _row("D8 diluted 1:4 is one in four", FORUM, one_in(4).percent, 25),
    _row("D8 ratio 1:4 is one and four", FORUM, parts(1, 4).percent, 20),
    _row("D own culture a tank", ARITHMETIC, _own.fills[0].culture_ml, 4_000, mark="computed"),
    _row("D own water a tank", ARITHMETIC, _own.fills[0].water_ml, 12_000, mark="computed"),
    _row("D own culture in all", ARITHMETIC, _own.culture_ml, 12_000, mark="computed"),
    _row("D own water in all", ARITHMETIC, _own.water_ml, 36_000, mark="computed"),
    _row("D percent is parts", ARITHMETIC, percent(25).share, parts(1, 3).share, mark="computed"),
    *_project_rows(),
    *_custom_rows(),
)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_dilution_is_the_sources(check: Check) -> None:
    check.passes()
