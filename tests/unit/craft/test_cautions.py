"""Cautions: one at a time, the gravest first; a group adds, and never takes away."""

import dataclasses
from datetime import time
from decimal import Decimal

import pytest

from bot.craft.cautions import (
    CAUTIONS,
    EVERY_MOMENT,
    KEYS,
    Added,
    Situation,
    WeakenedError,
    added,
    fitting,
    one,
)
from bot.craft.crops import CROPS, crop_of
from bot.craft.gas import LIMIT_PPM, added_ppm, co2_litres
from bot.craft.interval import NONE, SALTS, interval, is_refused
from bot.recipes.reading import shipped

MOTHER = shipped()["mother"]
BREW = shipped()["brew"]
TOMATO = Situation("spray", MOTHER, "leaf", "tomato")


def keys(situation: Situation, *, why: bool = False) -> list[str]:
    return [each.key for each in fitting(situation, why=why)]


def test_every_hazard_of_every_recipe_is_a_caution() -> None:
    for recipe in shipped().values():
        assert set(recipe.hazards) <= KEYS, recipe.kind


def test_every_caution_is_said_somewhere_and_names_its_source() -> None:
    assert len(KEYS) == len(CAUTIONS)
    for each in CAUTIONS:
        assert each.source
        assert each.moments
        assert each.moments <= EVERY_MOMENT


def test_leaf_spray_on_what_is_eaten_raw_is_the_gravest_thing() -> None:
    assert keys(TOMATO)[0] == "sugar_fed_raw_eaten"
    assert "sugar_fed_raw_eaten" not in keys(Situation("spray", MOTHER, "leaf", "potato"))
    assert "sugar_fed_raw_eaten" not in keys(Situation("spray", MOTHER, "soil", "tomato"))
    assert keys(Situation("spray", MOTHER, "leaf"))[0] == "sugar_fed_raw_eaten"


def test_hot_hours_are_said_in_hot_hours_only() -> None:
    for at, said in (
        (time(9, 59), False),
        (time(10), True),
        (time(15, 59), True),
        (time(16), False),
    ):
        assert ("hot_hours" in keys(dataclasses.replace(TOMATO, at=at))) is said
    assert "hot_hours" not in keys(TOMATO)


def test_five_plants_come_first_the_first_time() -> None:
    assert "five_plants_first" in keys(dataclasses.replace(TOMATO, first=True))
    assert "five_plants_first" not in keys(TOMATO)


def test_inversions_are_only_said_when_asked_why() -> None:
    assert "inversion" not in keys(TOMATO)
    assert "inversion" in keys(TOMATO, why=True)


def test_a_recipe_without_a_hazard_does_not_get_its_caution() -> None:
    assert "no_scrap_metal" in keys(Situation("brew", BREW))
    assert "no_scrap_metal" not in keys(Situation("start", MOTHER))
    assert "never_seal" not in keys(Situation("start"))


def test_local_rules_belong_to_everything() -> None:
    for moment in EVERY_MOMENT:
        assert keys(Situation(moment))[-1] == "local_rules"


def test_one_caution_at_a_time_and_the_gravest_comes_again_but_never_twice_running() -> None:
    told: list[str] = []
    for _ in range(6):
        said = one(TOMATO, told=told)
        assert said is not None
        told.append(said.key)
    assert told[0] == told[2] == told[4] == "sugar_fed_raw_eaten"
    assert len({told[1], told[3], told[5]}) == 3


def test_where_nothing_is_grave_the_one_said_longest_ago_comes_again() -> None:
    seed = Situation("seed", MOTHER, "seed", "maize")
    first = one(seed)
    assert first is not None
    second = one(seed, told=[first.key])
    assert second is not None
    assert {first.key, second.key} == {"coloured_seed", "culture_last"}
    third = one(seed, told=[first.key, second.key])
    assert third is not None
    assert third.key == first.key
    assert one(Situation("look")) is None


