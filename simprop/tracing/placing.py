"""Where a picture lies: pixels to places in its view and back, its corners, and what it can tell.

A pixel and a place are taken as complex numbers, to the right and up: a place is that of mark 1 and the way from there
in pixels, times a scale, turned.
"""

from __future__ import annotations

from cmath import exp, phase
from collections.abc import Mapping
from math import hypot, isfinite, pi, sqrt
from typing import get_args

from pydantic_core import PydanticCustomError

from simprop.errors import Fault, RigError, nearest
from simprop.quantities import KINDS
from simprop.reading.fields import LIMITS, Scope, Vector, read_row, read_scalar
from simprop.reading.text import read_text
from simprop.tracing.rounding import step_from, step_to
from simprop.tracing.types import Level, Pair, Placing, View

AXES: dict[View, tuple[int, int, int]] = {"front": (0, 2, 1), "side": (1, 2, 0)}
"""Of each view the axes to the right, up, and along which it looks."""
NEAREST = 10.0
"""Marks that are nearer to each other tell no scale, pixels."""
PICKED = 0.5
"""Standard deviation of where something is picked in a picture, along each edge, pixels (assumed; a
blurred hole is worse)."""


def in_view(view: View, place: Vector) -> Pair:
    """The two coordinates of a place that a view shows, to the right and up, m.

    Args:
        view: whose.
        place: x, y, z, m.

    Example:
        >>> in_view("front", (0.1, 0.2, 0.3)), in_view("side", (0.1, 0.2, 0.3))
        ((0.1, 0.3), (0.2, 0.3))
    """
    right, up, _ = AXES[view]
    return place[right], place[up]


def in_world(view: View, at: Pair, depth: float) -> Vector:
    """A place of the world.

    Args:
        view: that shows it.
        at: to the right and up in it, m.
        depth: its coordinate along the axis that the view looks along (y from the front, x from the side), m.

    Example:
        >>> in_world("front", (0.1, 0.3), 0.2), in_world("side", (0.2, 0.3), 0.1)
        ((0.1, 0.2, 0.3), (0.1, 0.2, 0.3))
    """
    axes = dict(zip(AXES[view], (*at, depth), strict=True))
    return axes[0], axes[1], axes[2]


def scale(placing: Placing) -> float:
    """What a pixel is in the world, m.

    Example:
        >>> scale(Placing("bench.jpg", (800, 600), "front", ((100, 300), (600, 300)), 0.25, (0, 0)))
        0.0005
    """
    return placing.distance / abs(_line(placing))


def turned(placing: Placing) -> float:
    """By how much the picture is turned so that its marks lie as is said, rad, counter-clockwise.

    A line that is said to be level or upright is turned there the shorter way; see `faults_in`.

    Example:
        >>> placing = Placing("bench.jpg", (800, 600), "front", ((100, 300), (600, 310)), 0.25, (0, 0), "level")
        >>> round(turned(placing), 6)  # mark 2 is too low by 10 pixels in 500
        0.019997
    """
    if placing.level == "as it lies":
        return 0.0
    off = phase(_line(placing)) - (pi / 2 if placing.level == "upright" else 0.0)
    return pi * round(off / pi) - off


def place_of(placing: Placing, pixel: Pair) -> Pair:
    """Where a pixel lies, to the right and up in the view, m; beside the picture too.

    Args:
        placing: of the picture.
        pixel: from its left and its upper edge.

    Example:
        >>> placing = Placing("bench.jpg", (800, 600), "front", ((100, 300), (600, 300)), 0.25, (0.0, 0.9))
        >>> [round(v, 6) for v in place_of(placing, (200, 100))]
        [0.05, 1.0]
    """
    found = complex(*placing.at) + _factor(placing) * (_up(pixel) - _up(placing.marks[0]))
    return found.real, found.imag


def pixel_of(placing: Placing, at: Pair) -> Pair:
    """The pixel at a place: the inverse of `place_of`.

    Args:
        placing: of the picture.
        at: to the right and up in the view, m.

    Example:
        >>> placing = Placing("bench.jpg", (800, 600), "front", ((100, 300), (600, 300)), 0.25, (0.0, 0.9))
        >>> [round(v, 6) for v in pixel_of(placing, (0.05, 1.0))]
        [200.0, 100.0]
    """
    found = _up(placing.marks[0]) + (complex(*at) - complex(*placing.at)) / _factor(placing)
    return found.real, -found.imag


def corners(placing: Placing) -> tuple[Pair, Pair, Pair, Pair]:
    """The corners of the picture: upper left, upper right, lower right, lower left as it is seen unturned; each m.

    Example:
        >>> placing = Placing("bench.jpg", (800, 600), "front", ((100, 300), (600, 300)), 0.25, (0.0, 0.9))
        >>> [round(v, 6) for v in corners(placing)[0]]
        [-0.05, 1.05]
    """
    w, h = placing.size
    a, b, c, d = (place_of(placing, pixel) for pixel in ((0, 0), (w, 0), (w, h), (0, h)))
    return a, b, c, d


def middle(placing: Placing) -> Pair:
    """The middle of the picture, m."""
    return place_of(placing, (placing.size[0] / 2, placing.size[1] / 2))


def extent(placing: Placing) -> Pair:
    """Width and height of the picture, m."""
    return placing.size[0] * scale(placing), placing.size[1] * scale(placing)


