"""What holds the parts together, drawn where it must be: pipe fittings where pipes meet, bolts through pins.

Looks only. A fitting is drawn where ends of pipes of one body meet; the number of legs says which: two in
line a coupling, two at an angle an elbow, three a tee, four a cross; a cap closes a pipe that stands on the ground.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish, finish_of
from simprop.geometry.solids import lathe, sphere
from simprop.geometry.surface import Surface, frame_along, join
from simprop.geometry.sweep import swept
from simprop.parts.part import Shape


@dataclass(frozen=True)
class _Pipe:
    path: Array
    size: float  # outside diameter
    finish: Finish


@dataclass(frozen=True)
class _Leg:
    point: Array
    away: Array  # unit, from the end into the pipe
    pipe: _Pipe


def _pipes(shapes: Iterable[Shape]) -> list[_Pipe]:
    return [_Pipe(s.path, s.fitted, finish_of(s.material)) for s in shapes if s.fitted is not None]


def _darker(finish: Finish, shares: tuple[float, float, float]) -> Finish:
    red, green, blue = (c * share for c, share in zip(finish.colour, shares, strict=True))
    return replace(finish, colour=(red, green, blue))


def _ends(pipe: _Pipe) -> list[_Leg]:
    path = pipe.path
    out = []
    for end, inner in ((0, 1), (-1, -2)):
        line = path[inner] - path[end]
        length = float(np.linalg.norm(line))
        if length > 1e-6:
            out.append(_Leg(path[end], line / length, pipe))
    return out


def _through(pipe: _Pipe, point: Array, near: float) -> list[_Leg]:
    """Both directions of a pipe that runs past `point` within `near`, not at its ends."""
    for a, b in pairwise(pipe.path):
        line = b - a
        length = float(np.linalg.norm(line))
        if length < 1e-6:
            continue
        unit = line / length
        t = float((point - a) @ unit)
        clear = 1.2 * pipe.size
        if clear < t < length - clear and np.linalg.norm(a + t * unit - point) < near:
            return [_Leg(a + t * unit, unit, pipe), _Leg(a + t * unit, -unit, pipe)]
    return []


def pipe_fittings(shapes: tuple[Shape, ...]) -> list[Surface]:
    """Fittings where pipes of one body meet, in the body frame."""
    pipes = _pipes(shapes)
    legs = [(i, leg) for i, s in enumerate(pipes) for leg in _ends(s)]
    used: set[int] = set()
    out = []
    for k, (i, leg) in enumerate(legs):
        if k in used:
            continue
        near = 0.9 * leg.pipe.size
        meet = [leg]
        for q, (j, other) in enumerate(legs):
            if q != k and q not in used and j != i and np.linalg.norm(other.point - leg.point) < near:
                meet.append(other)
                used.add(q)
        taken = {i} | {j for j, s in enumerate(pipes) if any(m.pipe is s for m in meet)}
        for j, s in enumerate(pipes):
            if j not in taken:
                meet += _through(s, leg.point, near)
        used.add(k)
        if len(meet) > 1 and not _taken(shapes, leg.point):
            out.append(_fitting(meet))
    for k, one in enumerate(pipes):
        for two in pipes[k + 1 :]:
            point = _crossing(one, two)
            if point is not None and not _taken(shapes, point):
                out.append(_fitting([leg for s in (one, two) for leg in _through(s, point, one.size)]))
    return out


def _taken(shapes: Iterable[Shape], point: Array) -> bool:
    """Whether a fitting of the rig sits there."""
    return any(
        shape.knot is not None and np.linalg.norm(shape.knot[0] - point) < 2 * shape.knot[1]
        for shape in shapes
    )


def _crossing(one: _Pipe, other: _Pipe) -> Array | None:
    """Where two straight pipes cross at an angle, away from the ends of both; None where they don't."""
    if len(one.path) != 2 or len(other.path) != 2:
        return None
    a, b = one.path, other.path
    u, v = a[1] - a[0], b[1] - b[0]
    normal = np.cross(u, v)
    square = float(normal @ normal)
    if square < 0.1 * float(u @ u) * float(v @ v):
        return None
    gap = b[0] - a[0]
    s, t = float(np.cross(gap, v) @ normal) / square, float(np.cross(gap, u) @ normal) / square
    first, second = a[0] + s * u, b[0] + t * v
    reach = 0.5 * max(one.size, other.size)
    if np.linalg.norm(first - second) > reach:
        return None
    inside = all(len(_through(pipe, first, 2 * reach)) == 2 for pipe in (one, other))
    return first if inside else None


