"""Recipes: read by being there, and every fault named with its mend."""

from collections.abc import Iterator
from decimal import Decimal
from importlib.resources import files
from pathlib import Path

import pytest

from bot.recipes import reading
from bot.recipes.reading import RecipeError, recipe_from, shipped

MOTHER = files("bot.recipes").joinpath("mother.toml").read_text(encoding="utf-8")


def test_the_mother_culture_carries_the_trades_figures() -> None:
    recipe = shipped()["mother"]
    feed, starter = recipe.ingredients
    assert feed.low == feed.high == 10
    assert feed.per == "litre_of_water_added"
    assert starter.vessel_l == 200
    assert recipe.keep_back == Decimal("0.1")
    assert (recipe.ready.warm_days, recipe.ready.cool_days) == (5, 7)
    uses = {use.name: use.water_parts for use in recipe.uses}
    assert uses == {"seed": 0, "soil": 2, "leaf": 3, "compost": 0}
    leaf = recipe.use("leaf")
    assert leaf is not None
    assert (leaf.every_days, leaf.times) == (10, 4)
    assert recipe.use("bath") is None
    assert {source.mark for source in recipe.sources} == {"common practice, no source"}


def test_a_use_may_say_its_usual_volume() -> None:
    recipe = recipe_from(MOTHER.replace("times = 4", "times = 4\nml_per_m2 = [20, 50]"), "x.toml")
    leaf = recipe.use("leaf")
    assert leaf is not None
    assert leaf.ml_per_m2 == (Decimal(20), Decimal(50))


def test_the_brew_stands_on_ready_culture_and_gives_no_amount_of_a_mineral() -> None:
    recipe = shipped()["brew"]
    assert recipe.on == "mother"
    assert all(each.low is None for each in recipe.ingredients if each.role == "mineral")
    assert sum(each.kinds for each in recipe.ingredients if each.role == "oilseed") == 3
    assert recipe.ready.warm_days == 10


@pytest.mark.parametrize(
    ("old", "new", "field", "mend"),
    [
        ('kind = "mother"', 'kind = "Mother Culture"', "kind", "must be a key"),
        ('cover = "cloth"\n', "", "cover", "is missing; write it"),
        ("low = 10", 'low = "some"', "ingredients[0].low", "decimal"),
        ("low = 10", "lowe = 10", "ingredients[0].lowe", "write 'low'"),
        ("low = 10\n", "", "ingredients[0].low", "write both low and high"),
        ("low = 10", "low = 5000\nxyzzy = 1", "ingredients[0].xyzzy", "take it out"),
        ("low = 10\n", "low = 0\n", "ingredients[0].low", "write 0 < low"),
        ("high = 10", "high = 9", "ingredients[0].low", "low <= high"),
        ("high = 10", "high = 2001", "ingredients[0].low", "<= 2000 gram"),
        ("low = 10\nhigh = 10\n", "", "ingredients[0].low", "only a mineral"),
        ('unit = "gram"', 'unit = "spoon"', "ingredients[0].unit", "one of: gram, millilitre"),
        ('unit = "gram"', 'unit = "pack"', "ingredients[0].unit", "counted in gram or millilitre"),
        ('role = "feed"', 'role = "food"', "ingredients[0].role", "one of: feed"),
        ("vessel_l = 200", "", "ingredients[1].vessel_l", "largest vessel"),
        ("vessel_l = 200", "vessel_l = 0", "ingredients[1].vessel_l", "1 to 10000"),
        ("high = 1\n", "high = 1\nkinds = 0\n", "ingredients[1].kinds", "write 1 to 20"),
        ("warm_days = 5", "warm_days = 8", "ready.cool_days", "write 8 (its warm_days)"),
        ("warm_days = 5", "warm_days = -1", "ready.warm_days", "write 0 to"),
        ("warm_days = 5\n", "", "ready.warm_days", "is missing"),
        ('signs = ["creamy", "sour_sweet_smell"]', "signs = []", "ready.signs", "at least one"),
        ("stir_every_days = 1", "stir_every_days = 0", "stir_every_days", "1 to 30"),
        ("keep_back = 0.1", "keep_back = 10", "keep_back", "a tenth is 0.1"),
        ("generations = 10", "generations = 0", "generations", "1 to 100"),
        ("shelf_days = 15", "shelf_days = 31", "shelf_days", "at most shelf_days_most"),
        ("water_parts = 3", "water_parts = -3", "uses[2].water_parts", "0 <= strongest"),
        ("water_parts = 3", "water_parts = 3\nweakest = 2", "uses[2].water_parts", "<= weakest"),
        ("water_parts = 3", "water_parts = 3\nstrongest = 4", "uses[2].water_parts", "strongest"),
        ("every_days = 10", "every_days = 0", "uses[2].every_days", "write 1 to 1440"),
        ("every_days = 15\n", "", "uses[1].every_days", "beside every_days_most"),
        ("times = 4", "times = 4\nml_per_m2 = [5, 2]", "uses[2].ml_per_m2", "low <= high"),
        ("minutes = 30", "minutes = 30.5", "uses[0].minutes", "int"),
        ('name = "leaf"', 'name = "soil"', "uses", "name each only once"),
        ('"common practice, no source"', '"sure"', "sources[0].mark", "one of: seen"),
        ("[ready]", "[redy]", "redy", "write 'ready'"),
        ("[ready]", "[ready", "", "is not TOML"),
        ('["strain", "cool_hours"]', '["strain it"]', "uses[2].notes", "must be a key"),
        ("[[sources]]", "[sources]", "sources", "array"),
    ],
)
def test_a_fault_names_its_file_its_field_and_its_mend(
    old: str, new: str, field: str, mend: str
) -> None:
    assert old in MOTHER
    with pytest.raises(RecipeError) as caught:
        recipe_from(MOTHER.replace(old, new, 1), "barrel.toml")
    assert (caught.value.file, caught.value.field) == ("barrel.toml", field)
    assert str(caught.value).startswith("barrel.toml: ")
    assert mend in caught.value.mend


