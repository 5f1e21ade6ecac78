"""Draws the extras of a clip: arrows, gauges, flashes and the cue strip."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.picture.render.arrows import RED
from simprop.picture.render.camera import Camera
from simprop.picture.render.extras import CueRow, Flash, Gauge, value_at
from simprop.picture.render.overlay import INK, PAPER, Style, shortened, text_size, write
from simprop.picture.render.strokes import Image, stroke

AMBER = (240, 170, 40)
BLUE = (86, 180, 233)
CUE_ROWS = 6
"""Rows of the cue strip at most; the last says how many more there are."""
GAUGES = 4
"""Gauges at most."""


def draw_flashes(
    image: Image,
    flashes: Sequence[Flash],
    now: float,
    camera: Camera,
    style: Style,
    hold: float,
    floor: float,
) -> None:
    """A ring round the place and the peak in words, from shortly before until `hold` s after it.

    The words end at the right, above the row `floor` of the picture.
    """
    for flash in flashes:
        age = now - flash.time
        if not -0.3 * hold <= age <= hold:
            continue
        strength = float(np.clip(1.0 - max(age, 0.0) / hold, 0.0, 1.0)) ** 0.5
        if flash.point is not None:
            x, y = camera.seen(flash.point)[:2]
            radius = (14 + 16 * max(age, 0.0) / hold) * style.unit
            angle = np.linspace(0, 2 * np.pi, 49)
            circle = np.stack([x + radius * np.cos(angle), y + radius * np.sin(angle)], 1)
            stroke(image, circle, style.halo, 4 * style.unit, 0.6 * strength)
            stroke(image, circle, AMBER, 2 * style.unit, strength)
        size = style.text
        wide, tall = text_size(flash.text, size)
        pad = round(3 * style.unit)
        left = round(image.shape[1] - wide - 8 * style.unit - 2 * pad)
        y0 = round(floor - 3 * style.unit - tall - 2 * pad)
        region = image[y0 : y0 + tall + 2 * pad, left - 2 * pad : left + wide + 2 * pad]
        region[:] = (region * (1 - 0.8 * strength) + np.array(INK) * 0.8 * strength).astype(np.uint8)
        write(
            image,
            flash.text,
            (left, y0 + pad + tall / 2),
            size,
            AMBER,
            None,
            "lm",
            max(strength, 0.4),
        )


def gauge_text(gauge: Gauge, now: float, over: float = 0.0) -> tuple[str, str, float | None]:
    """Load, read-outs and share of what the motor can give, at an instant, or in the mean of so many seconds around it.

    Example:
        >>> t = np.array([0.0, 1.0])
        >>> one = np.ones(2)
        >>> gauge_text(Gauge("drive", t, one, 4.0, np.pi * one, 2 * one), 0.5)
        ('drive 1.00 of 4.00 N·m', '30.0 rpm  2.00 A', 0.25)
    """
    load = float(value_at(gauge.time, gauge.load, now, over))
    rate = float(value_at(gauge.time, gauge.rate, now, over))
    current = float(value_at(gauge.time, gauge.current, now, over))
    unit = "N·m" if gauge.turning else "N"
    most = gauge.able or gauge.peak or 0.0
    places = 2 if most < 10 else 1 if most < 100 else 0
    of = "" if gauge.able is None else f" of {gauge.able:.{places}f}"
    first = f"{gauge.name} {load:.{places}f}{of} {unit}"
    speed = f"{abs(rate) * 30 / np.pi:.1f} rpm" if gauge.turning else f"{1000 * abs(rate):.0f} mm/s"
    second = speed + (f"  {round(current, 2) + 0.0:.2f} A" if np.isfinite(current) else "")
    return first, second, None if not gauge.able else load / gauge.able


def gauge_height(count: int, style: Style) -> int:
    """Height of the strip of `count` gauges, pixels: one has a line of text, two and more have two lines each."""
    if not count:
        return 0
    rows = (min(count, GAUGES) + 1) // 2
    return round(rows * (2.2 if count == 1 else 3.35) * style.text)


def draw_gauges(image: Image, gauges: Sequence[Gauge], now: float, style: Style, over: float = 0.0) -> None:
    """A strip at the top: for each drive a bar of its load against its stall, with speed and current.

    A tick stands at the peak while it runs; values are means of `over` seconds.
    """
    if not gauges:
        return
    shown = gauges[:GAUGES]
    tall = gauge_height(len(gauges), style)
    region = image[:tall]
    region[:] = (region * 0.22 + np.array(INK, np.float32) * 0.78).astype(np.uint8)
    pad, size = 10 * style.unit, style.text
    columns = min(2, len(shown))
    cell, line = (image.shape[1] - pad) / columns, tall / ((len(shown) + 1) // 2)
    for k, gauge in enumerate(shown):
        first, second, share = gauge_text(gauge, now, over)
        left, top = pad + (k % 2) * cell, (k // 2) * line
        right = left + cell - pad
        y = top + 0.85 * size
        if columns == 1:
            write(image, second, (right, y), size, PAPER, None, "rm")
            room = right - left - text_size(second, size)[0] - pad
            write(image, shortened(first, size, room), (left, y), size, PAPER, None, "lm")
        else:
            if len(gauges) > GAUGES and k == len(shown) - 1:
                second += f"  (+{len(gauges) - GAUGES} more)"
            write(image, shortened(first, size, right - left), (left, y), size, PAPER, None, "lm")
            y += 1.15 * size
            write(image, shortened(second, size, right - left), (left, y), size, PAPER, None, "lm")
        _gauge_bar(image, gauge, share, (left + 3, right - 3, y + 0.9 * size), style)


def _gauge_bar(
    image: Image, gauge: Gauge, share: float | None, at: tuple[float, float, float], style: Style
) -> None:
    """The bar of a gauge between x and x at y; nearly full it is amber, then red."""
    left, right, y = at
    thick = 0.45 * style.text
    stroke(image, [(left, y), (right, y)], (90, 93, 98), thick)
    if share is not None:
        end = left + (right - left) * float(np.clip(share, 0.0, 1.0))
        colour = BLUE if share < 0.7 else AMBER if share < 0.95 else RED
        stroke(image, [(left, y), (end, y)], colour, thick)
    if gauge.peak is not None and gauge.able:
        x = left + (right - left) * float(np.clip(gauge.peak / gauge.able, 0.0, 1.0))
        stroke(image, [(x, y - 0.75 * thick), (x, y + 0.75 * thick)], PAPER, 1.6 * style.unit)


def strip_height(count: int, style: Style) -> int:
    """Height of the strip of `count` rows of cues, pixels."""
    return round(min(count, CUE_ROWS) * 1.15 * style.text + 5 * style.unit) if count else 0


def draw_cues(image: Image, cues: Sequence[CueRow], now: float, end: float, style: Style) -> None:
    """A strip above the caption: what each channel does over the whole run, and where the clip is.

    What is done is a thin line, what is on is filled, what is to come is an outline: told apart without colour.
    """
    if not cues:
        return
    shown = cues if len(cues) <= CUE_ROWS else cues[: CUE_ROWS - 1]
    row, size = 1.15 * style.text, style.text
    height, width = image.shape[:2]
    bottom = height - style.band
    top = bottom - strip_height(len(cues), style)
    region = image[top:bottom]
    region[:] = (region * 0.3 + np.array(INK, np.float32) * 0.7).astype(np.uint8)
    pad = 10 * style.unit
    names = max(text_size(c.name, size)[0] for c in shown)
    left, right = pad + min(names, 0.3 * width) + 8 * style.unit, width - pad

    def at(t: float) -> float:
        return float(left + (right - left) * min(max(t / end, 0.0), 1.0))

    for k, cue in enumerate(shown):
        y = top + 3 * style.unit + (k + 0.5) * row
        write(image, shortened(cue.name, size, 0.3 * width), (pad, y), size, PAPER, None, "lm")
        stroke(image, [(left, y), (right, y)], (105, 108, 112), 1.2 * style.unit)
        for a, b in cue.windows:
            _cue_bar(image, (at(a) + 3, max(at(b) - 3, at(a) + 4), y), int(now >= a) + int(now >= b), style)
    if len(shown) < len(cues):
        words = f"and {len(cues) - len(shown)} more"
        y = top + 3 * style.unit + (len(shown) + 0.5) * row
        write(image, words, (pad, y), size, PAPER, None, "lm")
    stroke(image, [(at(now), top + 2), (at(now), bottom - 3)], PAPER, 1.6 * style.unit)


def _cue_bar(image: Image, at: tuple[float, float, float], state: int, style: Style) -> None:
    """A bar from x to x at y that is to come (0), on (1) or done (2)."""
    left, right, y = at
    thick = 0.6 * style.text
    if state == 2:
        stroke(image, [(left, y), (right, y)], BLUE, 0.2 * style.text)
        return
    stroke(image, [(left, y), (right, y)], PAPER if state == 1 else BLUE, thick)
    inner = thick - 3.0 * style.unit
    stroke(image, [(left, y), (right, y)], AMBER if state == 1 else (44, 46, 50), inner)
