"""A group's own recipes: changed by a message, kept in the record, cautions never lost."""

import io
from decimal import Decimal
from pathlib import Path

import pytest

from bot.cli import main
from bot.craft.recipe import Recipe
from bot.recipes.own import (
    OWN,
    Tweak,
    from_folder,
    key_of,
    named,
    of_group,
    together,
    tweaked,
)
from bot.recipes.reading import RecipeError, as_plain, recipe_of, shipped

MOTHER = shipped()["mother"]


@pytest.mark.parametrize("kind", sorted(shipped()))
def test_every_recipe_comes_back_from_the_record_as_it_was(kind: str) -> None:
    recipe = shipped()[kind]
    assert recipe_of(as_plain(recipe), "record") == recipe


def test_a_message_changes_a_strength_and_its_interval() -> None:
    own = tweaked(MOTHER, Tweak(use="leaf", water_parts=Decimal(5), every_days=7, times=6))
    leaf = own.use("leaf")
    assert leaf is not None
    assert (leaf.water_parts, leaf.every_days, leaf.times) == (Decimal(5), 7, 6)
    assert own.use("soil") == MOTHER.use("soil")
    assert own.sources[-1] == OWN
    assert leaf.notes == ("strain", "cool_hours")


def test_a_message_changes_feed_days_keep_back_and_shelf_life() -> None:
    own = tweaked(
        MOTHER,
        Tweak(
            feed_per_litre=Decimal(12),
            warm_days=4,
            cool_days=6,
            keep_back=Decimal("0.2"),
            shelf_days=40,
        ),
        "rain_culture",
    )
    assert own.kind == "rain_culture"
    assert own.ingredients[0].low == own.ingredients[0].high == 12
    assert (own.ready.warm_days, own.ready.cool_days) == (4, 6)
    assert own.keep_back == Decimal("0.2")
    assert (own.shelf_days, own.shelf_days_most) == (40, 40)
    assert own.hazards == MOTHER.hazards


def test_one_day_said_is_both_ends_and_a_later_cool_day_stands_alone() -> None:
    assert tweaked(MOTHER, Tweak(warm_days=9)).ready.cool_days == 9
    assert tweaked(MOTHER, Tweak(cool_days=9)).ready.warm_days == 5
    assert tweaked(MOTHER, Tweak()).ready == MOTHER.ready


def test_a_use_that_is_new_needs_its_strength() -> None:
    own = tweaked(MOTHER, Tweak(use="roots", water_parts=Decimal(4)))
    assert own.uses[-1].name == "roots"
    with pytest.raises(RecipeError, match="how many parts of water for roots"):
        tweaked(MOTHER, Tweak(use="roots", every_days=5))


@pytest.mark.parametrize(
    ("tweak", "field"),
    [
        (Tweak(use="leaf", water_parts=Decimal(-1)), "uses[2].water_parts"),
        (Tweak(use="leaf", every_days=0), "uses[2].every_days"),
        (Tweak(keep_back=Decimal(2)), "keep_back"),
        (Tweak(feed_per_litre=Decimal(0)), "ingredients[0].low"),
        (Tweak(warm_days=401), "ready.warm_days"),
    ],
)
def test_a_change_out_of_range_is_named(tweak: Tweak, field: str) -> None:
    with pytest.raises(RecipeError) as caught:
        tweaked(MOTHER, tweak)
    assert caught.value.field == field


def test_a_recipe_without_feed_per_litre_cannot_be_fed_more() -> None:
    with pytest.raises(RecipeError, match="has no feed counted per litre"):
        tweaked(shipped()["plant_juice"], Tweak(feed_per_litre=Decimal(5)))


def test_a_groups_own_recipe_keeps_every_caution_of_the_one_it_replaces() -> None:
    plain = as_plain(MOTHER) | {"hazards": ["sugar_fed_raw_eaten", "clean_water"]}
    found = together(shipped(), [plain])["mother"]
    assert set(MOTHER.hazards) < set(found.hazards)
    assert "clean_water" in found.hazards
    weakened = as_plain(MOTHER) | {"sugar_fed": False}
    assert together(shipped(), [weakened])["mother"].sugar_fed


def test_a_groups_new_recipe_stands_beside_the_shipped_ones() -> None:
    own = as_plain(tweaked(MOTHER, Tweak(use="leaf", water_parts=Decimal(6)), "rain_culture"))
    found = together(shipped(), [own])
    assert set(found) == {*shipped(), "rain_culture"}