def test_a_group_adds_its_own_and_never_takes_one_away() -> None:
    own = added((), Added("snakes", "Look for snakes behind the barrel", frozenset({"stir"})))
    own = added(own, Added("snakes", "Mind the snakes", frozenset({"stir"}), 99))
    own = added(own, Added("hats", "Wear a hat"))
    assert [each.key for each in own] == ["snakes", "hats"]
    stir = Situation("stir", MOTHER)
    assert fitting(stir, own)[0].key == "snakes"
    assert set(keys(stir)) < {each.key for each in fitting(stir, own)}
    assert "snakes" not in {each.key for each in fitting(TOMATO, own)}
    assert "hats" in {each.key for each in fitting(TOMATO, own)}
    with pytest.raises(WeakenedError, match="never_seal is always there"):
        added(own, Added("never_seal", "A lid is fine"))
    with pytest.raises(WeakenedError, match="says something"):
        added(own, Added("blank", "  "))


# --- intervals --------------------------------------------------------------------------------


def test_raw_manure_days_follow_where_the_eaten_part_grows() -> None:
    on_soil = interval(MOTHER, crop_of("carrot"), "leaf", "raw_manure_days")
    assert (on_soil.days, on_soil.soil_only, on_soil.reason) == (120, False, "touches_soil")
    clear = interval(MOTHER, crop_of("tomato"), "leaf", "raw_manure_days")
    assert (clear.days, clear.soil_only, clear.reason) == (90, True, "clear_of_soil")


def test_the_strict_tea_reading_keeps_it_off_what_is_eaten() -> None:
    found = interval(MOTHER, crop_of("lettuce"), "leaf", "us_tea")
    assert (found.may_touch, found.soil_only) == (False, True)


def test_the_local_body_says_its_own_days() -> None:
    assert interval(MOTHER, crop_of("lettuce"), "leaf", "local", 30).days == 30
    assert interval(MOTHER, crop_of("tomato"), "leaf", "local", 30).soil_only
    assert not interval(MOTHER, crop_of("tomato"), "leaf", "local", 0).soil_only
    assert interval(MOTHER, crop_of("lettuce"), "leaf", "local").days == 120


def test_without_a_rule_sugar_waits_for_the_groups_choice_and_manure_does_not() -> None:
    sugar = interval(MOTHER, crop_of("tomato"), "leaf")
    assert (sugar.days, sugar.reason, sugar.soil_only) == (0, "choose_rule", True)
    manure = interval(dataclasses.replace(MOTHER, animal_manure=True), crop_of("tomato"), "leaf")
    assert manure.days == 90


@pytest.mark.parametrize("name", ["rice", "cotton", "potato", "clover"])
def test_what_nobody_eats_raw_needs_no_interval(name: str) -> None:
    assert interval(MOTHER, crop_of(name), "leaf", "raw_manure_days") == NONE


def test_seed_and_what_is_neither_sugar_nor_manure_need_no_interval() -> None:
    assert interval(MOTHER, crop_of("lettuce"), "seed", "raw_manure_days") == NONE
    plain = dataclasses.replace(MOTHER, sugar_fed=False)
    assert interval(plain, crop_of("lettuce"), "leaf", "us_tea") == NONE


def test_an_unknown_crop_is_read_carefully() -> None:
    assert (crop_of("xyzzy").raw, crop_of("xyzzy").soil) == (True, True)
    assert all(name == crop.name for name, crop in CROPS.items())


def test_scrap_is_refused_and_a_salt_is_named() -> None:
    for metal in ("dry_cell", "brass", "solder", "galvanised_scrap"):
        assert is_refused(metal)
    assert not any(is_refused(salt) for salt in SALTS.values())


def test_a_kilogram_of_sugar_fouls_a_closed_room() -> None:
    sugar_g = Decimal(1000)
    assert added_ppm(sugar_g, Decimal(20)) > LIMIT_PPM
    assert co2_litres(sugar_g) > 280
    with pytest.raises(ValueError, match="a room has a volume"):
        added_ppm(sugar_g, Decimal(0))
