"""Draws the extras of a clip: arrows, gauges, flashes and the cue strip."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.geometry.arrays import Array
from simprop.picture.render.camera import Camera
from simprop.picture.render.extras import Arrow, CueRow, Flash, Gauge, largest, value_at
from simprop.picture.render.overlay import INK, PAPER, Style, shortened, text_size, write
from simprop.picture.render.strokes import Image, stroke, wedge

RED = (200, 40, 40)
AMBER = (240, 170, 40)
BLUE = (86, 180, 233)
STRIP = 15
"""Height of one row of the cue strip at 480 pixels."""
GAUGE = 40
"""Height of the strip of gauges at 480 pixels."""


def draw_arrows(
    image: Image,
    arrows: Sequence[Arrow],
    now: float,
    camera: Camera,
    length: float,
    style: Style,
    floor: float,
    over: float = 0.0,
) -> None:
    """Force arrows at an instant, the largest of the run drawn `length` m long, each with its value.

    `floor`: labels stay above this row of the picture; `over`: the mean over so many seconds is shown.
    """
    top = largest(arrows)
    taken: list[tuple[float, float]] = []
    for arrow in arrows:
        start = value_at(arrow.time, arrow.point, now, over)
        force = value_at(arrow.time, arrow.force, now, over)
        size = float(np.linalg.norm(force))
        a = camera.seen(start)[:2]
        b = camera.seen(start + force * (length / (arrow.scale or top)))[:2]
        run = b - a
        far = float(np.hypot(*run))
        head = min(13 * style.unit, 0.6 * far)
        if far > 3:
            unit = run / far
            side = np.array([-unit[1], unit[0]])
            neck = b - unit * head
            for colour, grow in ((style.halo, 1.6 * style.unit), (RED, 0.0)):
                stroke(image, [a, neck], colour, 4.0 * style.unit + 2 * grow)
                tip = [
                    b + unit * 2 * grow,
                    neck - unit * grow + side * (0.5 * head + grow),
                    neck - unit * grow - side * (0.5 * head + grow),
                ]
                wedge(image, np.array(tip), colour)
        stroke(image, [a], style.halo, 9 * style.unit)
        stroke(image, [a], RED, 6 * style.unit)
        text = f"{arrow.label} {size:.3g} N" if size >= 0.1 else f"{arrow.label} {size:.2f} N"
        wide, tall = text_size(text, style.text)
        beside = b[0] + 12 * style.unit if run[0] >= -8 * style.unit else b[0] - 12 * style.unit - wide
        x = float(np.clip(beside, 6, image.shape[1] - wide - 8))
        y = float(np.clip(b[1], 10 * style.unit + tall, floor - tall))
        for other in taken:
            if abs(other[1] - y) < 1.3 * style.text and abs(other[0] - x) < 1.2 * wide:
                y = other[1] + 1.35 * style.text
        taken.append((x, y))
        write(image, text, (x, y), style.text, RED if style.ink == INK else (255, 150, 140), style.halo, "lm")


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
            stroke(image, circle, style.halo, 5 * style.unit, 0.6 * strength)
            stroke(image, circle, AMBER, 3 * style.unit, strength)
        size = round(1.1 * style.text)
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
    first = (
        f"{gauge.name} {load:.2f} {unit}"
        if gauge.able is None
        else f"{gauge.name} {load:.2f} of {gauge.able:.2f} {unit}"
    )
    speed = f"{abs(rate) * 30 / np.pi:.1f} rpm" if gauge.turning else f"{1000 * abs(rate):.0f} mm/s"
    second = speed + (f"  {round(current, 2) + 0.0:.2f} A" if np.isfinite(current) else "")
    return first, second, None if not gauge.able else load / gauge.able


def draw_gauges(image: Image, gauges: Sequence[Gauge], now: float, style: Style, over: float = 0.0) -> None:
    """A strip at the top: for each motor a bar of its load against its stall, with speed and current.

    A tick stands at the peak while it runs; values are means of `over` seconds.
    """
    if not gauges:
        return
    shown = gauges[: max(1, int(image.shape[1] / (200 * style.unit)))]
    tall = round(GAUGE * style.unit)
    region = image[:tall]
    region[:] = (region * 0.22 + np.array(INK, np.float32) * 0.78).astype(np.uint8)
    pad = 12 * style.unit
    cell = (image.shape[1] - pad) / len(shown)
    small = max(11, style.text - 2)
    for k, gauge in enumerate(shown):
        first, second, share = gauge_text(gauge, now, over)
        left, right = pad + k * cell, (k + 1) * cell
        write(image, shortened(second, small, cell - pad), (right, 13 * style.unit), small, PAPER, None, "rm")
        room = right - left - text_size(second, small)[0] - pad
        write(image, shortened(first, small, room), (left, 13 * style.unit), small, PAPER, None, "lm")
        y = 29 * style.unit
        stroke(image, [(left + 3, y), (right - 3, y)], (90, 93, 98), 7 * style.unit)
        if share is not None:
            end = left + 3 + (right - left - 6) * float(np.clip(share, 0.0, 1.0))
            colour = BLUE if share < 0.7 else AMBER if share < 0.95 else RED
            stroke(image, [(left + 3, y), (end, y)], colour, 7 * style.unit)
        if gauge.peak is not None and gauge.able:
            x = left + 3 + (right - left - 6) * float(np.clip(gauge.peak / gauge.able, 0.0, 1.0))
            stroke(image, [(x, y - 5 * style.unit), (x, y + 5 * style.unit)], PAPER, 1.6 * style.unit)


def draw_cues(image: Image, cues: Sequence[CueRow], now: float, end: float, style: Style) -> None:
    """A strip above the caption: what each channel does over the whole run, and where the clip is."""
    if not cues:
        return
    row = STRIP * style.unit
    small = max(10, round(11 * style.unit))
    height, width = image.shape[:2]
    bottom = height - style.band
    top = bottom - row * len(cues) - 4 * style.unit
    region = image[round(top) : bottom]
    region[:] = (region * 0.3 + np.array(INK, np.float32) * 0.7).astype(np.uint8)
    pad = 12 * style.unit
    names = max(text_size(c.name, small)[0] for c in cues)
    left, right = pad + min(names, 0.25 * width) + 8 * style.unit, width - pad

    def at(t: float) -> float:
        return float(left + (right - left) * min(max(t / end, 0.0), 1.0))

    for k, cue in enumerate(cues):
        y = top + 3 * style.unit + (k + 0.5) * row
        write(image, shortened(cue.name, small, 0.25 * width), (pad, y), small, PAPER, None, "lm")
        stroke(image, [(left, y), (right, y)], (105, 108, 112), 1.2 * style.unit)
        for a, b in cue.windows:
            on = a <= now < b
            stroke(
                image, [(at(a) + 3, y), (max(at(b) - 3, at(a) + 4), y)], AMBER if on else BLUE, 7 * style.unit
            )
    stroke(image, [(at(now), top + 2), (at(now), bottom - 3)], PAPER, 1.6 * style.unit)


def frame_room(gauges: int, cues: int, base_top: float, base_bottom: float) -> tuple[float, float]:
    """Top and bottom margins (shares of the height) with gauges and cue rows in place.

    Example:
        >>> frame_room(0, 0, 0.07, 0.13)
        (0.07, 0.13)
    """
    top = base_top + (GAUGE / 480 if gauges else 0.0)
    bottom = base_bottom + ((STRIP * cues + 4) / 480 if cues else 0.0)
    return top, bottom


def arrow_length(points: Array) -> float:
    """Length at which the largest force is drawn, m: a fifth of the size of what is framed."""
    return 0.2 * float(np.linalg.norm(points.max(axis=0) - points.min(axis=0)))
