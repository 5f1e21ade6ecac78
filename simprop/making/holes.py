"""Where the parts are drilled for what joins them, and what is left of them behind a hole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import Assembly, BodyData
from simprop.catalog.strengths import strength_of
from simprop.geometry.arrays import Array
from simprop.joints.kinds import JointKind
from simprop.parts.part import Shape
from simprop.rules.tube_holes import least_edge

Place = tuple[str, int]
"""Name of a body of the rig, and index of a part among its parts."""
NEAR = 0.03
"""A part further from the joint than this is not drilled for it, m."""
BESIDE = 5e-4
"""A hole's axis that passes a part by so little still goes through it, m (a bench error)."""
LENGTHWISE = 0.7
"""Cosine from which a hole runs along its part: it is no hole across it."""


WIDE = 0.75
"""What is wider than this share of its part is no hole in it: the part ends in an eye or a hub there."""
ALIKE = 5e-4
"""Parts whose sizes and holes differ by less are made alike, m."""


@dataclass(frozen=True)
class Hole:
    """A hole, or a slot, across a part.

    Attributes:
        joint: what it is for.
        at: its middle on the middle line of the part, in the frame of the body, (3,) m; one end of a slot.
        end: the other end of a slot; None: a round hole.
        way: unit direction that it runs along, (3,).
        diameter: of what goes through it, with the play that the rig asks for, m.
        words: what goes through it, such as ``M6 bolt``.
        edge: from its middle to the free end of the part as the rig states it, m; None: not stated.
    """

    joint: str
    at: Array
    way: Array
    diameter: float
    words: str
    end: Array | None = None
    edge: float | None = None


def holes(assembly: Assembly) -> Mapping[Place, tuple[Hole, ...]]:
    """The holes of each part that has any, by its body and index, in the order of the joints.

    Those of the rig's joints: of bolts and pins as the rig names them, of the shafts of hubs, of the pins in slots, and
    the holes that a sheet says itself. A bolt goes through the part next to its joint, as it is judged for strength,
    and through all others of that body that are drawn to the same place. Several in a row lie along the part (assumed).

    Args:
        assembly: the prop.

    Example:
        >>> import simprop
        >>> from simprop.assembly.assemble import assemble
        >>> rig = simprop.parse_rig('''
        ... rig: 1
        ... name: Swing
        ... bodies:
        ...   post: {fixed: true, parts: [{bar: 40 x 18 mm, of: pine, from: 0 20 0 mm, to: 0 20 400 mm}]}
        ...   arm: {parts: [{bar: 30 x 12 mm, of: pine, from: 0 0 380 mm, to: 0 0 100 mm}]}
        ... joints: {pivot: {pin: [post, arm], at: 0 0 360 mm, axis: y, held_by: {bolt: M6}}}
        ... run: {for: 1 s}
        ... ''')
        >>> found = holes(assemble(rig))
        >>> [(place, round(1000 * h.diameter, 1), h.words) for place, (h,) in found.items()]
        [(('post', 0), 6.0, 'M6 bolt'), (('arm', 0), 6.0, 'M6 bolt')]
    """
    found: dict[Place, list[Hole]] = {}
    for body in assembly.drawn:
        for i, shape in enumerate(body.shapes):
            own = [Hole("", middle, way, wide, "") for middle, way, wide in shape.drilled]
            found.setdefault((body.name, i), []).extend(own)
    bodies = {body.name: body for body in assembly.drawn}
    for name, joint in assembly.rig.joints.items():
        for side, called in enumerate(joint.between):
            body = bodies[called]
            hole = _of_joint(name, joint, side, body)
            if hole is not None:
                for i in _drilled(body, hole):
                    found[called, i] += _row(hole, joint, body.shapes[i])
    return {place: tuple(own) for place, own in found.items() if own}


def _of_joint(name: str, joint: JointKind, side: int, body: BodyData) -> Hole | None:
    """The hole of a joint in its first (0) or second (1) body, on the joint's axis; None where it makes none."""
    held = joint.held_by
    along = joint.direction if held is None or held.along is None else np.asarray(held.along, dtype=float)
    wide, words = _through(joint, side)
    if not along.any() or wide is None:
        return None
    way = body.placement.turn @ along
    if joint.slot is not None and side == 0:
        start, end = (body.local(point) for point in joint.slot)
        return Hole(name, start, way, wide, words, end)
    play = joint.play
    wide += 0.0 if play is None or side == 1 else play.clearance
    edge = getattr(held, "edge", None)
    return Hole(name, body.local(joint.on(body.name)), way, wide, words, edge=edge)


def _through(joint: JointKind, side: int) -> tuple[float | None, str]:
    """Diameter of what goes through a body at a joint, m, and what it is; None: nothing that is known."""
    held = joint.held_by
    if held is not None and held.bore is not None:
        return (held.bore, f"{1e3 * held.bore:.4g} mm shaft") if side == 1 else (None, "")
    if not (joint.pivot or joint.slot or (held is not None and held.diameter is not None)):
        return None, ""
    size = getattr(held, "size", None)
    words = f"{1e3 * (joint.thick or 0.0):.4g} mm pin" if size is None else f"{size} {held.kind}"  # type: ignore[union-attr]
    return joint.thick, words.replace("_", " ")


