import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.craft import places

CITIES = [place for place in places._places() if place.population >= 300_000]


def test_a_town_is_found_with_its_zone_whatever_its_capitals_and_accents() -> None:
    assert places.named("são PAULO")[0].zone == "America/Sao_Paulo"
    assert places.named("sao-paulo") == places.named("São Paulo")


def test_an_unknown_place_is_no_place() -> None:
    assert places.named("nowhere in particular") == ()
    assert places.named("") == ()


def test_a_name_borne_twice_gives_both_the_larger_first() -> None:
    found = places.named("hyderabad")
    assert [place.country for place in found] == ["IN", "PK"]
    assert found[0].population > found[1].population


def test_the_members_country_comes_first_and_hides_nothing() -> None:
    assert [place.country for place in places.named("hyderabad", "pk")] == ["PK", "IN"]


@pytest.mark.parametrize(
    ("written", "town"),
    [
        ("हैदराबाद", "Hyderabad"),
        ("ঢাকা", "Dhaka"),
        ("አዲስ አበባ", "Addis Ababa"),
        ("काठमाडौं", "Kathmandu"),
        ("bangalore", "Bengaluru"),
        ("bombay", "Mumbai"),
    ],
)
def test_big_places_are_known_in_their_own_script_and_by_their_old_names(
    written: str, town: str
) -> None:
    assert places.named(written)[0].name == town


def test_a_shared_location_gives_the_nearest_town() -> None:
    assert places.nearest(-0.2, 34.7).name == "Kisumu"
    assert places.nearest(-0.2, 34.7, at_least=2_000_000).name == "Nairobi"


@pytest.mark.parametrize(("latitude", "longitude"), [(91, 0), (0, 181), (float("nan"), 0)])
def test_a_point_off_the_earth_is_refused(latitude: float, longitude: float) -> None:
    with pytest.raises(ValueError, match="no place on earth"):
        places.nearest(latitude, longitude)


def test_a_town_larger_than_any_is_refused() -> None:
    with pytest.raises(ValueError, match="no place has"):
        places.nearest(0, 0, at_least=10**9)


@settings(max_examples=30)
@given(
    st.floats(-89.9, 89.9).map(lambda value: round(value, 2)),
    st.floats(-180, 180).map(lambda value: round(value, 2)),
)
def test_no_town_is_nearer_than_the_nearest(latitude: float, longitude: float) -> None:
    found = places.nearest(latitude, longitude, at_least=300_000)
    away_km = places.distance_km(latitude, longitude, found.latitude, found.longitude)
    assert away_km == pytest.approx(
        min(
            places.distance_km(latitude, longitude, place.latitude, place.longitude)
            for place in CITIES
        )
    )


def test_a_country_with_one_zone_needs_no_town() -> None:
    assert places.zones("in") == ("Asia/Kolkata",)
    assert places.zones("BR")[0] == "America/Sao_Paulo"
    assert places.zones("XX") == ()