def _room(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    monkeypatch.setattr(reading, "files", lambda _: folder)
    shipped.cache_clear()


@pytest.fixture
def _cache() -> Iterator[None]:
    yield
    shipped.cache_clear()


@pytest.mark.usefixtures("_cache")
def test_a_new_recipe_is_one_file_and_found_by_being_there(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    text = MOTHER.replace('kind = "mother"', 'kind = "rain-culture"')
    (tmp_path / "rain-culture.toml").write_text(text, encoding="utf-8")
    (tmp_path / "notes.txt").write_text("no recipe", encoding="utf-8")
    _room(monkeypatch, tmp_path)
    assert list(shipped()) == ["rain-culture"]


@pytest.mark.usefixtures("_cache")
def test_a_recipe_is_called_as_its_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "rain-culture.toml").write_text(MOTHER, encoding="utf-8")
    _room(monkeypatch, tmp_path)
    with pytest.raises(RecipeError, match="kind: must be 'rain-culture'"):
        shipped()


@pytest.mark.usefixtures("_cache")
def test_a_recipe_stands_on_one_that_is_there(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    text = 'on = "nowhere"\n' + MOTHER
    (tmp_path / "mother.toml").write_text(text, encoding="utf-8")
    _room(monkeypatch, tmp_path)
    with pytest.raises(RecipeError, match="on: there is no recipe 'nowhere'"):
        shipped()


def test_every_recipe_has_its_source_signs_hazards_and_a_strength_within_its_range() -> None:
    assert len(shipped()) >= 8
    for recipe in shipped().values():
        assert all(source.text for source in recipe.sources), recipe.kind
        assert recipe.ready.spoilt
        assert "manure_raw_eaten" in recipe.hazards or not recipe.animal_manure
        assert "sugar_fed_raw_eaten" in recipe.hazards or recipe.animal_manure


def test_a_manure_brew_is_for_soil_and_heap_only() -> None:
    uses = {use.name for use in shipped()["manure_brew"].uses}
    assert uses == {"soil", "compost"}


def test_a_serum_is_two_hundred_and_fifty_times_weaker_than_a_leaf_spray() -> None:
    serum, mother = shipped()["serum"].use("leaf"), shipped()["mother"].use("leaf")
    assert serum is not None
    assert mother is not None
    assert 250 < (serum.water_parts + 1) / (mother.water_parts + 1) < 251