def _drilled(body: BodyData, hole: Hole) -> Iterator[int]:
    """The parts of a body that a hole goes through: the nearest, and those that are drawn to it."""
    rows = []
    for i, shape in enumerate(body.shapes):
        gap = min(solid.distance(hole.at) for solid in shape.solids())
        if gap <= NEAR and shape.through(hole.way) is not None and _crosses(shape, hole):
            rows.append((shape.nearness(hole.at), gap, i))
    if rows:
        nearest = min(rows)[2]
        yield from (i for _, gap, i in rows if i == nearest or gap <= BESIDE)


def _crosses(shape: Shape, hole: Hole) -> bool:
    """Whether the axis of a hole goes across a part."""
    line = shape.path[-1] - shape.path[0]
    length = float(np.linalg.norm(line))
    if shape.section() is not None:
        lengthwise = abs(float(line @ hole.way)) > LENGTHWISE * length
        if lengthwise or hole.diameter > WIDE * _across(shape, hole):
            return False
    reach = np.linspace(-NEAR - 0.05, NEAR + 0.05, 161)
    spots = hole.at + reach[:, None] * hole.way
    return min(solid.distance(spot) for solid in shape.solids() for spot in spots) <= BESIDE


def _across(shape: Shape, hole: Hole) -> float:
    """Size of a long part square to a hole and to its length, m."""
    _, axes, half = shape.box()
    return 2 * float(half[int(np.argmin(np.abs(axes[:, :2].T @ hole.way)))])


def _row(hole: Hole, joint: JointKind, shape: Shape) -> list[Hole]:
    """The holes of all bolts of a joint in a part, moved along them to its middle."""
    middle, axes, half = shape.box()
    shift = float((middle - hole.at) @ hole.way) * hole.way
    held = joint.held_by
    count = 1 if held is None or held.spacing is None else held.count
    long = axes[:, int(np.argmax(np.where(np.abs(axes.T @ hole.way) < LENGTHWISE, half, -1.0)))]
    gaps = (
        [0.0]
        if count < 2 or held is None
        else [(k - (count - 1) / 2) * (held.spacing or 0.0) for k in range(count)]
    )
    end = None if hole.end is None else hole.end + shift
    return [replace(hole, at=hole.at + shift + gap * long, end=end) for gap in gaps]


def left_behind(shape: Shape, own: tuple[Hole, ...]) -> tuple[float, float]:
    """How much longer than drawn a part is cut at its start and at its end, m.

    Parts are mostly drawn from pivot to pivot: what is left between the middle of a hole and the end is added to that.

    Args:
        shape: of the part.
        own: its holes.

    Source: `simprop.rules.tube_holes.least_edge`, as strength assumes it, where the rig states no edge.

    Example:
        >>> left_behind(Shape, ())
        (0.0, 0.0)
    """
    if not own or len(shape.path) < 2 or shape.section() is None:
        return 0.0, 0.0
    strength = strength_of(shape.material) if shape.material else None
    plastic = strength is None or strength.family != "metal"
    need = [0.0, 0.0]
    for k, (end, before) in enumerate(((shape.path[0], shape.path[1]), (shape.path[-1], shape.path[-2]))):
        line = (before - end) / np.linalg.norm(before - end)
        for hole in own:
            least = hole.edge or least_edge(hole.diameter, plastic)
            for spot in (hole.at, hole.at if hole.end is None else hole.end):
                drawn = float((spot - end) @ line)
                beside = float(np.linalg.norm(spot - end - drawn * line)) > NEAR
                if drawn < hole.diameter and not beside:  # drawn to the hole, not past it
                    need[k] = max(need[k], least - drawn)
    return need[0], need[1]


def pattern(shape: Shape, own: tuple[Hole, ...]) -> tuple[tuple[int, ...], ...]:
    """The same for parts that are drilled alike, whichever way round they lie.

    Args:
        shape: of the part.
        own: its holes.

    Returns:
        Place, direction and diameter of each in steps of `ALIKE`, from the middle of the box that the part fills.
    """
    middle, axes, _ = shape.box()
    flips = [1.0] if shape.word in ("angle", "channel") else [1.0, -1.0]

    def seen(flip: Array) -> tuple[tuple[int, ...], ...]:
        rows = []
        for hole in own:
            way = np.abs(axes.T @ hole.way)
            ends = [hole.at] if hole.end is None else [hole.at, hole.end]
            spots = [
                np.round(flip * (axes.T @ (spot - middle)) * (way < LENGTHWISE) / ALIKE) for spot in ends
            ]
            row = np.concatenate(
                [*sorted(spots, key=tuple), np.round(10 * way), [round(hole.diameter / ALIKE)]]
            )
            rows.append(tuple(int(v) for v in row))
        return tuple(sorted(rows))

    return min(seen(np.array([a, b, c])) for a in flips for b in flips for c in flips)
