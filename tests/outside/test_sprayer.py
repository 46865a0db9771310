"""Sprayer arithmetic against published worked examples, and against two published errors."""

from decimal import Decimal

import pytest

from bot.craft.drench import plants_reached
from bot.craft.sprayer import (
    ACRE_M2,
    JAR_PLOT_M2,
    KNAPSACK_VOLUMES,
    course_for,
    dose_per_tank,
    from_flow,
    from_jar,
    is_worn,
    refills,
    speed_from,
    tank_covers_m2,
    volume_class,
    walked,
)
from bot.craft.units import factor
from tests.outside.check import Check, D, Mark

PESTICIDEWISE = "pesticidewise.com, training step 5 of 6"
NSW = "NSW DPI, Calibration method for knapsack sprayers, INT09/35816, 28 Jul 2009, Part B"
IPARC = "Thornhill/IPARC, do-it-yourself knapsack calibrator (stewardshipcommunity.com)"
RAYS = "rayshorticulture.blogspot.com 2009/08"
NCSU = "NC State Extension, Backpack Sprayer Calibration Worksheet"
UF = "UF/IFAS Extension Alachua County, 4 Feb 2022"
SLIDES = "extension slides, the 1/128 method (slidegur.com/doc/5284)"
MESA = "Mesa County weed office, Colorado"
VIRGINIA = "Virginia Tech Extension 456-502, quoted in nafex 2009-03/00314"
ALBANY = "Albany County Weed & Pest, Wyoming"
FLORIDA = "Florida pest-control exam manual, p. 213"
TURF = "turfai.co.uk article 5270"
COCOA = "EU/ICCO cocoa Manual of Best Practices, 6.3.3"
IRRI = "IRRI Rice Knowledge Bank, Product required"
DROPDATA = "dropdata.org definitions, after Matthews, Pesticide Application Methods"
INDIA = "agricultureinindia.net, hydraulic knapsack"
WHO = "WHO, Manual for indoor residual spraying, 3rd ed. 2007"
ARITHMETIC = "arithmetic of the definitions"

FT, IN, MILE = factor("foot", "metre"), factor("inch", "metre"), factor("mile", "kilometre")
GAL, FL_OZ, QT = (factor(f"us_{unit}", "litre") for unit in ("gallon", "fluid_ounce", "quart"))
GPA = GAL / (ACRE_M2 / 10_000)
"""One US gallon an acre, in litres a hectare."""
SQUARE_FOOT = FT * FT
SQUARE_18_5 = D("18.5") * D("18.5") * SQUARE_FOOT


def ml(litres: Decimal) -> Decimal:
    return litres * 1000


def gpa(l_per_ha: Decimal) -> Decimal:
    return l_per_ha / GPA


def _row(
    id_: str,
    source: str,
    found: object,
    expected: object,
    tolerance: str = "0",
    mark: Mark = "seen",
) -> Check:
    return Check(id_, "sprayer", source, mark, found, expected, tolerance)


_course = walked(D("0.75"), D("33.3"), [D(50)], [D(500)])