def fineness(placing: Placing) -> float:
    """What the picture can tell, as a step to round to: 1, 2 or 5 times a power of ten, m.

    A place is at + (p - m1) (distance / |m2 - m1|), turned. With p, m1 and m2 each picked with a standard deviation of
    u along each edge (`PICKED`), with d1, d2 pixels from p to the marks and L between them, the place has one of

        s u sqrt(1 + (d1^2 + d2^2) / L^2),    s = distance / L

    along each axis: 1 is the pick itself, the rest what the marks bring in. (The derivatives by p, m1 and m2 are 1,
    z - 1 and -z with z = (p - m1) / (m2 - m1) as complex numbers. It is taken so for a line "as it lies" too, though
    that needn't be turned.) It is largest in a corner. The step is the largest that isn't coarser than that, so that
    rounding adds a twentieth to it at most, but never finer than a pixel. Left out: a lens that bends lines, a camera
    that looks askew, what lies nearer than what was marked.

    Source: the law of propagation of uncertainty, JCGM 100:2008, 5.1.2.

    Example:
        >>> fineness(Placing("bench.jpg", (800, 600), "front", ((100, 300), (600, 300)), 0.25, (0, 0)))
        0.0005
        >>> fineness(Placing("bench.jpg", (800, 600), "front", ((100, 300), (130, 300)), 0.015, (0, 0)))
        0.005
    """
    w, h = placing.size
    (x1, y1), (x2, y2) = placing.marks
    line = abs(_line(placing))
    spread = max(
        hypot(x - x1, y - y1) ** 2 + hypot(x - x2, y - y2) ** 2 for x, y in ((0, 0), (w, 0), (w, h), (0, h))
    )
    pixel = scale(placing)
    step = step_to(pixel * PICKED * sqrt(1 + spread / line**2))
    return step if step >= pixel else step_from(pixel)


def faults_in(placing: Placing) -> list[Fault]:
    """What keeps a picture from being laid: marks on one spot or beside the picture, no distance, a line that is turned
    further than half-way to what it is said to be.

    Example:
        >>> apart = ((100, 300), (110, 700))
        >>> [str(f) for f in faults_in(Placing("bench.jpg", (800, 600), "front", apart, 0.25, (0, 0)))]
        ["marks.1: mark 2 is beside the picture (got '110, 700'; allowed: 0, 0 to 800, 600)"]
    """
    faults = []
    for i, (x, y) in enumerate(placing.marks):
        if not (0 <= x <= placing.size[0] and 0 <= y <= placing.size[1]):
            within = f"0, 0 to {placing.size[0]}, {placing.size[1]}"
            faults.append(
                Fault(
                    f"mark {i + 1} is beside the picture", None, None, f"marks.{i}", f"{x:g}, {y:g}", within
                )
            )
    if not faults and abs(_line(placing)) < NEAREST:
        message = "the two marks are on one spot, or all but that: they tell no scale"
        faults.append(Fault(message, field="marks", allowed=f"{NEAREST:g} pixels apart or more"))
    elif not faults and abs(turned(placing)) > pi / 4:
        other = "upright" if placing.level == "level" else "level"
        message = f"the line between the marks lies nearer to {other}: is the picture on its side?"
        faults.append(Fault(message, field="level", value=placing.level, allowed=", ".join(get_args(Level))))
    if not (isfinite(placing.distance) and 0.0 < placing.distance <= LIMITS["length"][1]):
        example = KINDS["length"][1]
        faults.append(
            Fault("the distance of the marks is above zero", None, None, "distance", allowed=example)
        )
    return faults


def checked(placing: Placing) -> Placing:
    """The placing, if it is one.

    Raises:
        RigError: with what is wrong; see `faults_in`.
    """
    faults = faults_in(placing)
    if faults:
        raise RigError(faults)
    return placing


def placed(
    file: str,
    size: tuple[int, int],
    view: View,
    marks: tuple[Pair, Pair],
    distance: str,
    at: str,
    level: Level = "as it lies",
    points: Mapping[str, Vector] | None = None,
) -> Placing:
    """A placing from what a person writes.

    Args:
        file, size, view, marks, level: see `Placing`.
        distance: with its unit.
        at: two numbers and a unit (``0 300 mm``), a list of two values (``[0 mm, 1 ft]``), or the name of a point.
        points: those of the rig, x, y, z, m.

    Raises:
        RigError: with all that is wrong.

    Example:
        >>> placed("bench.jpg", (800, 600), "front", ((100, 300), (600, 300)), "250 mm", "0 900 mm").at
        (0.0, 0.9)
    """
    faults: list[Fault] = []
    length, place = 1.0, (0.0, 0.0)
    try:
        length = read_scalar(distance, "length", Scope())
    except PydanticCustomError as error:
        faults.append(_fault("distance", distance, error))
    known = points or {}
    if at.strip() in known:
        place = in_view(view, known[at.strip()])
    else:
        try:
            place = _two(at)
        except PydanticCustomError as error:
            faults.append(_fault("at", at, error, nearest(at.strip(), known)))
    placing = Placing(file, size, view, marks, length, place, level)
    faults += faults_in(placing)
    if faults:
        raise RigError(faults)
    return placing


def _two(text: str) -> Pair:
    inline = text.strip().startswith("[")
    x, y = read_row(read_text(text, "at").data if inline else text, "length", 2, Scope())
    return x, y


def _fault(field: str, value: str, error: PydanticCustomError, near: str | None = None) -> Fault:
    told = error.context or {}
    allowed = "0 300 mm, [0 mm, 1 ft], or a point of the rig" if field == "at" else told.get("allowed")
    return Fault(error.message(), field=field, value=value, allowed=allowed, nearest=near)


def _up(pixel: Pair) -> complex:
    return complex(pixel[0], -pixel[1])


def _line(placing: Placing) -> complex:
    """From mark 1 to mark 2, pixels to the right and up."""
    return _up(placing.marks[1]) - _up(placing.marks[0])


def _factor(placing: Placing) -> complex:
    return scale(placing) * exp(1j * turned(placing))