def test_a_groups_recipe_on_nothing_is_named() -> None:
    own = as_plain(MOTHER) | {"kind": "odd", "on": "nowhere"}
    with pytest.raises(RecipeError, match="there is no recipe 'nowhere'"):
        together(shipped(), [own])


def manure(**changes: object) -> Recipe:
    return recipe_of(as_plain(shipped()["manure_brew"]) | changes, "x.toml")


def test_dung_makes_a_manure_recipe_whatever_it_says_and_its_caution_is_a_must() -> None:
    with pytest.raises(RecipeError, match="animal_manure: write true: fresh_cow_dung goes in"):
        manure(animal_manure=False, hazards=["sugar_fed_raw_eaten"])
    with pytest.raises(RecipeError, match="hazards: add 'manure_raw_eaten'"):
        manure(hazards=["eyes_skin"])
    with pytest.raises(RecipeError, match="hazards: add 'sugar_fed_raw_eaten'"):
        recipe_of(as_plain(MOTHER) | {"hazards": ["eyes_skin"]}, "x.toml")


def test_a_hazard_that_is_no_caution_is_named() -> None:
    with pytest.raises(RecipeError, match="'never_seel' is no caution; write 'never_seal'"):
        recipe_of(as_plain(MOTHER) | {"hazards": ["never_seel"]}, "x.toml")
    with pytest.raises(RecipeError, match="'xyzzy' is no caution; take it out"):
        recipe_of(as_plain(MOTHER) | {"hazards": ["xyzzy"]}, "x.toml")


def test_a_group_goes_by_its_own_recipe_and_others_by_the_shipped_one() -> None:
    own = tweaked(MOTHER, Tweak(use="leaf", water_parts=Decimal(7)))
    settings = {"recipes": {"mother": as_plain(own)}}
    mine = of_group(shipped(), settings)
    leaf = mine["mother"].use("leaf")
    assert leaf is not None
    assert leaf.water_parts == 7
    assert of_group(shipped(), {}) is shipped()
    assert mine["brew"] == shipped()["brew"]


def test_a_kept_recipe_that_no_longer_reads_gives_way_to_the_known_one() -> None:
    fish = as_plain(tweaked(MOTHER, Tweak(), "fish"))
    mine = of_group(shipped(), {"recipes": {"fish": fish, "old": {"kind": "old"}}})
    assert "fish" in mine
    assert "old" not in mine


def test_a_group_never_loses_a_caution_whatever_its_record_says() -> None:
    plain = as_plain(shipped()["brew"])
    plain["hazards"] = ["sugar_fed_raw_eaten", "never_seal", "not_drinking", "eyes_skin"]
    mine = of_group(shipped(), {"recipes": {"brew": plain}})
    assert set(mine["brew"].hazards) >= set(shipped()["brew"].hazards)


def test_names_of_own_recipes_are_heard_as_they_are_written() -> None:
    names = named({"barrel": ("B1",)}, shipped(), {"recipes": {"fish_brew": {}}})
    assert names == {"barrel": ("B1",), "recipe": ("fish brew",)}
    assert named({}, shipped(), {}) == {}
    assert key_of("Fish Brew!") == "fish_brew"
    assert key_of(" --- ") == ""


def test_what_goes_in_by_message_brings_its_caution_along() -> None:
    worm = shipped()["worm_wash"]
    fed = tweaked(worm, Tweak(ingredient="molasses", per_litre=Decimal(5)))
    assert fed.sugar_fed
    assert {"never_seal", "manure_raw_eaten"} <= set(fed.hazards)
    dung = tweaked(MOTHER, Tweak(ingredient="fresh_cow_dung", per_litre=Decimal(50)))
    assert dung.animal_manure
    assert "manure_raw_eaten" in dung.hazards
    salt = tweaked(MOTHER, Tweak(ingredient="zinc_sulphate", per_litre=Decimal(2)))
    assert salt.ingredients[-1].role == "mineral"
    assert "test_before_minerals" in salt.hazards
    milk = tweaked(
        MOTHER, Tweak(ingredient="milk", per_litre=Decimal(100), unit="millilitre"), "milky"
    )
    assert milk.ingredients[-1].unit == "millilitre"
    again = tweaked(milk, Tweak(ingredient="milk", per_litre=Decimal(50), unit="millilitre"))
    assert again.ingredients[-1].high == 50
    assert again.sources == milk.sources
    pack = tweaked(MOTHER, Tweak(ingredient="starter_pack", per_litre=Decimal(3)))
    assert (pack.ingredients[1].unit, pack.ingredients[1].per) == ("gram", "litre_of_batch")


