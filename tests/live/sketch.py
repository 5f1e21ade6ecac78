"""A four-bar of known size as a sketch in pencil, on a sheet that lies a little askew."""

from __future__ import annotations

from itertools import pairwise
from math import acos, atan2, cos, hypot, sin

import numpy as np
from PIL import Image, ImageDraw

from simprop.geometry.arrays import Array

SIZE = (1500, 1125)
SCALE = 2.37
"""Pixels of a millimetre."""
TILT = 0.0524
"""How far the sheet is turned clockwise, rad: 3 degrees."""
CORNER = (215.0, 905.0)
"""Pixel of mark 1, which is 0 0 mm."""
APART = 400.0
"""From mark 1 to mark 2, which is level with it, mm."""
GROUND, CRANK, COUPLER, ROCKER = 200.0, 60.0, 180.0, 140.0
"""Lengths of the four-bar, mm: invented."""


def pins() -> dict[str, tuple[float, float]]:
    """Its pins, across and up from mark 1, mm: the triangle of coupler and rocker by the law of cosines."""
    left, right = (90.0, 120.0), (90.0 + GROUND, 120.0)
    top = (left[0] + CRANK * cos(1.1), left[1] + CRANK * sin(1.1))
    far = hypot(right[0] - top[0], right[1] - top[1])
    at_top = acos((far**2 + COUPLER**2 - ROCKER**2) / (2 * far * COUPLER))
    way = atan2(right[1] - top[1], right[0] - top[0]) + at_top
    return {
        "hub": left,
        "knob": top,
        "elbow": (top[0] + COUPLER * cos(way), top[1] + COUPLER * sin(way)),
        "heel": right,
    }


def pixel(spot: tuple[float, float]) -> tuple[float, float]:
    """Where a place of the sheet, mm, is in the picture, pixels from its upper left."""
    x, y = spot[0] * SCALE, -spot[1] * SCALE
    return (CORNER[0] + x * cos(TILT) - y * sin(TILT), CORNER[1] + x * sin(TILT) + y * cos(TILT))


def sketch() -> Image.Image:
    """The sketch: paper with its grain, bars as pairs of strokes, pins as circles, two crosses and their distance."""
    dice = np.random.default_rng(7)
    grain = dice.normal(0.0, 2.4, (SIZE[1], SIZE[0], 1)) + np.linspace(0, -9, SIZE[0])[None, :, None]
    paper = Image.fromarray(np.clip(np.array([244.0, 239.0, 226.0]) + grain, 0, 255).astype(np.uint8))
    lead = Image.new("L", SIZE, 0)
    draw = ImageDraw.Draw(lead)
    at = pins()
    for one, other in (("hub", "knob"), ("knob", "elbow"), ("elbow", "heel")):
        _bar(draw, dice, np.array(at[one]), np.array(at[other]))
    for spot in at.values():
        for radius in (4.0, 1.2):
            _stroke(
                draw,
                dice,
                [np.array(spot) + radius * np.array([cos(a), sin(a)]) for a in np.linspace(0, 6.6, 40)],
            )
    for name in ("hub", "heel"):
        _ground(draw, dice, np.array(at[name]))
    for spot in ((0.0, 0.0), (APART, 0.0)):
        for way in (np.array([9.0, 0.0]), np.array([0.0, 9.0])):
            _stroke(draw, dice, [np.array(spot) - way, np.array(spot) + way])
    _stroke(draw, dice, [np.array([14.0, 0.0]), np.array([APART - 14.0, 0.0])], faint=True)
    shade = (
        np.asarray(lead, dtype=float)[..., None] / 255 * (0.75 + 0.25 * dice.random((SIZE[1], SIZE[0], 1)))
    )
    dark = np.asarray(paper, dtype=float) * (1 - shade) + np.array([58.0, 58.0, 64.0]) * shade
    return Image.fromarray(dark.astype(np.uint8))


def _stroke(
    draw: ImageDraw.ImageDraw, dice: np.random.Generator, way: list[Array], *, faint: bool = False
) -> None:
    """A line by a hand that goes over it twice."""
    for _ in range(1 if faint else 2):
        fine = np.concatenate([np.linspace(a, b, 12) for a, b in pairwise(way)])
        drift = np.cumsum(dice.normal(0.0, 0.05, fine.shape), axis=0)
        drift -= np.linspace(drift[0], drift[-1], len(drift))
        points = [pixel((float(x), float(y))) for x, y in fine + drift]
        draw.line(points, fill=110 if faint else int(dice.integers(150, 210)), width=2, joint="curve")


def _bar(draw: ImageDraw.ImageDraw, dice: np.random.Generator, one: Array, other: Array) -> None:
    way = (other - one) / np.linalg.norm(other - one)
    side = 8.0 * np.array([-way[1], way[0]])
    for s in (side, -side):
        _stroke(draw, dice, [one + s, other + s])
    for end, out in ((one, -way), (other, way)):
        turn = atan2(side[1], side[0])
        sign = 1.0 if side[0] * out[1] > side[1] * out[0] else -1.0
        _stroke(
            draw,
            dice,
            [
                end + 8.0 * np.array([cos(turn + sign * a), sin(turn + sign * a)])
                for a in np.linspace(0, np.pi, 12)
            ],
        )


def _ground(draw: ImageDraw.ImageDraw, dice: np.random.Generator, at: Array) -> None:
    foot = [at + np.array([-22.0, -34.0]), at + np.array([22.0, -34.0])]
    _stroke(draw, dice, [at + np.array([-6.0, -7.0]), foot[0], foot[1], at + np.array([6.0, -7.0])])
    for x in np.arange(-20.0, 22.0, 8.0):
        _stroke(draw, dice, [at + np.array([x, -34.0]), at + np.array([x - 6.0, -42.0])])
