"""Where the holes, hooks and eyes of a rig are, and which of them are drilled as one.

Rigid bodies don't forgive what a drill does: two hinges of a lid whose axes miss each other by a millimetre jam, where
the real ones rub in their clearance. So places that must lie on one axis are off by the same: those of joints between
the same two bodies (all that stands still counts as one), all that one joint names, what is drawn on one spot, and
what lies on the axis of a joint that turns. Along the axis of a joint nothing is off: there, washers decide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array
from simprop.reading.fields import Point
from simprop.reading.inside import inside
from simprop.reading.text import Path, dotted
from simprop.rig.model import Rig

SECTIONS = ("joints", "springs", "pushers", "pulls", "cords")
"""Where the places stand that are drilled, in the order in which they name a group."""
SPOT = 1e-6
"""Places nearer than this are one, m."""
ON_AXIS = 1e-3
"""How far from the axis of a joint that turns a place still lies on it, m (a bench error)."""
STRAIGHT = 0.999
"""A joint's axis lies along x, y or z from this cosine on."""


@dataclass(frozen=True)
class Hole:
    """A place that is drilled.

    Attributes:
        key: ``points.NAME``, or its path in the file where it has no name.
        at: as drawn, (3,) m.
        owner: what names it, such as ``joints.tee``.
        pair: the two bodies of its joint, "" for what stands still; None of what isn't a joint.
        axis: unit direction of its joint or wheel, (3,), or None.
        turns: it is a joint that turns about that axis.
    """

    key: str
    at: Array
    owner: str
    pair: frozenset[str] | None
    axis: Array | None
    turns: bool


@dataclass(frozen=True)
class Drilled:
    """Places that are off by the same.

    Attributes:
        key: of the first of them.
        keys: of all of them.
        axes: unit directions along which they aren't off, (3,) each.
    """

    key: str
    keys: tuple[str, ...]
    axes: tuple[Array, ...]

    @property
    def ways(self) -> tuple[str, ...]:
        """Of x, y, z those along which it may be off."""
        barred = {k for axis in self.axes for k in range(3) if abs(axis[k]) > STRAIGHT}
        return tuple(way for k, way in enumerate("xyz") if k not in barred)

    def shift(self, x: float, y: float, z: float) -> Array:
        """What is left of a shift across all its axes, (3,) m."""
        found = np.array([x, y, z])
        for axis in self.axes:
            found = found - axis * float(axis @ found)
        return found


def drilled(rig: Rig) -> tuple[Drilled, ...]:
    """The places of a rig that are drilled, in groups that are off by the same.

    Args:
        rig: as written (`simprop.rig.load.as_written`).

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... points: {hook: 0 0 0 mm}
        ... bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
        ... joints: {hook: {pin: [post, bob], at: hook, axis: y}}
        ... run: {for: 1 s}
        ... ''')
        >>> [(group.key, group.ways) for group in drilled(rig)]
        [('points.hook', ('x', 'z'))]
    """
    holes = list(_holes(rig))
    heads = list(range(len(holes)))

    def head(k: int) -> int:
        while heads[k] != k:
            k = heads[k]
        return k

    for k, one in enumerate(holes):
        for m in range(k):
            if _as_one(one, holes[m]):
                first, last = sorted((head(k), head(m)))
                heads[last] = first
    groups: dict[int, list[Hole]] = {}
    for k, hole in enumerate(holes):
        groups.setdefault(head(k), []).append(hole)
    return tuple(_group(row) for row in groups.values())


def _group(row: list[Hole]) -> Drilled:
    axes: list[Array] = []
    for hole in row:
        if hole.axis is not None and not any(abs(float(hole.axis @ a)) > STRAIGHT for a in axes):
            axes.append(hole.axis)
    keys = tuple(dict.fromkeys(hole.key for hole in row))
    return Drilled(keys[0], keys, tuple(axes))


def _holes(rig: Rig) -> Iterator[Hole]:
    for section in SECTIONS:
        for name, record in getattr(rig, section).items():
            owner = f"{section}.{name}"
            pair, axis, turns = _joint(rig, name) if section == "joints" else (None, None, False)
            for path, point, _ in inside(record, (section, name)):
                if isinstance(point, Point):
                    own = _wheel(record, path) if section == "cords" else axis
                    yield Hole(_key(point, path), np.array(point[:3]), owner, pair, own, turns)


def _key(point: Point, path: Path) -> str:
    return dotted(path) if point.name is None else f"points.{point.name}"


def _joint(rig: Rig, name: str) -> tuple[frozenset[str], Array | None, bool]:
    joint = rig.joints[name]
    still = {body for body, record in rig.bodies.items() if record.still}
    pair = frozenset("" if body in still else body for body in joint.between)
    return pair, joint.direction if joint.direction.any() else None, "turn" in joint.moves


def _wheel(cord: object, path: Path) -> Array | None:
    """The axis of the round thing that a cord runs over at a place; None at an eye."""
    for key in path[2:-1]:
        own = {"from": "start", "to": "end"}.get(str(key), str(key))
        cord = cord[key] if isinstance(cord, tuple) and isinstance(key, int) else getattr(cord, own)
    axis = getattr(cord, "axis", None)
    return None if axis is None else np.array(axis)


def _as_one(one: Hole, other: Hole) -> bool:
    if one.key == other.key or (one.owner == other.owner and one.pair is not None):
        return True
    if one.pair is not None and one.pair == other.pair:
        return True
    gap = one.at - other.at
    if float(np.linalg.norm(gap)) < SPOT:
        return True
    axes = (h.axis for h in (one, other) if h.turns and h.axis is not None)
    return any(float(np.linalg.norm(np.cross(gap, axis))) < ON_AXIS for axis in axes)