@pytest.mark.parametrize(
    ("name", "unit", "mend"),
    [("brass", "gram", "never goes in"), ("milk", "pack", "grams or millilitres")],
)
def test_what_cannot_go_in_is_refused(name: str, unit: str, mend: str) -> None:
    with pytest.raises(RecipeError, match=mend):
        tweaked(MOTHER, Tweak(ingredient=name, per_litre=Decimal(5), unit=unit))


FISH = """
kind = "fish"
cover = "cloth"
shelf_days = 10
shelf_days_most = 20
sugar_fed = true
animal_manure = false
hazards = ["sugar_fed_raw_eaten", "never_seal", "not_drinking", "eyes_skin"]
[[sources]]
text = "our own trials"
mark = "common practice, no source"
[[ingredients]]
name = "unrefined_sugar"
role = "feed"
low = 10
high = 10
[ready]
warm_days = 10
cool_days = 20
signs = ["sour_smell"]
spoilt = ["rot_smell"]
[[uses]]
name = "leaf"
water_parts = 15
"""


def test_an_operators_folder_of_recipes_lies_over_the_shipped_ones(tmp_path: Path) -> None:
    (tmp_path / "fish.toml").write_text(FISH, encoding="utf-8")
    (tmp_path / "notes.txt").write_text("not a recipe", encoding="utf-8")
    found = from_folder(shipped(), str(tmp_path))
    assert found["fish"].ready.cool_days == 20
    assert set(found) == {*shipped(), "fish"}


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("fish", FISH.replace("10\nhigh", "-10\nhigh"), "fish.toml: ingredients[0].low: write 0 <"),
        ("fish", FISH.replace("warm_days", "warm_day"), "fish.toml: ready.warm_day: is no field"),
        ("fish", FISH.replace('"never_seal", ', ""), "fish.toml: hazards: add 'never_seal'"),
        ("fish", FISH.replace('"not_drinking", ', ""), "fish.toml: hazards: add 'not_drinking'"),
        ("fish", FISH.replace("sugar_fed = true", "sugar_fed = false"), "fish.toml: sugar_fed: "),
        ("fish", FISH.replace("never_seal", "never_seel"), "hazards: 'never_seel' is no caution"),
        ("fish", 'on = "soup"' + FISH, "fish.toml: on: there is no recipe 'soup'"),
        ("soup", FISH, "soup.toml: kind: must be 'soup', as the file"),
        ("fish", "kind = ", "fish.toml: is not TOML"),
    ],
)
def test_a_fault_in_an_operators_file_names_file_field_and_mend(
    tmp_path: Path, name: str, text: str, said: str
) -> None:
    (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    with pytest.raises(RecipeError) as caught:
        from_folder(shipped(), str(tmp_path))
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_folder_that_is_not_there_and_a_file_that_is_no_text_are_named(tmp_path: Path) -> None:
    with pytest.raises(RecipeError, match="is no folder"):
        from_folder(shipped(), str(tmp_path / "nowhere"))
    (tmp_path / "fish.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(RecipeError, match=r"fish\.toml: cannot be read as UTF-8"):
        from_folder(shipped(), str(tmp_path))


def test_an_operators_fault_ends_the_command_with_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fish.toml").write_text(FISH.replace("= 15", "= -15"), encoding="utf-8")
    monkeypatch.setenv("STIRBELL_RECIPES", str(tmp_path))
    monkeypatch.setattr("sys.stdin", io.StringIO("recipe\n"))
    assert main(["chat"]) == 1
    said = capsys.readouterr().err
    assert said.startswith("stirbell: fish.toml: uses[0].water_parts: write 0 <=")
    assert said.count("\n") == 1


def test_an_operators_recipe_is_used_by_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "fish.toml").write_text(FISH, encoding="utf-8")
    monkeypatch.setenv("STIRBELL_RECIPES", str(tmp_path))
    monkeypatch.setattr("sys.stdin", io.StringIO("fish leaf spray 16 l\n"))
    assert main(["chat", "--at", "2026-03-02 09:00", "--language", "en"]) == 0
    assert "1 L culture + 15 L water = 16 L." in capsys.readouterr().out
