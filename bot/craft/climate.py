"""How warm a place is in a month, from a table in the package: no weather service is asked.

Source: monthly means 1981-2010 of NCEP/NCAR Reanalysis 1 (Kalnay et al. 1996, Bull. Amer. Meteor.
Soc. 77:437), long-term means of the NOAA Physical Sciences Laboratory, Boulder; a US government
work, free to use, and named here as the laboratory asks. Altitudes of the same points: the map
that comes with pvlib (BSD-3), from open terrain data gathered by Mapzen. `climate.b85` repeats
both; deploy/build_tables.py makes it.
"""

from __future__ import annotations

import base64
import calendar
import zlib
from datetime import date
from functools import lru_cache
from importlib import resources
from itertools import product

STEP_DEG = 5
SOUTH_DEG, NORTH_DEG = -40, 40
_ROWS, _COLUMNS = 17, 72
_POINTS = _ROWS * _COLUMNS

# What a place's own altitude changes. Source: least squares over the annual means of 30 places
# between 0 and 3640 m (those means from memory): rms error 1.2 degrees, 3.5 without altitude.
COOLER_C_PER_KM = 4.3
OFFSET_C = 0.8
MEAN_SD_C = 2.5
"""How far a month's mean may be off for one place and one year: the table's own 1.5 (rms against
its source), the correction's 1.2, and 1.5 from year to year (common practice, no source)."""


def mean_c(
    latitude: float, longitude: float, month: int, altitude_m: float | None = None
) -> float | None:
    """The mean air temperature of a month (1 to 12) at a place, in degrees Celsius.

    None past 40 degrees north or south, where the table ends. Between its points it is bilinear.
    Without an altitude the place is taken to lie as high as the country around it.

    >>> round(mean_c(17.38, 78.46, 5, 540))  # Hyderabad in May
    33

    Raises:
        ValueError: there is no such month.
    """
    if not 1 <= month <= 12:
        raise ValueError(f"month {month} is not between 1 and 12")
    if not SOUTH_DEG <= latitude <= NORTH_DEG:
        return None
    degrees, heights = _table()
    y = (latitude - SOUTH_DEG) / STEP_DEG
    x = longitude % 360 / STEP_DEG
    south, west = min(int(y), _ROWS - 2), int(x)
    temperature = around_m = 0.0
    for up, right in product((0, 1), (0, 1)):
        share = abs(1 - up - (y - south)) * abs(1 - right - (x - west))
        point = (south + up) * _COLUMNS + (west + right) % _COLUMNS
        temperature += share * degrees[(month - 1) * _POINTS + point] / 2
        around_m += share * heights[point] * 25
    if altitude_m is None:
        return temperature + OFFSET_C
    return temperature + OFFSET_C + COOLER_C_PER_KM * (around_m - altitude_m) / 1000


def mean_on_c(
    latitude: float, longitude: float, on: date, altitude_m: float | None = None
) -> float | None:
    """The usual air temperature of a day: the monthly means, joined by lines at mid-month.

    >>> mean_on_c(17.38, 78.46, date(2026, 5, 16), 540) == mean_c(17.38, 78.46, 5, 540)
    True
    """
    days = calendar.monthrange(on.year, on.month)[1]
    past_middle = (on.day - days // 2 - 1) / days
    other = (on.month + (1 if past_middle >= 0 else -1) - 1) % 12 + 1
    here = mean_c(latitude, longitude, on.month, altitude_m)
    there = mean_c(latitude, longitude, other, altitude_m)
    if here is None or there is None:
        return None
    return here + (there - here) * abs(past_middle)


@lru_cache(maxsize=1)
def _table() -> tuple[tuple[int, ...], bytes]:
    text = resources.files(__package__).joinpath("climate.b85").read_text(encoding="ascii")
    packed = next(line for line in text.splitlines() if not line.startswith("# "))
    raw = zlib.decompress(base64.b85decode(packed))
    degrees = tuple(byte - 256 if byte > 127 else byte for byte in raw[: 12 * _POINTS])
    return degrees, raw[12 * _POINTS :]
