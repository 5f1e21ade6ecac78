"""Where something is held, and what the bolt, screw or pin there goes through."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from simprop.assembly.types import Assembly, BodyData
from simprop.catalog.stock import is_stiff
from simprop.fasteners.base import Fastener
from simprop.fasteners.ends import Ended
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex, segment_gap
from simprop.making.pieces import BUILT
from simprop.parts.part import FLANGE, Shape
from simprop.reading.fields import Point
from simprop.rig.model import Rig
from simprop.rig.mounting import build_of
from simprop.strength.context import BRACKET, NEAR

ABUTS = 0.002
"""Parts of one body closer than this behind each other are one thickness for what goes through them, m."""
FORK = 0.06
"""The far cheek of a fork begins within this of the joint, m (assumed)."""
TOUCHES = 1e-6
"""A line that passes a solid by no more than this goes through it, m (rounding)."""
LENGTHWISE = 0.15
"""What is thicker than this along a fastener isn't drilled through, m (assumed)."""


@dataclass(frozen=True)
class Pierced:
    """A part that a fastener goes through.

    Attributes:
        part: index among the parts of its body.
        along: from where it begins to the hole, along its middle line, m; None of what has no length.
        across: the fastener goes across it; else along it, in at its end.
        width: of the part at the hole, across the fastener, m.
    """

    part: int
    along: float | None
    across: bool
    width: float


@dataclass(frozen=True)
class Layer:
    """What a fastener goes through on one of the things that it holds together.

    Attributes:
        body: name of the body; "" for a bracket, hook or motor flange.
        parts: the parts in line, that at the joint first; () where nothing is drawn.
        begins: where it begins along the fastener from the joint's point, m.
        ends: where it ends, m.
        lapped: what parts that are drawn through each other take more side by side, m.
        drawn: it is drawn where it lies; else it may be shifted along the fastener, as a bracket is.
        far: where the body has another part on the other side of the joint, as a fork has, m; None: it has none.
        blocked: part behind it that is so thick along the fastener that it ends there; None: it comes out.
    """

    body: str
    parts: tuple[Pierced, ...]
    begins: float
    ends: float
    lapped: float = 0.0
    drawn: bool = True
    far: tuple[float, float] | None = None
    blocked: int | None = None

    @property
    def thick(self) -> float:
        """Along the fastener, m."""
        return self.ends - self.begins + self.lapped


@dataclass(frozen=True)
class Fixing:
    """A place where something is held.

    Attributes:
        name: of the joint, spring, rope, pusher or motor.
        sort: a joint of two bodies, an end of what acts between two points, or a mounted motor.
        what: in words, such as ``joint shaft``.
        hold: what holds it; None: the rig doesn't say.
        layers: what it goes through, first to last.
        axis: unit direction of the fastener, (3,); zeros: not known.
        moving: what it holds together moves against each other.
    """

    name: str
    sort: Literal["joint", "end", "motor"]
    what: str
    hold: Fastener | None
    layers: tuple[Layer, ...]
    axis: Array
    moving: bool


def fixings(assembly: Assembly) -> tuple[Fixing, ...]:
    """All places where something is held or should be: joints, ends of springs and the like, mounted motors.

    Joints that need nothing (a pipe that slides in a tee) are left out unless the rig names something.
    """
    return (*_joints(assembly), *_ends(assembly), *_motors(assembly))


def holds(assembly: Assembly) -> Iterator[Fastener]:
    """The fasteners that the rig names, of `fixings`, without what they go through."""
    found = [joint.kind.held_by for j, joint in enumerate(assembly.joints) if j not in assembly.seams]
    found += [hold for _, _, hold, _, _ in _held_ends(assembly.rig)]
    for motor in assembly.rig.motors.values():
        build = build_of(motor)
        found.append(None if motor.mount is None or build is None else motor.mount.hold(build))
    return (hold for hold in found if hold is not None)


def _joints(assembly: Assembly) -> Iterator[Fixing]:
    whole = {body.name: body for body in assembly.drawn}
    for j, joint in enumerate(assembly.joints):
        hold = joint.kind.held_by
        if j in assembly.seams or (hold is None and not joint.kind.needs_fastener):
            continue
        axis = joint.axis if hold is None or hold.along is None else np.asarray(hold.along, float)
        bodies = [whole[assembly.bodies[k].called] for k in (joint.first, joint.second)]
        layers = tuple(layer_at(body, joint.point, axis) for body in bodies)
        yield Fixing(joint.name, "joint", f"joint {joint.name}", hold, layers, axis, bool(joint.freedoms))


