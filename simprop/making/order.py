"""In which order a prop is put together: from its joints, so that nothing is asked for before it is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import pi
from typing import Literal

import numpy as np

from simprop.assembly.types import Assembly, BodyData, JointData
from simprop.geometry.arrays import Array
from simprop.loads.joints import MotorLoad
from simprop.run.run import Run
from simprop.strength.context import NEAR

Does = Literal[
    "make", "stand", "place", "slip", "mount", "join", "close", "couple", "turn", "fit", "hub", "power"
]

ONE_LINE = 1e-3
"""Joints whose axes lie this near each other share a shaft, m."""
PARALLEL = 1e-3
"""Cross product of unit axes up to which they count as parallel."""
STILL = (1e-3, np.radians(0.5))
"""What moves less than this in the run, m or rad, isn't asked to travel."""


@dataclass(frozen=True)
class Travel:
    """How far a joint goes in the run.

    Attributes:
        joint: its name.
        motion: turn or slide.
        size: rad or m.
        round: it goes round and round.
    """

    joint: str
    motion: Literal["turn", "slide"]
    size: float
    round: bool


@dataclass(frozen=True)
class Step:
    """One step at the bench.

    Attributes:
        does: make a body of its parts; stand up what stands still; place what hangs on cords; slip a spring onto a
            shaft; mount a motor; join a body to what stands; close a loop; couple two joints; turn by hand; fit what
            acts between two points; tighten the hub of a motor; power.
        name: of body, spring, motor, joint, coupling or what is fitted; "" for what has none.
        bodies: that it takes, those that are there already first.
        row: bodies along the axis of a joint, in the order in which they sit there.
        sort: of what is fitted: spring, pusher, pull, cord or strips.
        travels: to try.
        driven: what turning the prop by hand takes at each motor's joint.
        endless: what couples goes round both wheels in one piece.
        loose: the body hangs loose until a loop is closed.
    """

    does: Does
    name: str
    bodies: tuple[str, ...] = ()
    row: tuple[str, ...] = ()
    sort: str = ""
    travels: tuple[Travel, ...] = ()
    driven: tuple[MotorLoad, ...] = ()
    endless: bool = False
    loose: bool = False


def order(run: Run) -> tuple[Step, ...]:
    """The steps of building a prop, first to last.

    Each body is made of its parts first; then what stands still, and outward from it each body with its joint, its
    motor before it; then the joints that close loops, what couples joints as soon as both are there; a turn by hand
    with the travels of the run; then pushers, springs, cords and strips; the hubs of motors, and power.

    Args:
        run: of at least one whole cycle of the prop.
    """
    assembly = run.assembly
    steps = [*_made(assembly)]
    joined = [*_joined(assembly)]
    steps += _with_couplings(assembly, joined)
    steps.append(Step("turn", "", travels=travels(run), driven=run.loads.motors))
    steps += _fitted(assembly)
    wired = {n: m for n, m in assembly.rig.motors.items() if not m.figures.unwired}
    steps += [Step("hub", name, (_of(assembly, motor.joint),)) for name, motor in wired.items()]
    if wired or assembly.rig.pushers:
        steps.append(Step("power", ""))
    return tuple(steps)


def _of(assembly: Assembly, joint: str) -> str:
    """The body that a motor's joint moves."""
    found = next(j for j in assembly.joints if j.name == joint)
    return assembly.bodies[found.second].called


def _made(assembly: Assembly) -> Iterator[Step]:
    """Sub-assemblies, what moves first, and what stands."""
    own = [b for b in assembly.drawn if not b.scenery]
    for body in sorted(own, key=lambda b: b.fixed):
        yield Step("make", body.name, (body.name,))
    fixed = tuple(b.name for b in own if b.fixed)
    yield Step("stand", "", fixed)


def _joined(assembly: Assembly) -> Iterator[Step]:
    """Bodies with their joints outward over the tree, then the joints that close loops."""
    looped = _looped(assembly)
    for branch in assembly.tree:
        body = assembly.bodies[branch.body].called
        if branch.joint is None:
            yield Step("place", body, (body,))
        elif branch.joint not in assembly.seams:
            joint = assembly.joints[branch.joint]
            pair = _pair(assembly, joint)
            yield from _before(assembly, joint)
            there = pair if branch.forward else pair[::-1]
            yield Step("join", joint.name, there, row(assembly, joint), loose=branch.joint in looped)
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        if closure.joint not in assembly.seams:
            yield from _before(assembly, joint)
            yield Step("close", joint.name, _pair(assembly, joint), row(assembly, joint))