def _fitting(legs: list[_Leg]) -> Surface:
    wide = max(leg.pipe.size for leg in legs)
    middle = (
        legs[0].point
        if len(legs) < 3
        else next((leg.point for leg in legs if _paired(leg, legs)), legs[0].point)
    )
    finish = _darker(legs[0].pipe.finish, (0.86, 0.87, 0.89))
    parts = [sphere(1.26 * wide, finish, 22).moved(np.eye(3), middle)]
    for leg in legs:
        size = leg.pipe.size
        reach = 0.62 * wide + 0.85 * size
        hub = np.array([middle, middle + leg.away * (reach - 0.28 * size)])
        parts.append(swept(hub, 1.26 * size, 0.0, finish, 22))
        rim = np.array([middle + leg.away * (reach - 0.3 * size), middle + leg.away * reach])
        parts.append(swept(rim, 1.38 * size, size * 0.99, finish, 22))
    return join(parts)


def _paired(leg: _Leg, legs: list[_Leg]) -> bool:
    return any(other is not leg and float(leg.away @ other.away) < -0.98 for other in legs)


def caps(shapes: tuple[Shape, ...], floor: float) -> list[Surface]:
    """Caps on pipe ends that stand within 3 mm of the height `floor` (body frame) and point down."""
    out = []
    for pipe in _pipes(shapes):
        for leg in _ends(pipe):
            if leg.point[2] - floor < 0.003 and leg.away[2] > 0.5 and not _taken(shapes, leg.point):
                d = pipe.size
                profile = np.array(
                    [
                        [0.0, 0.0],
                        [0.0, 0.60 * d],
                        [0.12 * d, 0.66 * d],
                        [0.85 * d, 0.66 * d],
                        [0.85 * d, 0.49 * d],
                    ]
                )
                finish = _darker(pipe.finish, (0.86, 0.86, 0.86))
                out.append(lathe(profile, finish, 24).moved(frame_along(leg.away).T, leg.point))
    return out


CARVED = 0.004
"""Half of the thickness of what a joint without an axis is drawn in, m (for the picture alone)."""


def _span(shapes: tuple[Shape, ...], point: Array, axis: Array) -> tuple[float, float] | None:
    """Least and greatest place along the axis, from `point`, of the part nearest to it; None where none is near."""
    best: tuple[float, float, float] | None = None
    for shape in shapes:
        if not shape.bolted or shape.looks != "plain":
            continue
        middle, axes, half = shape.box()
        local = axes.T @ (point - middle)
        gap = float(np.linalg.norm(np.maximum(np.abs(local) - half, 0.0) * (1 - np.abs(axes.T @ axis))))
        reach = (
            float(np.abs(axes.T @ axis) @ half)
            if max(np.abs(axes.T @ axis)) > 0.9
            else float(np.sort(half)[1])
        )
        if gap < 0.012 and reach < 0.06:
            at = float((middle - point) @ axis) if max(np.abs(axes.T @ axis)) > 0.9 else 0.0
            gap += max(0.0, abs(at) - reach)
            if gap < 0.05 and (best is None or gap < best[0]):
                best = (gap, at - reach, at + reach)
    return None if best is None else best[1:]