def _ends(assembly: Assembly) -> Iterator[Fixing]:
    whole = {body.name: body for body in assembly.drawn}
    for what, called, hold, place, hooked in _held_ends(assembly.rig):
        if hold is None and not hooked:
            continue
        body = whole[called]
        axis = np.zeros(3) if hold is None or hold.along is None else np.asarray(hold.along, float)
        own = layer_at(body, body.placement.world(place), axis)
        layers = (own, Layer("", (), own.ends, own.ends + BRACKET, drawn=False))
        words = f"{what} at {called.replace('_', ' ')}"
        yield Fixing(what.split(" ", 1)[1], "end", words, hold, layers, axis, True)


def _held_ends(rig: Rig) -> Iterator[tuple[str, str, Fastener | None, Point, bool]]:
    """What acts between two points, the body at an end, what holds it, where, and whether something must."""
    rows: list[tuple[str, tuple[str, str], tuple[Point, Point], Ended]] = []
    for name, spring in rig.springs.items():
        line = spring.line()
        if line is not None:
            rows.append((f"spring {name}", line.between, (line.start, line.end), spring))
    for name, pusher in rig.pushers.items():
        rows.append((f"pusher {name}", pusher.between, (pusher.start, pusher.end), pusher))
    for name, pull in rig.pulls.items():
        rows.append((f"pull {name}", pull.between, (pull.start, pull.end), pull))
    for what, between, places, ended in rows:
        for body, place, hold in zip(between, places, ended.ends, strict=True):
            yield what, body, hold, place, ended.hooked
    for name, cord in rig.cords.items():
        held = (None, None) if cord.held_by is None else (cord.held_by.first, cord.held_by.second)
        for end, hold in zip((cord.start, cord.end), held, strict=True):
            yield f"cord {name}", end.body, hold, end.at, end.diameter is None


def _motors(assembly: Assembly) -> Iterator[Fixing]:
    whole = {body.name: body for body in assembly.drawn}
    for name, motor in assembly.rig.motors.items():
        mount, build = motor.mount, build_of(motor)
        if mount is None or build is None:
            continue
        body, hold = whole[mount.on], mount.hold(build)
        case = next(s for s in body.shapes if s.mounting is not None and s.mounting.motor == name)
        assert case.mounting is not None
        axis = case.mounting.way if hold is None or hold.along is None else np.asarray(hold.along, float)
        own = layer_at(body, case.mounting.place + body.com, axis)
        layers = (own, Layer("", (), own.ends, own.ends + FLANGE, drawn=False))
        yield Fixing(
            name, "motor", f"motor {name} on {mount.on.replace('_', ' ')}", hold, layers, axis, False
        )


def layer_at(body: BodyData, point: Array, axis: Array) -> Layer:
    """What a fastener goes through at a place of a body: the part nearest to it, and parts of its body behind that.

    Args:
        body: which.
        point: (3,) m, world, in the start pose.
        axis: unit direction of the fastener, (3,); zeros: not known, then the least thickness of the part counts.

    Returns:
        Without parts where none is drawn within 30 mm.
    """
    local = point - body.com
    solid_parts = [i for i, shape in enumerate(body.shapes) if _bears(shape)]
    near = [i for i in solid_parts if min(s.distance(local) for s in body.shapes[i].solids()) <= NEAR]
    if not near:
        return Layer(body.name, (), 0.0, 0.0)
    first = min(near, key=lambda i: _nearness(body.shapes[i], local))
    shape = body.shapes[first]
    own = (_pierced(first, shape, local, axis),)
    if not axis.any():
        through = shape.through(axis)
        size = 0.0 if through is None else through.size
        return Layer(body.name, own, -size / 2, size / 2)
    solid = min(shape.solids(), key=lambda s: s.nearness(local))
    inside = _inside(solid, local)
    on = inside - float((inside - local) @ axis) * axis
    low, high = _chord(solid, on, axis) or (0.0, 0.0)
    if high - low > LENGTHWISE:
        return Layer(body.name, own, low, high, blocked=first)
    far = _far(body, solid_parts, local, axis, (low, high))
    layer = Layer(body.name, own, low, high, far=far)
    return _deeper(layer, body, on, axis, [i for i in solid_parts if i != first])


def _far(
    body: BodyData, parts: Sequence[int], local: Array, axis: Array, near: tuple[float, float]
) -> tuple[float, float] | None:
    """Where another part of the body lies on the other side of a joint, beyond a point of it, m; None: nowhere."""
    chords = [c for i in parts for c in _chords(body.shapes[i], local, axis)]
    if near[0] >= 0.0:
        return max((c for c in chords if -FORK < c[1] <= 0.0), default=None)
    if near[1] <= 0.0:
        return min((c for c in chords if 0.0 <= c[0] < FORK), default=None)
    return None