def _looped(assembly: Assembly) -> set[int]:
    """Joints of the tree that a loop goes through."""
    up = {b.body: b for b in assembly.tree}

    def way(body: int) -> set[int]:
        found = set()
        while body in up:
            branch = up[body]
            found |= set() if branch.joint is None else {branch.joint}
            body = branch.parent
        return found

    closing = [assembly.joints[c.joint] for c in assembly.closures]
    return {j for joint in closing for j in way(joint.first) ^ way(joint.second)}


def _pair(assembly: Assembly, joint: JointData) -> tuple[str, str]:
    return assembly.bodies[joint.first].called, assembly.bodies[joint.second].called


def _before(assembly: Assembly, joint: JointData) -> Iterator[Step]:
    """What must be there before a joint is put together: its motor, and springs on its shaft."""
    rig = assembly.rig
    pair = _pair(assembly, joint)
    for name, motor in rig.motors.items():
        if motor.joint == joint.name:
            on = pair[0] if motor.mount is None else motor.mount.on
            yield Step("mount", name, (on,))
    for name, spring in rig.springs.items():
        about = spring.about()
        if about is not None and about[0] == joint.name:
            yield Step("slip", name, pair)


def row(assembly: Assembly, joint: JointData) -> tuple[str, ...]:
    """The bodies on the axis of a joint from its tail to its tip, those of other joints on the same axis too.

    Args:
        assembly: the prop.
        joint: one of its joints.

    Returns:
        Names; () for a joint without an axis that something turns about, and where two are drawn in one place.
    """
    if not any(f.how == "turn" for f in joint.freedoms) or not joint.axis.any():
        return ()
    places: dict[str, float] = {}
    for other in assembly.joints:
        if not _in_line(joint, other):
            continue
        along = float((other.point - joint.point) @ joint.axis)
        for index in (other.first, other.second):
            body = assembly.bodies[index]
            middle = _middle(body, other.point, joint.axis)
            if middle is not None:
                places.setdefault(body.called, along + middle)
    found = sorted(places, key=lambda name: places[name])
    if any(places[b] - places[a] < ONE_LINE for a, b in pairwise(found)):
        return ()
    return tuple(found)


def _middle(body: BodyData, point: Array, axis: Array) -> float | None:
    """Where the part of a body that is nearest to a joint has its middle, along the axis from the joint, m."""
    local = point - body.com
    near = [s for s in body.shapes if s.material and s.gap(local) <= NEAR]
    if not near:
        return None
    shape = min(near, key=lambda s: s.gap(local))
    return float((shape.box()[0] - local) @ axis)


def _in_line(joint: JointData, other: JointData) -> bool:
    off = other.point - joint.point
    beside = float(np.linalg.norm(off - (off @ joint.axis) * joint.axis))
    parallel = bool(other.axis.any()) and float(np.linalg.norm(np.cross(joint.axis, other.axis))) < PARALLEL
    turns = any(f.how == "turn" for f in other.freedoms)
    return turns and parallel and beside < ONE_LINE


def _with_couplings(assembly: Assembly, steps: Sequence[Step]) -> Iterator[Step]:
    """Each coupling right after the later of its two joints."""
    waiting = dict(assembly.rig.couplings)
    there: set[str] = set()
    for step in steps:
        yield step
        if step.does in ("join", "close"):
            there.add(step.name)
        for name in [n for n, c in waiting.items() if set(c.joints) <= there]:
            coupling = waiting.pop(name)
            yield Step("couple", name, tuple(coupling.joints), endless=coupling.endless)


def _fitted(assembly: Assembly) -> Iterator[Step]:
    """What acts between two points, what pushes first; then cords, and strips last."""
    rig = assembly.rig
    for name, pusher in rig.pushers.items():
        yield Step("fit", name, tuple(pusher.between), sort="pusher")
    for name, spring in rig.springs.items():
        line = spring.line()
        if line is not None:
            yield Step("fit", name, tuple(line.between), sort="spring")
    for name, pull in rig.pulls.items():
        yield Step("fit", name, tuple(pull.between), sort="pull")
    for name, cord in rig.cords.items():
        bodies = (cord.start.body, *(p.body for p in cord.over), cord.end.body)
        yield Step("fit", name, tuple(dict.fromkeys(bodies)), sort="cord")
    for name, strips in rig.strips.items():
        yield Step("fit", name, (strips.on,), sort="strips")


def travels(run: Run) -> tuple[Travel, ...]:
    """How far each joint goes in a run; those that hardly move left out.

    Args:
        run: any.
    """
    found = []
    for k, axis in enumerate(run.assembly.axes):
        if axis.joint in run.assembly.seams:
            continue
        size = float(np.ptp(run.track.coordinate[:, k]))
        if size >= STILL[axis.motion == "turn"]:
            whole = axis.motion == "turn" and size >= 2 * pi
            name = run.assembly.joints[axis.joint].name
            found.append(Travel(name, axis.motion, size, whole))
    return tuple(found)
