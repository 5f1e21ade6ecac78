"""Load arrows: drawn behind what moves, their values where they cover none of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.picture.render.camera import Camera
from simprop.picture.render.extras import Arrow, largest, value_at
from simprop.picture.render.overlay import INK, Style, text_size, write
from simprop.picture.render.strokes import Image, stroke, wedge

RED = (200, 40, 40)
PLACES: tuple[tuple[str, float, float], ...] = tuple(
    (end, reach * x, reach * y)
    for reach in (1.0, 2.2, 3.6, 5.2)
    for end in ("tip", "root")
    for x, y in ((1, 0), (-1, 0), (0, -1), (0, 1), (0.8, -0.8), (-0.8, -0.8), (0.8, 0.8), (-0.8, 0.8))
)
"""Where a value may stand: by which end of its arrow, and how many heights of text aside and below."""


def arrow_length(points: Array) -> float:
    """Length at which the largest force is drawn, m: two ninths of the size of what moves."""
    return 0.22 * float(np.linalg.norm(points.max(axis=0) - points.min(axis=0)))


def _ends(
    arrow: Arrow, top: float, now: float, camera: Camera, length: float, over: float
) -> tuple[Array, Array, float]:
    """Root and tip in pixels, and size in N."""
    start = value_at(arrow.time, arrow.point, now, over)
    force = value_at(arrow.time, arrow.force, now, over)
    tip = start + force * (length / (arrow.scale or top))
    return camera.seen(start)[:2], camera.seen(tip)[:2], float(np.linalg.norm(force))


def draw_arrows(
    image: Image,
    arrows: Sequence[Arrow],
    now: float,
    camera: Camera,
    length: float,
    style: Style,
    over: float = 0.0,
) -> None:
    """Force arrows at an instant, the largest of the run drawn `length` m long; the mean over `over` seconds."""
    top = largest(arrows)
    for arrow in arrows:
        a, b, _ = _ends(arrow, top, now, camera, length, over)
        run = b - a
        far = float(np.hypot(*run))
        head = min(11 * style.unit, 0.6 * far)
        if far > 3:
            unit = run / far
            side = np.array([-unit[1], unit[0]])
            neck = b - unit * head
            for colour, grow in ((style.halo, 1.2 * style.unit), (RED, 0.0)):
                stroke(image, [a, neck], colour, 2.4 * style.unit + 2 * grow)
                tip = [
                    b + unit * 2 * grow,
                    neck - unit * grow + side * (0.45 * head + grow),
                    neck - unit * grow - side * (0.45 * head + grow),
                ]
                wedge(image, np.array(tip), colour)
        stroke(image, [a], style.halo, 7 * style.unit)
        stroke(image, [a], RED, 5 * style.unit)


def arrow_text(arrow: Arrow, size: float) -> str:
    """What is written beside an arrow of `size` N.

    Example:
        >>> t = np.array([0.0, 1.0])
        >>> arrow_text(Arrow("neck", t, np.zeros((2, 3)), np.zeros((2, 3)), note="weight alone"), 3.6)
        'neck 3.6 N, weight alone'
    """
    text = f"{arrow.label} {size:.3g} N" if size >= 0.1 else f"{arrow.label} {size:.2f} N"
    return f"{text}, {arrow.note}" if arrow.note else text


def _box(
    place: tuple[str, float, float], a: Array, b: Array, wide: float, frame: tuple[float, float, float, float],
    style: Style,
) -> tuple[float, float, float, float]:  # fmt: skip
    """Left, top, right, bottom of a value in pixels, within the frame (left, top, right, bottom)."""
    end, aside, below = place
    x, y = b if end == "tip" else a
    tall = 1.25 * style.text
    x += aside * style.text
    x -= wide if aside < 0 else 0.5 * wide if aside == 0 else 0.0
    y += below * style.text - tall / 2
    x = min(max(x, frame[0]), frame[2] - wide)
    y = min(max(y, frame[1]), frame[3] - tall)
    return x, y, x + wide, y + tall


Box = tuple[float, float, float, float]


def _shared(one: Box, two: Box) -> float:
    wide, tall = min(one[2], two[2]) - max(one[0], two[0]), min(one[3], two[3]) - max(one[1], two[1])
    return max(wide, 0.0) * max(tall, 0.0)


def settled_places(
    arrows: Sequence[Arrow],
    moments: Sequence[tuple[float, Camera, Any]],
    length: float,
    style: Style,
    frame: Box,
) -> list[tuple[str, float, float]]:
    """For each arrow the one of `PLACES` at which its value covers least of what moves, over the whole clip.

    Args:
        moments: instants, s, each with its camera and the share of every pixel of a small picture that shows what
            moves, (h, w).
        frame: left, top, right, bottom that values stay within, pixels.
    """
    top = largest(arrows)
    chosen: list[tuple[str, float, float]] = []
    for k in range(len(arrows)):
        costs = np.zeros(len(PLACES))
        for now, camera, cover in moments:
            scale = cover.shape[1] / camera.size[0]
            sums = np.pad(cover, ((1, 0), (1, 0))).cumsum(axis=0).cumsum(axis=1)
            ends = [_ends(one, top, now, camera, length, 0.0) for one in arrows[: k + 1]]
            wides = [
                text_size(arrow_text(o, e[2]), style.text)[0]
                for o, e in zip(arrows[: k + 1], ends, strict=True)
            ]
            before = [
                _box(p, e[0], e[1], w, frame, style)
                for p, e, w in zip(chosen, ends[:k], wides[:k], strict=True)
            ]
            a, b, _ = ends[k]
            for i, place in enumerate(PLACES):
                box = _box(place, a, b, wides[k], frame, style)
                x0, y0, x1, y1 = (round(v * scale) for v in box)
                hidden = sums[y1, x1] - sums[y0, x1] - sums[y1, x0] + sums[y0, x0]
                on_line = sum(
                    _shared(box, (p[0] - 3, p[1] - 3, p[0] + 3, p[1] + 3))
                    for p in a + (b - a) * np.linspace(0, 1, 7)[:, None]
                )
                costs[i] += hidden / scale**2 + on_line + 4 * sum(_shared(box, other) for other in before)
        nearness = [0.002 * style.text**2 * len(moments) * (abs(x) + abs(y)) for _, x, y in PLACES]
        chosen.append(PLACES[int(np.argmin(costs + nearness))])
    return chosen


def write_values(
    image: Image,
    arrows: Sequence[Arrow],
    places: Sequence[tuple[str, float, float]],
    now: float,
    camera: Camera,
    length: float,
    style: Style,
    frame: Box,
    over: float = 0.0,
) -> None:
    """The value of each arrow at its place; the mean over `over` seconds."""
    top = largest(arrows)
    colour = RED if style.ink == INK else (255, 150, 140)
    for arrow, place in zip(arrows, places, strict=True):
        a, b, size = _ends(arrow, top, now, camera, length, over)
        text = arrow_text(arrow, size)
        x, y, _, down = _box(place, a, b, text_size(text, style.text)[0], frame, style)
        write(image, text, (x, (y + down) / 2), style.text, colour, style.halo, "lm")