def _deeper(layer: Layer, body: BodyData, on: Array, axis: Array, others: Sequence[int]) -> Layer:
    """With the parts of the body that lie behind it along the fastener."""
    left = list(others)
    while True:
        found = [(i, c) for i in left for c in _chords(body.shapes[i], on, axis)]
        touching = [(i, c) for i, c in found if _abut(c, (layer.begins, layer.ends))]
        if not touching:
            return layer
        i, (low, high) = touching[0]
        left.remove(i)
        if high - low > LENGTHWISE:
            layer = replace(layer, blocked=i)
        else:
            pierced = _pierced(i, body.shapes[i], on, axis)
            over = min(high, layer.ends) - max(low, layer.begins)
            beside = over > ABUTS and pierced.across and all(p.across for p in layer.parts)
            layer = replace(
                layer,
                lapped=layer.lapped + (over if beside else 0.0),
                parts=(*layer.parts, pierced),
                begins=min(low, layer.begins),
                ends=max(high, layer.ends),
            )


def _bears(shape: Shape) -> bool:
    """Whether a fastener may go through it: no fitting, motor or mass, nothing that only dresses the prop."""
    return shape.bolted and shape.looks in BUILT and is_stiff(shape.material)


def _pierced(index: int, shape: Shape, local: Array, axis: Array) -> Pierced:
    if len(shape.path) < 2:
        return Pierced(index, None, True, float(2 * np.sort(shape.box()[2])[1]))
    rows = shape.stretches()
    k = min(range(len(rows)), key=lambda i: rows[i].nearness(local))
    along = sum(s.length for s in rows[:k]) + float(np.linalg.norm(rows[k].foot(local) - rows[k].start))
    across = abs(float(rows[k].unit @ axis)) < 0.7
    wide = shape.through(np.cross(rows[k].unit, axis)) if across and axis.any() else None
    return Pierced(index, along, across, 2 * shape.radius if wide is None else wide.size)


def _nearness(shape: Shape, local: Array) -> tuple[float, float]:
    """By which the part at a point is found: gap to its solids, then distance of its middle line, m."""
    gap = min(solid.distance(local) for solid in shape.solids())
    return round(max(gap, 0.0), 5), shape.nearness(local)[1]


def _abut(one: tuple[float, float], two: tuple[float, float]) -> bool:
    return one[0] <= two[1] + ABUTS and one[1] >= two[0] - ABUTS


def _inside(solid: Convex, point: Array) -> Array:
    """The place of a solid (its middle line, where it is round) nearest to a point, (3,) m."""
    if not solid.boxed:
        return solid.foot(point)
    local = solid.turn.T @ (point - solid.start)
    return np.asarray(solid.start + solid.turn @ np.clip(local, -solid.half, solid.half))


def _chords(shape: Shape, point: Array, axis: Array) -> Iterator[tuple[float, float]]:
    """Where a line is inside a part, from a point of it on, m."""
    for solid in shape.solids():
        found = _chord(solid, point, axis)
        if found is not None:
            yield found


def _chord(solid: Convex, point: Array, axis: Array) -> tuple[float, float] | None:
    """Where a line enters and leaves a solid, from a point of it on, m; None where it passes by."""
    if not solid.boxed:
        return _through_round(solid, point, axis)
    local, way = solid.turn.T @ (point - solid.start), solid.turn.T @ axis
    crossing = np.abs(way) > 1e-9
    if (np.abs(local[~crossing]) > solid.half[~crossing] + TOUCHES).any():
        return None
    one = (-solid.half[crossing] - local[crossing]) / way[crossing]
    other = (solid.half[crossing] - local[crossing]) / way[crossing]
    low, high = float(np.minimum(one, other).max()), float(np.maximum(one, other).min())
    return (low, high) if low < high else None


def _through_round(solid: Convex, point: Array, axis: Array) -> tuple[float, float] | None:
    """The same for a stick or a ball; along a stick, from end to end of its middle line."""
    reach = float(np.linalg.norm(solid.start - point)) + solid.length + solid.radius
    near, far = point - reach * axis, point + reach * axis
    if float(segment_gap(near, far, solid.start, solid.end)) > solid.radius + TOUCHES:
        return None
    if abs(float(solid.unit @ axis)) > 0.999:
        ends = sorted(float((end - point) @ axis) for end in (solid.start, solid.end))
        return ends[0], ends[1]
    square = solid.unit - float(solid.unit @ axis) * axis
    size = float(square @ square)
    share = float((point - solid.start) @ square) / size if size else 0.0
    foot = solid.start + min(max(share, 0.0), solid.length) * solid.unit
    middle = float((foot - point) @ axis)
    return middle - _out(solid, point + middle * axis, -axis), middle + _out(
        solid, point + middle * axis, axis
    )


def _out(solid: Convex, point: Array, way: Array) -> float:
    """How far it is from a point inside a round solid to its surface along a unit direction, m."""
    inner, outer = 0.0, solid.length + 2 * solid.radius
    for _ in range(60):
        half = (inner + outer) / 2
        inner, outer = (half, outer) if solid.distance(point + half * way) <= 0.0 else (inner, half)
    return inner
