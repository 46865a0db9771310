"""Seed and recipe figures against published schedules, and the trade's own custom."""

from decimal import Decimal
from fractions import Fraction

import pytest

from bot.craft.batches import keep_back_ml
from bot.craft.drench import drench, ml_each_from, plants_on
from bot.craft.making import Making, made
from bot.craft.mixing import mix_for, parts
from bot.craft.recipe import Ingredient, Use
from bot.craft.seed import root_dip, seed_for, span, wetting
from bot.craft.sprayer import ACRE_M2, refills
from bot.recipes.reading import shipped
from tests.outside.check import Check, D, Mark

HIMACHAL = "Himachal Pradesh Government, hpagrisnet page 158"
SARANRAJ = "microsaranraj.blogspot 2023"
RICH = "rich-biotechnology 2009"
IASRI = "ecoursesonline.iasri.res.in 56473"
SARGODHA = "lms.su.edu.pk, chickpea"
DOCSBAY = "docsbay Table 2, seed rates"
MEMORY = "extension seed-rate lists"
CHARAKA = "charaka.co.in, dung and urine brew"
PESTOSCOPE = "pestoscope.com, dung and urine brew"
NJKHETI = "njkheti.blogspot 2016, dung and urine brew"
TNAU = "TNAU agritech portal, worm wash"
MANAGER = "farmextensionmanager.com, worm wash"
CTAHR_8 = "University of Hawaii CTAHR SA-8, Aug 2013"
PERMIES = "permies.com 8047, serum"
LOHRE = "lohrefarm.com, fermented plant juice"
MIDAS = "midasfpj.com, fermented plant juice"
CARRY = "carryoncomposting.com, compost extract"
CUSTOM = "custom of growers who keep mother cultures"
INDIA = "agricultureinindia.net, hydraulic knapsack"
SPACING = "arithmetic of spacing and volume"

MOTHER, BREW = shipped()["mother"], shipped()["brew"]
HECTARE = D(10_000)
ORDINARY: Mark = "common practice, no source"


def _row(
    id_: str,
    source: str,
    found: object,
    expected: object,
    tolerance: str = "0",
    mark: Mark = "seen",
    topic: str = "recipes",
) -> Check:
    return Check(id_, topic, source, mark, found, expected, tolerance)


def _within(
    id_: str, source: str, low: object, value: str, high: object, mark: Mark = "seen"
) -> Check:
    assert isinstance(low, Decimal | int)
    assert isinstance(high, Decimal | int)
    return _row(id_, source, str(low <= D(value) <= high), "True", mark=mark)


def ingredient(kind: str, name: str) -> Ingredient:
    return next(each for each in shipped()[kind].ingredients if each.name == name)


def low(kind: str, name: str) -> Decimal:
    amount = ingredient(kind, name).low
    assert amount is not None
    return amount


def high(kind: str, name: str) -> Decimal:
    amount = ingredient(kind, name).high
    assert amount is not None
    return amount


def use(kind: str, name: str) -> Use:
    found = shipped()[kind].use(name)
    assert found is not None
    return found


def grams(making: Making, name: str) -> int:
    amount = next(each.low for each in making.portions if each.name == name)
    assert amount is not None
    return amount


def rate(crop: str, end: int, area_m2: Decimal = HECTARE) -> Decimal:
    found = seed_for(crop, area_m2)
    assert found is not None
    return found[end]


_coat = span("coat")
_brew_200 = made(shipped()["manure_brew"], 200_000)
_half_acre_plants = plants_on(ACRE_M2 / 2, D("0.9"), D("0.6"))

