"""How a cam lifts its follower: laws of a rise, whole courses, and the curve that the follower's centre runs along."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import pi
from typing import Literal, get_args

import numpy as np

from simprop.geometry.arrays import Array

Law = Literal["cycloidal", "harmonic", "parabolic", "3-4-5"]
LAWS: tuple[str, ...] = get_args(Law)
ROWS = 3600
"""Points of the table of a cam, all around it."""


@dataclass(frozen=True)
class Stretch:
    """A part of a cam's course.

    Attributes:
        over: angle by which the cam turns meanwhile, rad.
        lift: by which the follower goes out (negative: comes back), m; 0 for a dwell.
    """

    over: float
    lift: float


def risen(law: Law, share: Array) -> Array:
    """Share of the lift at a share of the angle, (n,) each.

    Args:
        law: cycloidal x - sin(2 pi x) / 2 pi, harmonic (1 - cos pi x) / 2, parabolic 2 x^2 up to the middle, 3-4-5
            10 x^3 - 15 x^4 + 6 x^5.
        share: 0 to 1.

    Source: any text on cams (Norton; Rothbart).

    Example:
        >>> [float(risen(law, np.array([0.5]))[0].round(12)) for law in LAWS]
        [0.5, 0.5, 0.5, 0.5]
        >>> float(risen("parabolic", np.array([0.25]))[0])
        0.125
    """
    x = np.asarray(share, dtype=float)
    if law == "cycloidal":
        return np.asarray(x - np.sin(2 * pi * x) / (2 * pi))
    if law == "harmonic":
        return np.asarray(0.5 * (1.0 - np.cos(pi * x)))
    if law == "parabolic":
        return np.where(x < 0.5, 2 * x**2, 1.0 - 2 * (1.0 - x) ** 2)
    return np.asarray(x**3 * (10.0 - 15.0 * x + 6.0 * x**2))


def course(stretches: Sequence[Stretch], law: Law) -> Callable[[Array], Array]:
    """Lift over the angle by which the cam has turned, m; where the stretches end short of a turn it dwells.

    Args:
        stretches: in the order in which the follower meets them, together no more than a turn.
        law: of all rises and falls.

    Example:
        >>> lift = course([Stretch(pi, 0.02), Stretch(pi, -0.02)], "harmonic")
        >>> lift(np.array([0.0, pi / 2, pi, 3 * pi])).round(6).tolist()
        [0.0, 0.01, 0.02, 0.02]
    """
    begins = np.cumsum([0.0, *(s.over for s in stretches)])
    levels = np.cumsum([0.0, *(s.lift for s in stretches)])

    def lift(angle: Array) -> Array:
        at = np.mod(np.asarray(angle, dtype=float), 2 * pi)
        found = np.full(at.shape, levels[-1])
        for k, stretch in enumerate(stretches):
            here = (at >= begins[k]) & (at < begins[k + 1])
            share = (at[here] - begins[k]) / stretch.over
            found[here] = levels[k] + (stretch.lift * risen(law, share) if stretch.lift else 0.0)
        return found

    return lift


def through(angles: Array, lifts: Array) -> Callable[[Array], Array]:
    """Lift over the angle through given points, as smooth as can be and the same after a turn.

    Args:
        angles: rising from 0, below a turn, (n,) rad.
        lifts: (n,) m.

    Source: periodic cubic spline.

    Example:
        >>> lift = through(np.array([0.0, pi / 2, pi, 3 * pi / 2]), np.array([0.0, 0.01, 0.02, 0.01]))
        >>> float(lift(np.array([2 * pi]))[0].round(9)), float(lift(np.array([pi]))[0].round(9))
        (0.0, 0.02)
    """
    from scipy.interpolate import CubicSpline

    spline = CubicSpline(np.append(angles, 2 * pi), np.append(lifts, lifts[0]), bc_type="periodic")
    return lambda angle: np.asarray(spline(np.mod(angle, 2 * pi)))


@dataclass(frozen=True)
class Pitch:
    """The curve on which the middle of a follower's roller runs, about the cam's axis.

    Attributes:
        angle: counted about the cam's axis on the cam itself, (`ROWS`,) rad.
        radius: (`ROWS`,) m.
        slope: of the radius, (`ROWS`,) m/rad.
    """

    angle: Array
    radius: Array
    slope: Array

    @property
    def bend(self) -> Array:
        """Radius of curvature, positive where it bulges outwards, (`ROWS`,) m.

        Source: polar coordinates, (R^2 + R'^2)^(3/2) / (R^2 + 2 R'^2 - R R'').
        """
        step = 2 * pi / len(self.angle)
        second = (np.roll(self.radius, -1) - 2 * self.radius + np.roll(self.radius, 1)) / step**2
        r, d = self.radius, self.slope
        below = r**2 + 2 * d**2 - r * second
        return np.asarray((r**2 + d**2) ** 1.5 / np.where(np.abs(below) < 1e-15, 1e-15, below))

    def profile(self, roller: float) -> Array:
        """Outline of the cam: the curve less the roller, (`ROWS`, 2) m about the cam's axis.

        Args:
            roller: radius of the roller, m.
        """
        c, s = np.cos(self.angle), np.sin(self.angle)
        out, round_ = np.stack([c, s], axis=1), np.stack([-s, c], axis=1)
        normal = self.radius[:, None] * out - self.slope[:, None] * round_
        normal = normal / np.linalg.norm(normal, axis=1, keepdims=True)
        return np.asarray(self.radius[:, None] * out - roller * normal)


def pitch(lift: Callable[[Array], Array], least: float, sense: float, begin: float) -> Pitch:
    """The pitch curve of a cam whose follower moves in line with its axis.

    Args:
        lift: over the angle by which the cam has turned, m.
        least: radius of the curve where the lift is 0, m.
        sense: 1 where the cam turns positively about its axis, else -1.
        begin: angle of the course at which the cam stands in the start pose, rad.

    Example:
        >>> made = pitch(course([Stretch(pi, 0.02), Stretch(pi, -0.02)], "harmonic"), 0.03, 1.0, 0.0)
        >>> round(float(made.radius.max()), 6), round(float(made.bend.min()), 4) > 0.02
        (0.05, True)
    """
    angle = np.arange(ROWS) * 2 * pi / ROWS
    near, wide = begin - sense * angle, pi / ROWS
    radius = least + lift(near)
    slope = -sense * (lift(near + wide) - lift(near - wide)) / (2 * wide)
    return Pitch(angle, radius, slope)
