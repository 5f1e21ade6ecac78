"""Cross-sections of tubes with corners, angles, channels and the like, about their principal axes.

They are drawn on axes x and y from the centre of area; u and v, the axes of the `Section`, are the principal ones,
askew in an angle. Loads are taken about the centre of area; off the shear centre they twist.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import pi, sin, sqrt

import numpy as np

from simprop.geometry.arrays import Array
from simprop.rules.polygons import beyond, figure, principal_angle, turned_by
from simprop.rules.sections import Section

ROUND = 8
"""Straight edges that stand for a quarter of a circle, of the same area."""
QUARTERS = (0.0, pi / 2, pi, 1.5 * pi)


@dataclass(frozen=True, kw_only=True)
class Profile(Section):
    """A cross-section of any outline.

    Attributes:
        rings: outline counter-clockwise and holes clockwise on the drawn axes from the centre of area, (k, 2) m each.
        turn: by how much v is turned from y towards x, rad.
        holed: where fasteners go through on the drawn axes: x of one along y, y of one along x, (2,) m.
        corners: of its outlines on the axes u and v, (k, 2) m.
    """

    rings: tuple[Array, ...]
    turn: float
    holed: Array
    corners: Array

    def bending(self, moment_u: Array, moment_v: Array) -> Array:
        """At the corner where it is largest."""
        u, v = self.corners.T
        stress = np.multiply.outer(v / self.inertia_u, moment_u) - np.multiply.outer(
            u / self.inertia_v, moment_v
        )
        return np.asarray(np.abs(stress).max(axis=0))

    def edge(self, count: int) -> tuple[Array, Array]:
        u, v = self.corners.T
        return u, v

    def net(self, hole: float, angle: float) -> tuple[Section, float] | None:
        """A hole through the walls that lie square to it, about the centre of what is left; twist by its share of the
        polar moment, a plain estimate."""
        k = 1 if abs(sin(self.turn + angle)) > 0.7 else 0
        axis = np.eye(2)[k]
        sides = [(axis, float(self.holed[k]) + hole / 2), (-axis, hole / 2 - float(self.holed[k]))]
        left = [r for ring in self.rings for way, least in sides if len(r := beyond(ring, way, least))]
        if figure(left).area < 0.1 * self.area:
            return None
        net = profile(left, self.torsion, self.torsion_modulus, self.shear_factor, holed=self.holed)
        share = (net.inertia_u + net.inertia_v) / (self.inertia_u + self.inertia_v)
        off = turned_by(np.array([[self.centre_u, self.centre_v]]), net.turn - self.turn)[0]
        weaker = replace(
            net,
            torsion=self.torsion * share,
            torsion_modulus=self.torsion_modulus * share,
            centre_u=float(off[0]),
            centre_v=float(off[1]),
        )
        return weaker, net.turn - self.turn


def profile(
    rings: Sequence[Array],
    torsion: float,
    torsion_modulus: float,
    shear_factor: float,
    centre: Array | None = None,
    holed: Array | None = None,
) -> Profile:
    """A cross-section from its outline.

    Args:
        rings: outline counter-clockwise, holes clockwise, anywhere, (k, 2) m each.
        torsion: J, m^4.
        torsion_modulus: m^3.
        shear_factor: largest shear stress over V / area.
        centre: shear centre on the axes of the rings, (2,) m; None: the centre of area.
        holed: see `Profile`, on the axes of the rings; None: the centre of area.

    Example:
        >>> square = np.array([[0.0, 0], [2, 0], [2, 1], [0, 1]])
        >>> round(profile([square], 1.0, 1.0, 1.5).inertia_v * 12, 9)
        8.0
    """
    found = figure(rings)
    turn = principal_angle(found)
    moved = tuple(ring - found.centre for ring in rings)
    inner = [turned_by(ring, turn) for ring in moved]
    own = figure(inner)
    most = np.max([np.abs(ring).max(axis=0) for ring in inner], axis=0)
    off = np.zeros(2) if centre is None else turned_by((centre - found.centre)[None, :], turn)[0]
    return Profile(
        area=found.area,
        inertia_u=own.yy,
        inertia_v=own.xx,
        half_u=float(most[0]),
        half_v=float(most[1]),
        torsion=torsion,
        torsion_modulus=torsion_modulus,
        shear_factor=shear_factor,
        centre_u=float(off[0]),
        centre_v=float(off[1]),
        rings=moved,
        turn=turn,
        holed=np.zeros(2) if holed is None else holed - found.centre,
        corners=np.concatenate([ring for ring in inner if figure([ring]).area > 0]),
    )


def rounded_box(width: float, height: float, corner: float) -> Array:
    """A rectangle about the origin with round corners, counter-clockwise, (k, 2) m.

    Args:
        width: along x, m.
        height: along y, m.
        corner: radius of the corners, m; 0: sharp.

    Example:
        >>> round(figure([rounded_box(4.0, 4.0, 1.0)]).area - 12 - pi, 9)
        0.0
    """
    x, y = width / 2 - corner, height / 2 - corner
    middles = np.array([[x, -y], [x, y], [-x, y], [-x, -y]])
    if corner <= 0:
        return middles
    step, between = pi / 2 / ROUND, ROUND - 2
    side = sin(step)
    radius = np.full(ROUND + 1, corner * (sqrt(side**2 + between * side * pi / 2) - side) / (between * side))
    radius[[0, -1]] = corner
    angle = np.arange(ROUND + 1) * step - pi / 2
    arcs = [radius[:, None] * np.column_stack([np.cos(angle + q), np.sin(angle + q)]) for q in QUARTERS]
    ring = np.concatenate([middle + arc for middle, arc in zip(middles, arcs, strict=True)])
    return np.asarray(ring[np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1) > 1e-6 * corner])


def box_tube(width: float, height: float, wall: float, corner: float) -> Profile:
    """A square or rectangular tube: width along x, height along y.

    Args:
        width, height: outside, m.
        wall: m, below half of the lesser side.
        corner: outside radius of its corners, m; 0: sharp.

    Source: twist by Bredt's formula in the form of EN 10219-2 annex B (with the wall's own share); shear V Q / (I 2 t).

    Example:
        >>> tube = box_tube(40e-3, 40e-3, 3e-3, 6e-3)
        >>> [round(x * 1e8, 1) for x in (tube.inertia_u, tube.torsion)]  # EN 10219-2: 9.32 and 15.8 cm^4
        [9.3, 15.8]
    """
    inner = max(corner - wall, 0.0)
    rings = [
        rounded_box(width, height, corner),
        rounded_box(width - 2 * wall, height - 2 * wall, inner)[::-1],
    ]
    middle = (corner + inner) / 2
    around = 2 * (width + height - 2 * wall) - 2 * middle * (4 - pi)
    within = (width - wall) * (height - wall) - middle**2 * (4 - pi)
    k = 2 * within * wall / around
    torsion = wall**3 * around / 3 + 2 * k * within
    whole = figure(rings)
    factors = []
    for axis, inertia in ((np.array([1.0, 0.0]), whole.xx), (np.array([0.0, 1.0]), whole.yy)):
        half = figure([beyond(ring, axis, 0.0) for ring in rings])
        factors.append(whole.area * half.area * float(half.centre @ axis) / (inertia * 2 * wall))
    return profile(rings, torsion, torsion / (wall + k / wall), max(factors))


def angle(first: float, second: float, wall: float) -> Profile:
    """An angle: one leg along x, one along y, its heel at their low ends; its fillet left out.

    Args:
        first, second: outside lengths of the legs, m.
        wall: m, below either leg.

    Source: elementary; twist as of thin strips, b t^3 / 3; shear centre where the middles of the legs meet.

    Example:
        >>> round(angle(50e-3, 50e-3, 5e-3).inertia_u * 1e8, 2)  # EN 10056-1: 4.55 cm^4, its edges rounded
        4.59
    """
    a, b, t = first, second, wall
    ring = np.array([[0, 0], [a, 0], [a, t], [t, t], [t, b], [0, b]])
    chain = np.array([[a, t / 2], [t / 2, t / 2], [t / 2, b]])
    holed = np.array([(a + t) / 2, (b + t) / 2])
    return _open(ring, chain, t, (a + b - t), chain[1], holed)


def channel(width: float, flange: float, wall: float) -> Profile:
    """A channel: its web along x, its flanges standing up along y; corners sharp.

    Args:
        width: outside, along the web, m.
        flange: outside height of the flanges, m.
        wall: m, below half of the width and below the flange.

    Source: elementary; twist as of thin strips, b t^3 / 3; shear centre 3 b^2 / (6 b + h) behind the web, b and h
    between middles of walls (Gere and Timoshenko, Mechanics of Materials). Warping is left out.

    Example:
        >>> round(channel(40e-3, 20e-3, 3e-3).area * 1e6)
        222
    """
    h, b, t = width, flange, wall
    ring = np.array(
        [
            [-h / 2, 0],
            [h / 2, 0],
            [h / 2, b],
            [h / 2 - t, b],
            [h / 2 - t, t],
            [t - h / 2, t],
            [t - h / 2, b],
            [-h / 2, b],
        ]
    )
    x, out = (h - t) / 2, b - t / 2
    chain = np.array([[x, b], [x, t / 2], [-x, t / 2], [-x, b]])
    behind = 3 * out**2 / (6 * out + (h - t))
    return _open(
        ring, chain, t, h + 2 * (b - t), np.array([0.0, t / 2 - behind]), np.array([0.0, (b + t) / 2])
    )


def slotted_square(
    side: float, slot: float, lip: float, hollow: float, web: float, core: float, bore: float
) -> Profile:
    """A square with a slot along each side, a bored core, and a web from the core to each corner.

    Args:
        side: outside, m.
        slot: opening of a slot, m.
        lip: thickness of the lips beside it, m.
        hollow: width of the hollow behind the lips, m.
        web: thickness of the webs, m.
        core: side of the core, m.
        bore: diameter of the hole along it, m.

    Source: elementary; twist of the core alone, 0.141 k^4 less its bore, stress 0.208 k^3 (Timoshenko and Goodier,
    Theory of Elasticity, art. 109); what webs and lips add is left out.

    Example:
        >>> round(slotted_square(20e-3, 6e-3, 1.5e-3, 11e-3, 1.5e-3, 7.5e-3, 4.3e-3).inertia_u * 1e8, 2)
        0.72
    """
    s, o, c, k, w = side / 2, slot / 2, hollow / 2, core / 2, web / sqrt(2)
    right = [(k - w, -k), (c, -(c + w)), (c, lip - s), (o, lip - s), (o, -s)]
    below = np.array([(-s, -s), *((-x, y) for x, y in reversed(right)), *right])
    turns = [np.array([[np.cos(q), np.sin(q)], [-np.sin(q), np.cos(q)]]) for q in QUARTERS]
    rings = [np.concatenate([below @ turn for turn in turns]), rounded_box(bore, bore, bore / 2)[::-1]]
    torsion = 0.141 * core**4 - pi / 32 * bore**4
    half = figure([beyond(ring, np.array([0.0, 1.0]), 0.0) for ring in rings])
    whole = figure(rings)
    factor = whole.area * half.area * float(half.centre[1]) / (whole.yy * (core - bore))
    return profile(rings, torsion, torsion * 0.208 / (0.141 * core), factor)


def _open(ring: Array, chain: Array, wall: float, length: float, centre: Array, holed: Array) -> Profile:
    """An open section of one wall.

    Args:
        ring: outline, (k, 2) m.
        chain: middle of its wall from tip to tip, (m, 2) m.
        wall: m.
        length: of the wall, m.
        centre: shear centre, (2,) m.
        holed: see `Profile`.
    """
    torsion = length * wall**3 / 3
    whole = profile([ring], torsion, torsion / wall, 1.0, centre, holed)
    middle = turned_by(chain - figure([ring]).centre, whole.turn)
    factors = [
        whole.area * _most_flow(middle, k) / inertia
        for k, inertia in ((1, whole.inertia_u), (0, whole.inertia_v))
    ]
    return replace(whole, shear_factor=max(factors))


def _most_flow(chain: Array, k: int) -> float:
    """Largest first moment beyond a place over the wall, along axis k, m^2: V Q / (I t) is the shear."""
    sums, most = 0.0, 0.0
    for start, end in itertools.pairwise(chain):
        length = float(np.linalg.norm(end - start))
        p, q = float(start[k]), float(end[k])
        if p * q < 0:
            most = max(most, abs(sums + p / 2 * length * p / (p - q)))
        sums += length * (p + q) / 2
        most = max(most, abs(sums))
    return most