CHECKS: tuple[Check, ...] = (
    # --- seed -----------------------------------------------------------------------------------
    _row("B1 0.5 L for 10 kg", HIMACHAL, wetting(D(10)).high_ml, 500, topic="seed"),
    _row("B2 0.2 L for 10 kg", SARANRAJ, wetting(D(10)).low_ml, 200, topic="seed"),
    _row("B3 lower end inside", RICH, str(_coat[0] <= 300 / 10), "True", topic="seed"),
    _row("B3 upper end inside", RICH, str(_coat[1] >= 400 / 10), "True", topic="seed"),
    _row(
        "B3 what is taken is inside",
        RICH,
        str(300 <= wetting(D(10)).take_ml <= 400),
        "True",
        topic="seed",
    ),
    _row("B5 rice roots", RICH, root_dip("rice").low_minutes / 60, 8, topic="seed"),
    _row("B5 rice roots, longest", RICH, root_dip("rice").high_minutes / 60, 10, topic="seed"),
    _row("B5 vegetable roots", SARANRAJ, root_dip("tomato").low_minutes, 5, topic="seed"),
    _row(
        "B5 vegetable roots, longest", SARANRAJ, root_dip("tomato").high_minutes, 10, topic="seed"
    ),
    *(
        _row(f"R1 {crop}", IASRI, rate(crop, 1), 25, topic="seed")
        for crop in ("cowpea", "cluster_bean", "lablab", "horse_gram", "pigeon_pea")
    ),
    _row("R1 soybean", IASRI, rate("soybean", 0), 75, topic="seed"),
    _row(
        "R2 chickpea, 30 kg an acre",
        SARGODHA,
        rate("chickpea", 0, ACRE_M2),
        30,
        "0.01",
        topic="seed",
    ),
    _row(
        "R2 chickpea, 35 kg an acre",
        SARGODHA,
        rate("chickpea", 1, ACRE_M2),
        35,
        "0.01",
        topic="seed",
    ),
    _row("R2 rice, broadcast", DOCSBAY, rate("rice", 1), 100, topic="seed"),
    _row("R2 sorghum", DOCSBAY, rate("sorghum", 1), 12, topic="seed"),
    _row("R3 mustard", MEMORY, rate("mustard", 1), 6, mark="from memory", topic="seed"),
    _row("R3 wheat", MEMORY, rate("wheat", 1), 125, mark="from memory", topic="seed"),
    # --- the trade's own figures ----------------------------------------------------------------
    _row(
        "T sugar of 200 L",
        CUSTOM,
        grams(made(MOTHER, 200_000), "unrefined_sugar"),
        2_000,
        mark=ORDINARY,
    ),
    _row(
        "T sugar of 200 L with 20 kept",
        CUSTOM,
        grams(made(MOTHER, 200_000, 20_000), "unrefined_sugar"),
        1_800,
        mark=ORDINARY,
    ),
    _row(
        "T one pack to 200 L",
        CUSTOM,
        grams(made(MOTHER, 200_000), "starter_pack"),
        1,
        mark=ORDINARY,
    ),
    _row("T a tenth is kept back", CUSTOM, keep_back_ml(MOTHER, 200_000), 20_000, mark=ORDINARY),
    _row("T stirred once a day", CUSTOM, MOTHER.stir_every_days, 1, mark=ORDINARY),
    _row("T ready where warm", CUSTOM, MOTHER.ready.warm_days, 5, mark=ORDINARY),
    _row("T ready where cool", CUSTOM, MOTHER.ready.cool_days, 7, mark=ORDINARY),
    _row(
        "T oilseed of 25 L", CUSTOM, grams(made(BREW, 25_000), "oilseed_meal"), 100, mark=ORDINARY
    ),
    _row("T pulse of 25 L", CUSTOM, grams(made(BREW, 25_000), "pulse_meal"), 100, mark=ORDINARY),
    _row(
        "T three oilseeds",
        CUSTOM,
        ingredient("brew", "oilseed_meal").kinds,
        3,
        mark=ORDINARY,
    ),
    _row("T brew after 10 days", CUSTOM, BREW.ready.cool_days, 10, mark=ORDINARY),
    _row("T heap from 30 days", CUSTOM, shipped()["heap"].ready.warm_days, 30, mark=ORDINARY),
    _row("T heap to 40 days", CUSTOM, shipped()["heap"].ready.cool_days, 40, mark=ORDINARY),
    # --- further recipes ----------------------------------------------------------------------
    _row("M dung of 200 L", PESTOSCOPE, grams(_brew_200, "fresh_cow_dung"), 10_000),
    _within(
        "M urine a litre",
        PESTOSCOPE,
        low("manure_brew", "cow_urine"),
        "50",
        high("manure_brew", "cow_urine"),
    ),
    _within(
        "M sugar a litre",
        PESTOSCOPE,
        low("manure_brew", "unrefined_sugar"),
        "10",
        high("manure_brew", "unrefined_sugar"),
    ),
    _within(
        "M flour a litre",
        CHARAKA,
        low("manure_brew", "pulse_meal"),
        "5.3",
        high("manure_brew", "pulse_meal"),
    ),
    _within("M days, shortest", CHARAKA, shipped()["manure_brew"].ready.warm_days, "2", 7),
    _within("M days, longest", CHARAKA, 2, "7", shipped()["manure_brew"].ready.cool_days),
    _row("M sugar, least", NJKHETI, low("manure_brew", "unrefined_sugar"), 5),
    _row("M urine, least", NJKHETI, low("manure_brew", "cow_urine"), 25),
    _row("M once a month", NJKHETI, use("manure_brew", "soil").every_days_most, 30),
    _row(
        "M 200 L an acre",
        NJKHETI,
        (use("manure_brew", "soil").ml_per_m2 or (D(0),))[0] * ACRE_M2 / 1000,
        200,
        "0.01",
    ),
    _row("W strongest on leaves", TNAU, use("worm_wash", "leaf").strongest, 3),
    _row("W on leaves", TNAU, use("worm_wash", "leaf").water_parts, 5),
    _row(
        "W 200 mL a litre of water",
        MANAGER,
        parts(200, 1000).share,
        parts(1, use("worm_wash", "soil").water_parts).share,
    ),
    _row("W one day", MANAGER, shipped()["worm_wash"].ready.warm_days, 1),
    _row(
        "S milk to rinse-water",
        CTAHR_8,
        high("serum", "milk") / low("serum", "rice_rinse_water"),
        10,
        mark="quoted",
    ),
    _within(
        "S 3 + 3 to 5 + 5 days",
        CTAHR_8,
        shipped()["serum"].ready.warm_days,
        "6",
        shipped()["serum"].ready.cool_days,
        "quoted",
    ),
    _row("S 1000 times", PERMIES, use("serum", "leaf").water_parts, 1000),
    _row(
        "J equal weights",
        LOHRE,
        high("plant_juice", "unrefined_sugar") / low("plant_juice", "young_shoots"),
        1,
    ),
    _row("J days, longest", LOHRE, shipped()["plant_juice"].ready.cool_days, 10),
    _row("J days, shortest", MIDAS, shipped()["plant_juice"].ready.warm_days, 5),
    _within(
        "X 1 kg in 5 imperial gallons",
        CARRY,
        low("compost_extract", "ripe_compost") - 2,
        "43.99",
        high("compost_extract", "ripe_compost"),
    ),
    # --- drench and hands ---------------------------------------------------------------------
    _row(
        "P15 plants on half an acre",
        SPACING,
        _half_acre_plants,
        3_747,
        mark="computed",
        topic="drench",
    ),
    _row(
        "P15 culture for them",
        SPACING,
        D(drench(_half_acre_plants, D(250), parts(1, 2)).culture_ml) / 1000,
        312,
        "0.02",
        mark="computed",
        topic="drench",
    ),
    _row(
        "P15 culture at 1 L/m²",
        SPACING,
        D(mix_for(Fraction(ACRE_M2) / 2, Fraction(1000), parts(1, 2)).culture_ml) / 1000,
        674,
        "0.02",
        mark="computed",
        topic="drench",
    ),
    _row(
        "P15 a plant's share of 1 L/m²",
        SPACING,
        ml_each_from(D(1), D("0.9"), D("0.6")),
        540,
        mark="computed",
        topic="drench",
    ),
    _row(
        "P16 tanks for 15 acres",
        SPACING,
        refills(15 * ACRE_M2, 200 * HECTARE / ACRE_M2, 16_000).tanks,
        188,
        mark="computed",
        topic="sprayer",
    ),
    _row(
        "P16 a day's work in acres", INDIA, D("0.4") * HECTARE / ACRE_M2, 1, "0.02", topic="sprayer"
    ),
)


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_a_seed_or_recipe_figure_is_the_sources(check: Check) -> None:
    check.passes()
