"""Pictures of what the words say: a strip of days, a vessel with its parts."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, timedelta

from babel.dates import format_skeleton

from bot.facts import DayStrip, Picture, Pour
from bot.wording.canvas import (
    DOWN,
    FILLS,
    INK,
    MARGIN_PX,
    PAPER,
    WIDTH_PX,
    CannotDraw,
    Canvas,
    font_of,
)
from bot.wording.values import Speaker

CORNERS = (0, 4, 3, 5, 6)
"""The mark of each thing done, in the order they come up: disc, square, triangle …"""

_INNER_PX = WIDTH_PX - 2 * MARGIN_PX


def picture(fact: Picture, speaker: Speaker, *, shaping: bool = True) -> bytes:
    """A PNG that shows the fact in the speaker's language.

    Empty if this machine cannot show the language's script: the words say the same.
    """
    try:
        if isinstance(fact, DayStrip):
            return _days(fact, speaker, shaping=shaping)
        if isinstance(fact, Pour):
            return _pour(fact, speaker, shaping=shaping)
    except CannotDraw:
        return b""
    raise TypeError(f"no drawing of a {type(fact).__name__}")


def _canvas(height_px: int, speaker: Speaker, *, shaping: bool) -> Canvas:
    return Canvas(
        height_px,
        font_of(speaker.voice.language, speaker.root),
        mirrored=speaker.right_to_left,
        shaping=shaping,
    )


def _title(canvas: Canvas, text: str) -> float:
    """Draw the title; the y below it comes back."""
    y = float(MARGIN_PX - 12)
    for line in canvas.lines(text, _INNER_PX, 38):
        canvas.text((MARGIN_PX, y), line, _INNER_PX, 38)
        y += 50
    return y + 10


# --- days -------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Scale:
    """Where each day of a strip lies on the sheet."""

    first_on: date
    count: int
    top: float

    @property
    def day_px(self) -> float:
        return _INNER_PX / self.count

    def left(self, day: date) -> float:
        return MARGIN_PX + (day - self.first_on).days * self.day_px

    def middle(self, day: date) -> float:
        return self.left(day) + self.day_px / 2


def _days(strip: DayStrip, speaker: Speaker, *, shaping: bool) -> bytes:
    title = speaker.fact(strip)
    labels = dict.fromkeys(speaker.value(mark.label) for mark in strip.marks)
    shapes = {label: CORNERS[n % len(CORNERS)] for n, label in enumerate(labels)}
    rows = len(_canvas(1, speaker, shaping=shaping).lines(title, _INNER_PX, 38))
    height = MARGIN_PX + rows * 50 + 190 + 44 * (len(strip.bands) + len(labels))
    canvas = _canvas(height, speaker, shaping=shaping)
    top = _title(canvas, title) + 30
    scale = _Scale(strip.first_on, (strip.last_on - strip.first_on).days + 1, top)
    canvas.box((MARGIN_PX, top, WIDTH_PX - MARGIN_PX, top + 60), PAPER)
    for n, band in enumerate(strip.bands):
        left = scale.left(max(band.since_on, strip.first_on))
        right = scale.left(min(band.until_on, strip.last_on)) + scale.day_px
        if left < right:
            canvas.box((left, top, right, top + 60), FILLS[n % len(FILLS)])
    _name_days(canvas, scale, speaker)
    if strip.today_on is not None and strip.first_on <= strip.today_on <= strip.last_on:
        middle = scale.middle(strip.today_on)
        canvas.shape(DOWN, middle, top - 14, 14)
        canvas.box((middle - 1, top - 12, middle + 1, top + 66), INK)
    for mark in strip.marks:
        corners = shapes[speaker.value(mark.label)]
        if strip.first_on <= mark.on <= strip.last_on:
            canvas.shape(corners, scale.middle(mark.on), top + 30, min(13, scale.day_px / 3))
    y = top + 118
    for n, band in enumerate(strip.bands):
        canvas.box((MARGIN_PX, y + 6, MARGIN_PX + 30, y + 32), FILLS[n % len(FILLS)])
        days = f"{speaker.day(band.since_on)} - {speaker.day(band.until_on)}"
        _legend(canvas, y, f"{speaker.value(band.label)}: {days}")
        y += 44
    for label, corners in shapes.items():
        canvas.shape(corners, MARGIN_PX + 15, y + 19, 13)
        _legend(canvas, y, label)
        y += 44
    return canvas.png()


def _name_days(canvas: Canvas, scale: _Scale, speaker: Speaker) -> None:
    """Write the days under the strip; more than a phone's width can name, at even steps."""
    step = -(-scale.count // 8)
    for n in range(0, scale.count, step):
        day = scale.first_on + timedelta(days=n)
        text = str(format_skeleton("Ed", day, locale=speaker.locale))
        name = speaker.digits(re.sub(r"[,.،]", "", text))
        at = (scale.middle(day), scale.top + 70)
        canvas.text(at, name, scale.day_px * step - 8, 26, centred=True)


def _legend(canvas: Canvas, y: float, text: str) -> None:
    canvas.text((MARGIN_PX + 48, y), text, _INNER_PX - 48, 30)


# --- a vessel ---------------------------------------------------------------------------------


def _pour(pour: Pour, speaker: Speaker, *, shaping: bool) -> bytes:
    title = speaker.fact(pour)
    sheet = _canvas(1, speaker, shaping=shaping)
    rows = len(sheet.lines(title, _INNER_PX, 38))
    canvas = _canvas(MARGIN_PX + rows * 50 + 430, speaker, shaping=shaping)
    top = _title(canvas, title) + 10
    bottom, vessel_px = top + 360, 260
    whole = sum(part.amount.to(pour.parts[0].amount.unit).value for part in pour.parts)
    canvas.box((MARGIN_PX, top, MARGIN_PX + vessel_px, bottom), PAPER)
    y, label_y = bottom, bottom
    for n, part in enumerate(pour.parts):
        high = float(part.amount.to(pour.parts[0].amount.unit).value / whole) * 340
        canvas.box((MARGIN_PX, y - high, MARGIN_PX + vessel_px, y), FILLS[n % len(FILLS)])
        text = f"{speaker.value(part.amount)} {speaker.value(part.label)}"
        # A thin layer's name stands above the one below it, never on it.
        label_y = min(label_y - 54, y - high / 2 - 32)
        left = MARGIN_PX + vessel_px + 40
        canvas.text((left, label_y), text, _INNER_PX - vessel_px - 40, 40)
        y -= high
    return canvas.png()