def joint_hardware(assembly: Assembly) -> dict[int, list[Surface]]:
    """What each kind of joint is drawn with, by the body it is drawn with, in its body frame."""
    out: dict[int, list[Surface]] = {}
    for joint in assembly.joints:
        body = joint.first if assembly.bodies[joint.second].fixed else joint.second
        turn, low, high = np.eye(3), 0.0, 0.0
        span = -CARVED, CARVED
        if joint.axis.any():
            spans = []
            for i in (joint.first, joint.second):
                data = assembly.bodies[i]
                spans.append(_span(data.shapes, joint.point - data.com, joint.axis))
            known = [s for s in spans if s is not None]
            low, high = (min(s[0] for s in known), max(s[1] for s in known)) if known else (-0.01, 0.01)
            turn = frame_along(joint.axis).T
            span = low, high
            if joint.axis @ np.array([-0.5, 1.0, -0.3]) < 0:  # the head towards the viewer
                turn, low, high = frame_along(-joint.axis).T, -high, -low
        hollow = joint.kind.carved(*span)
        if hollow is not None:
            base = assembly.bodies[joint.first]
            out.setdefault(joint.first, []).append(hollow.moved(base.placement.turn, joint.point - base.com))
        surface = joint.kind.drawn(low, high)
        if surface is not None:
            out.setdefault(body, []).append(surface.moved(turn, joint.point - assembly.bodies[body].com))
    return out


def _cams(assembly: Assembly, out: dict[int, list[Surface]]) -> None:
    """Add what contacts rest on where it isn't a part of a body, by body, in body frames."""
    for contact in assembly.rig.contacts.values():
        if contact.on is None:
            continue
        at, patch = np.array(contact.on.at[:3]), contact.patch()
        surface = contact.on.drawn(np.array(patch.centre[:3]) - at, patch.radius)
        if surface is not None:
            body = assembly.carrier(contact.on.body, contact.on.at)
            data = assembly.bodies[body]
            out.setdefault(body, []).append(surface.moved(data.placement.turn, data.local(contact.on.at)))


def _catches(assembly: Assembly, out: dict[int, list[Surface]]) -> None:
    """Add the wheels and pawls of ratchets, by body, in body frames."""
    joints = {joint.name: joint for joint in assembly.joints}
    for stop in assembly.rig.stops.values():
        joint = joints[stop.joint]
        for body, surface in zip((joint.second, joint.first), stop.drawn(joint.axis) or (), strict=False):
            own = surface.moved(np.eye(3), joint.point - assembly.bodies[body].com)
            out.setdefault(body, []).append(own)


def _couplings(assembly: Assembly, out: dict[int, list[Surface]]) -> None:
    """Add toothed wheels, racks, chains and belts, by body, in body frames."""
    for coupling in (*assembly.couplings, *assembly.slips):
        drawn = coupling.kind.drawn(*coupling.sides, coupling.tie)
        owners = (*coupling.bodies, coupling.carrier)
        for body, surfaces in zip(owners, (drawn.first, drawn.second, drawn.carrier), strict=True):
            centre = assembly.bodies[body].com
            out.setdefault(body, []).extend(s.moved(np.eye(3), -centre) for s in surfaces)


def hardware(assembly: Assembly) -> dict[int, list[Surface]]:
    """Everything that holds the prop together and isn't a part of the rig, by body, in body frames."""
    out = joint_hardware(assembly)
    _couplings(assembly, out)
    _cams(assembly, out)
    _catches(assembly, out)
    lows = [
        float(s.path[:, 2].min() + b.com[2]) for b in assembly.bodies if b.fixed for s in _pipes(b.shapes)
    ]
    ground = min(lows, default=0.0)
    for i, body in enumerate(assembly.bodies):
        more = pipe_fittings(body.shapes)
        if body.fixed and ground < 0.003:
            more += caps(body.shapes, -float(body.com[2]))
        if more:
            out.setdefault(i, []).extend(more)
    return out