CHECKS: tuple[Check, ...] = (
    _row("S1 rate", PESTICIDEWISE, _course.l_per_ha, 200, "0.005"),
    _row("S1 speed", PESTICIDEWISE, _course.km_per_h, D("2.4"), "0.005"),
    _row("S1 speed in m/s", PESTICIDEWISE, _course.km_per_h / D("3.6"), D("0.67"), "0.01"),
    _row("S1 flow", PESTICIDEWISE, _course.ml_per_min, 600, "0.005", mark="computed"),
    _row(
        "S1 first trial of 55 s",
        PESTICIDEWISE,
        from_flow(D("0.6"), speed_from(D("33.3"), D(55)), D("0.75")),
        220,
        "0.005",
        mark="computed",
    ),
    _row("S2", NSW, walked(D(1), D(10), [D(9)], [D(400)]).l_per_ha, 400),
    _row("S2 per 100 m²", NSW, walked(D(1), D(10), [D(9)], [D(400)]).ml_per_m2 / 10, 4),
    _row("S3", IPARC, walked(D("0.5"), D(20), [D(9)], [D(400)]).l_per_ha, 400),
    _row(
        "S4",
        RAYS,
        from_flow(
            sum((D("1.2"), D("1.0"), D("1.0"), D("0.92"), D("0.92")), D(0)) / 5,
            D(46) * 60 / 1000,
            D("0.51"),
        ),
        D("430.5"),
        "0.003",
    ),
    _row("S5", NCSU, course_for(6 * FT) / FT, 57, "0.01"),
    _row("S5 plot of 340 ft²", NCSU, JAR_PLOT_M2 / SQUARE_FOOT, 340, "0.001"),
    _row("S6", NCSU, gpa(from_jar(ml(FL_OZ * D("7.5")))), D("7.5"), "0.000001"),
    _row("S6 in litres", NCSU, from_jar(ml(FL_OZ * D("7.5"))), D("70.2"), "0.001", mark="computed"),
    _row(
        "S7 per tank",
        NCSU,
        dose_per_tank(8 / (ACRE_M2 / 10_000), D("7.5") * GPA, int(ml(3 * GAL))),
        D("3.2"),
        "0.001",
    ),
    _row(
        "S7 a gallon",
        NCSU,
        dose_per_tank(8 / (ACRE_M2 / 10_000), D("7.5") * GPA, int(ml(GAL))),
        D("1.06"),
        "0.01",
    ),
    _row("S7 millilitres", NCSU, D("3.2") * ml(FL_OZ), 96, "0.02"),
    _row("S8", UF, gpa(from_jar(ml(FL_OZ * 25))), 25, "0.000001"),
    _row("S8 in litres", UF, from_jar(ml(FL_OZ * 25)), D("233.8"), "0.001", mark="computed"),
    _row("S9 plot", SLIDES, SQUARE_18_5 / JAR_PLOT_M2, 1, "0.01"),
    _row("S9 rate", SLIDES, gpa(from_jar(ml(FL_OZ * 40), SQUARE_18_5)), 40, "0.01"),
    _row(
        "S9 a gallon covers",
        SLIDES,
        tank_covers_m2(int(ml(GAL)), 40 * GPA) / SQUARE_FOOT,
        1089,
        "0.001",
    ),
    _row(
        "S9 product a gallon",
        SLIDES,
        dose_per_tank(QT / (ACRE_M2 / 10_000), 40 * GPA, int(ml(GAL))) / FL_OZ,
        D("0.8"),
        "0.01",
    ),
    _row("S10 rate", MESA, gpa(from_jar(ml(FL_OZ * 150), SQUARE_18_5)), 150, "0.01"),
    _row(
        "S10 tank covers",
        MESA,
        tank_covers_m2(int(ml(25 * GAL)), 150 * GPA) / ACRE_M2 * 6,
        1,
        "0.001",
    ),
    _row(
        "S11",
        VIRGINIA,
        gpa(from_jar(ml(D("1.5") * GAL), 1000 * SQUARE_FOOT)),
        65,
        "0.01",
        mark="quoted",
    ),
    _row(
        "S12",
        ALBANY,
        gpa(from_flow(480 * FL_OZ, 5 * MILE, 222 * IN)),
        20,
        "0.005",
    ),
    _row("S13", FLORIDA, gpa(from_jar(ml(12 * GAL), 660 * FT * 10 * FT)), D("79.2"), "0.0001"),
    _row("S14", TURF, speed_from(D(100), D(90)), 4),
    _row("S15 twelve tanks", COCOA, refills(D(10_000), D(180), 15_000).full, 12),
    _row("S15 product a tank", COCOA, dose_per_tank(D(12), D(180), 15_000), 1),
    _row("S15 trees", COCOA, plants_reached(15_000, D(5_000)), 3),
    _row("S16", IRRI, dose_per_tank(D(2), D(200), 500_000), 5),
    _row("S17 field high", DROPDATA, volume_class(D(601)), "high"),
    _row("S17 field medium", DROPDATA, volume_class(D(400)), "medium"),
    _row("S17 field low", DROPDATA, volume_class(D(100)), "low"),
    _row("S17 field very low", DROPDATA, volume_class(D(10)), "very_low"),
    _row("S17 field ultra low", DROPDATA, volume_class(D(4)), "ultra_low"),
    _row("S17 trees high", DROPDATA, volume_class(D(1001), trees=True), "high"),
    _row("S17 trees medium", DROPDATA, volume_class(D(700), trees=True), "medium"),
    _row("S17 trees low", DROPDATA, volume_class(D(300), trees=True), "low"),
    _row("S17 trees very low", DROPDATA, volume_class(D(100), trees=True), "very_low"),
    _row("S17 trees ultra low", DROPDATA, volume_class(D(40), trees=True), "ultra_low"),
    _row("S18 lowest within", INDIA, str(KNAPSACK_VOLUMES[2].low_l_per_ha >= 250), "True"),
    _row("S18 highest within", INDIA, str(KNAPSACK_VOLUMES[3].high_l_per_ha <= 600), "True"),
    _row(
        "S19 fills of 15 L",
        ARITHMETIC,
        refills(D(10_000), D(200), 15_000).tanks,
        14,
        mark="computed",
    ),
    _row(
        "S19 last of 15 L",
        ARITHMETIC,
        refills(D(10_000), D(200), 15_000).last_ml,
        5_000,
        mark="computed",
    ),
    _row(
        "S19 fills of 16 L",
        ARITHMETIC,
        refills(D(10_000), D(200), 16_000).tanks,
        13,
        mark="computed",
    ),
    _row(
        "S19 last of 16 L",
        ARITHMETIC,
        refills(D(10_000), D(200), 16_000).last_ml,
        8_000,
        mark="computed",
    ),
    _row(
        "S20 by flow",
        WHO,
        from_flow(D("0.757"), D("19") * 60 / 1000, D(1)) / 10,
        40,
        "0.02",
        mark="from memory",
    ),
    _row("S21 per 100 m²", FLORIDA, from_jar(D(4_000), D(100)), 400),
    _row("S21 eleven percent off is worn", FLORIDA, str(is_worn(D(111), D(100))), "True"),
    _row("S21 ten percent off is not", FLORIDA, str(is_worn(D(110), D(100))), "False"),
    _row("SF metric constant", ARITHMETIC, from_flow(D(1), D(1), D(1)), 600, mark="computed"),
    _row(
        "SF US constant",
        ARITHMETIC,
        gpa(from_flow(GAL, MILE, IN)),
        5940,
        "0.000001",
        mark="computed",
    ),
    _row(
        "SF jar plot",
        ARITHMETIC,
        JAR_PLOT_M2 / SQUARE_FOOT,
        D("340.3125"),
        "1e-12",
        mark="computed",
    ),
    _row("SF gallon an acre", ARITHMETIC, GPA, D("9.353956"), "1e-6", mark="computed"),
    _row(
        "SF imperial gallon an acre",
        ARITHMETIC,
        factor("imperial_gallon", "litre") / (ACRE_M2 / 10_000),
        D("11.233633"),
        "1e-6",
        mark="computed",
    ),
)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_sprayer_figure_is_the_sources(check: Check) -> None:
    check.passes()


def test_a_published_plot_of_8_5_by_18_5_feet_is_no_128th_of_an_acre() -> None:
    """The Alachua page prints 8.5 x 18.5 ft; that is 157 ft², less than half of the plot."""
    printed = D("8.5") * D("18.5") * SQUARE_FOOT
    assert printed / SQUARE_FOOT == D("157.25")
    assert printed * 2 < JAR_PLOT_M2
    assert abs(D("18.5") * D("18.5") * SQUARE_FOOT / JAR_PLOT_M2 - 1) < D("0.006")


def test_a_published_327_gallons_an_acre_forgot_feet_per_minute() -> None:
    """The Florida manual divides by 5 instead of 5 x 88 for 0.15 gpm, 48 in, 5 mph."""
    right = gpa(from_flow(D("0.15") * GAL, 5 * MILE, 48 * IN))
    assert abs(right - D("3.7125")) < D("0.00001")
    assert abs(right * 88 - D("327")) < D("0.5")
