"""Compost, nutrients and copper against Cornell, the CFR, USDA figures and periodictable."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import periodictable
import pytest

from bot.craft import copper
from bot.craft.compost import (
    CN_IDEAL,
    FEEDSTOCKS,
    MOISTURE_IDEAL,
    Material,
    add_for_cn,
    add_for_moisture,
    carbon_from_ash,
    cn,
    moisture,
)
from bot.craft.copper import LIMIT_KG_PER_HA, LIMIT_YEARS, Load
from bot.craft.entries import Entry, Head
from bot.craft.heap import HOT_FROM_C, HOT_UNTIL_C, fold
from bot.craft.nutrients import FOODS, at_most_mg_per_l, g_per_ha, share_of_metal, thinned
from bot.craft.units import Quantity
from tests.outside.check import Check, D, Mark

CORNELL = "Cornell Waste Management Institute, compost calculations, 1996"
WISCONSIN = "Univ. of Wisconsin CIAS worksheet (studylib 7712348), weighted by dry matter"
HANDBOOK = "The Composting Handbook, Table 4.2"
GOTAAS = "Gotaas 1956, in Polprasert, eq. 3.6"
GOLUEKE = "Golueke 1972, in Polprasert, Table 3.1"
NRAES = "NRAES-54 (1992) App. A"
CFR = "7 CFR 205.203(c)(2)"
USDA = "USDA SR27 abbreviated file and SR28 FOOD_DES factors"
TABLE = "periodictable, formula masses"
GRADES = "NOFA soil manual, traded grades"
IITK = "agropedia.iitk.ac.in, basmati zinc spray"
ICAR = "rkmp.co.in (ICAR-DRR), zinc spray"
AGRIINFO = "agriinfo.in, micro-nutrients"
EU = "Reg. (EU) 2018/1981, OJ L 317, 14.12.2018, p. 16"

GRASS = Material(D(10), D("2.4"), D(45), D(77))
LEAVES = Material(D(1), D("0.75"), D(50), D(35))
WET_MANURE = Material(D(1), D("2.4"), D("2.4") * 15, D(81))
STALKS = Material(D(1), D("0.7"), D("0.7") * 65, D(12))
MANURE = Material(D(1), D("2.4"), D("2.4") * 19, D(81))
STRAW = Material(D(1), D("0.7"), D("0.7") * 80, D(12))
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)

_LEAVES_FOR_WATER = add_for_moisture(GRASS, LEAVES, D(60)) or D(0)
_LEAVES_FOR_CN = add_for_cn(GRASS, LEAVES, D(30)) or D(0)
_STRAW_FOR_CN = add_for_cn(MANURE, STRAW, D(30)) or D(0)


def _more(one: Material, kg: Decimal) -> Material:
    return Material(kg, one.n_percent, one.c_percent, one.moisture)


def _heap(days: int, turnings: int, *, vessel: bool = False) -> str:
    entries = [Entry("heap", NOON, {"vessel": vessel})]
    for day in range(days):
        on = (date(2026, 3, 2) + timedelta(days=day)).isoformat()
        entries.append(Entry("heap_temperature", NOON, {"celsius": 55, "on": on}))
        if day < turnings:
            entries.append(Entry("heap_turned", NOON, {"on": on}))
    return fold(Head("h", "heap", "H1", "g", NOON), entries).status


def _formula(text: str, element: str) -> float:
    return float(periodictable.formula(text).mass_fraction[getattr(periodictable, element)])


def _c(
    id_: str,
    source: str,
    found: object,
    expected: object,
    tolerance: str = "0",
    mark: Mark = "seen",
    topic: str = "compost",
) -> Check:
    return Check(id_, topic, source, mark, found, expected, tolerance)


_SALTS = (
    ("zinc_sulphate", "ZnSO4(H2O)7", "Zn"),
    ("zinc_sulphate_monohydrate", "ZnSO4(H2O)", "Zn"),
    ("iron_sulphate", "FeSO4(H2O)7", "Fe"),
    ("iron_sulphate_monohydrate", "FeSO4(H2O)", "Fe"),
    ("copper_sulphate", "CuSO4(H2O)5", "Cu"),
    ("copper_oxychloride", "Cu2(OH)3Cl", "Cu"),
    ("copper_hydroxide", "Cu(OH)2", "Cu"),
    ("copper_oxide", "Cu2O", "Cu"),
    ("manganese_sulphate", "MnSO4(H2O)", "Mn"),
    ("magnesium_sulphate", "MgSO4(H2O)7", "Mg"),
    ("borax", "Na2B4O7(H2O)10", "B"),
    ("boric_acid", "H3BO3", "B"),
)

_ZINC_SPRAY = share_of_metal("zinc_sulphate") * 5  # 5 g in a litre
_COPPER_SPRAY_KG = share_of_metal("copper_sulphate") * 2 * 500 / 1000

CHECKS = (
    _c("K2", CORNELL, _LEAVES_FOR_WATER, D("6.8"), "0.01"),
    _c("K3", CORNELL, _LEAVES_FOR_CN, D("3.5"), "0.01", "from memory"),
    _c(
        "K3-moisture",
        CORNELL,
        moisture([GRASS, _more(LEAVES, D("3.474"))]),
        D("66.2"),
        "0.001",
        "computed",
    ),
    _c(
        "K3-wet",
        CORNELL,
        cn([GRASS, _more(LEAVES, _LEAVES_FOR_WATER)]),
        D("36.7"),
        "0.005",
        "computed",
    ),
    _c("K5", WISCONSIN, cn([_more(WET_MANURE, D(2)), STALKS]), D("35.2"), "0.002", "computed"),
    _c(
        "K5-wet", WISCONSIN, moisture([_more(WET_MANURE, D(2)), STALKS]), D(58), "0.001", "computed"
    ),
    _c("K6", CORNELL, _STRAW_FOR_CN, D("0.163"), "0.005", "computed"),
    _c(
        "K6-wet",
        CORNELL,
        moisture([MANURE, _more(STRAW, D("0.163"))]),
        D("71.3"),
        "0.002",
        "computed",
    ),
    _c("K7-cn-low", HANDBOOK, CN_IDEAL[0], 25),
    _c("K7-cn-high", HANDBOOK, CN_IDEAL[1], 40),
    _c("K7-moisture-low", HANDBOOK, MOISTURE_IDEAL[0], 50),
    _c("K7-moisture-high", HANDBOOK, MOISTURE_IDEAL[1], 60),
    _c("ash", GOTAAS, carbon_from_ash(D(20)), D("44.44"), "0.0002"),
    _c("A-cow", GOLUEKE, FEEDSTOCKS["cow_manure"][1].cn, 18),
    _c("A-oat", GOLUEKE, FEEDSTOCKS["oat_straw"][1].cn, 48),
    _c("A-horse", GOLUEKE, FEEDSTOCKS["horse_manure"][1].cn, 25),
    _c("C-cow", NRAES, FEEDSTOCKS["cow_manure"][0].cn, 19, "0", "from memory"),
    _c("C-straw", NRAES, FEEDSTOCKS["wheat_straw"][0].cn, 80, "0", "from memory"),
    _c("H2-low", CFR, Quantity(D(131), "degree_fahrenheit").to("degree_celsius").value, HOT_FROM_C),
    _c(
        "H2-high",
        CFR,
        Quantity(D(170), "degree_fahrenheit").to("degree_celsius").value,
        HOT_UNTIL_C,
        "0.001",
    ),
    _c("H2-3-days", CFR, _heap(3, 0, vessel=True), "logged"),
    _c("H2-2-days", CFR, _heap(2, 0, vessel=True), "under_way"),
    _c("H3-15-5", CFR, _heap(15, 5), "logged"),
    _c("H3-15-4", CFR, _heap(15, 4), "under_way"),
    _c("H8-none", CFR, _heap(0, 0), "raw", "0", "computed"),
    _c("N-mustard", USDA, FOODS["mustard"].mg["N"], 4830, "0.001", topic="nutrients"),
    _c("N-sesame", USDA, FOODS["sesame"].mg["N"], 3345, "0.001", topic="nutrients"),
    _c("N-groundnut", USDA, FOODS["groundnut"].mg["N"], 4725, "0.001", topic="nutrients"),
    _c("N-soybean", USDA, FOODS["soybean"].mg["N"], 6391, "0.001", "from memory", "nutrients"),
    _c("N-lentil", USDA, FOODS["lentil"].mg["N"], 3941, "0.001", topic="nutrients"),
    _c(
        "mustard-Zn",
        USDA,
        at_most_mg_per_l({"mustard": D(1000)}, D(20))["Zn"],
        D("3.0"),
        "0.02",
        "computed",
        "nutrients",
    ),
    _c(
        "mustard-Fe",
        USDA,
        at_most_mg_per_l({"mustard": D(1000)}, D(20))["Fe"],
        D("4.6"),
        "0.002",
        "computed",
        "nutrients",
    ),
    _c(
        "mustard-Cu",
        USDA,
        at_most_mg_per_l({"mustard": D(1000)}, D(20))["Cu"],
        D("0.32"),
        "0.01",
        "computed",
        "nutrients",
    ),
    _c(
        "thinned",
        USDA,
        thinned({"Fe": D("4.4")}, D(10))["Fe"],
        D("0.4"),
        "0",
        "computed",
        "nutrients",
    ),
    *(
        _c(
            f"salt-{salt}",
            TABLE,
            share_of_metal(salt),
            _formula(text, element),
            "0.001",
            "computed",
            "nutrients",
        )
        for salt, text, element in _SALTS
    ),
    _c(
        "zinc-hepta",
        GRADES,
        share_of_metal("zinc_sulphate") * 100,
        D("22.74"),
        "0.001",
        "computed",
        "nutrients",
    ),
    _c("N1", IITK, _ZINC_SPRAY, D("1.137"), "0.001", "computed", "nutrients"),
    _c(
        "N1-ha",
        IITK,
        g_per_ha({"Zn": _ZINC_SPRAY * 1000}, D(1000))["Zn"],
        1137,
        "0.001",
        "computed",
        "nutrients",
    ),
    _c(
        "N2",
        ICAR,
        share_of_metal("zinc_sulphate") * 2,
        D("0.455"),
        "0.001",
        "computed",
        "nutrients",
    ),
    _c(
        "N3",
        AGRIINFO,
        share_of_metal("copper_sulphate") * 2,
        D("0.509"),
        "0.001",
        "computed",
        "nutrients",
    ),
    _c("N7-limit", EU, LIMIT_KG_PER_HA, 28, topic="copper"),
    _c("N7-mean", EU, LIMIT_KG_PER_HA / LIMIT_YEARS, 4, topic="copper"),
    _c("N7-spray", EU, _COPPER_SPRAY_KG, D("0.2545"), "0.001", "computed", "copper"),
    _c("N7-sprays", EU, int(LIMIT_KG_PER_HA / _COPPER_SPRAY_KG), 110, "0", "computed", "copper"),
    _c(
        "N7-over",
        EU,
        copper.left([Load(date(2026, 3, 2), D(28))], date(2026, 3, 2)),
        0,
        topic="copper",
    ),
)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.topic}: {check.id}")
def test_soil_and_nutrients_are_what_the_sources_say(check: Check) -> None:
    check.passes()
