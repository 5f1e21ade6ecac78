"""What ties the axes of joints together, worked out in the start pose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simprop.assembly.types import Axis, BodyData, CouplingData, JointData
from simprop.catalog.friction import Surfaces
from simprop.couplings.base import CouplingBase, Rub, Side, Tie
from simprop.errors import Fault, RigError
from simprop.rig.model import Rig


def coupled(
    rig: Rig, bodies: Sequence[BodyData], joints: Sequence[JointData], axes: Sequence[Axis]
) -> tuple[tuple[CouplingData, ...], tuple[CouplingData, ...]]:
    """The couplings of a rig that hold, and those that may slip, each in its order.

    Raises:
        RigError: where one can't be, with its field.
    """
    holds: list[CouplingData] = []
    slips: list[CouplingData] = []
    for name, kind in rig.couplings.items():
        try:
            made = _coupled(name, kind, bodies, joints, axes)
        except ValueError as error:
            raise RigError([Fault(str(error), field=f"couplings.{name}")]) from None
        (holds if kind.most(*made.sides) is None else slips).append(made)
    return tuple(holds), tuple(slips)


def _coupled(
    name: str,
    kind: CouplingBase,
    bodies: Sequence[BodyData],
    joints: Sequence[JointData],
    axes: Sequence[Axis],
) -> CouplingData:
    own = [next(j for j in joints if j.name == joint) for joint in kind.joints]
    numbers = [_axis(joint, axes, how) for joint, how in zip(own, kind.motions, strict=True)]
    carriers = (own[0].first, own[0].second) if own[0] is own[1] else _carriers(bodies, *own)
    sides, moved = [], []
    for joint, carrier, number in zip(own, carriers, numbers, strict=True):
        forward = joint.first == carrier
        moved.append(joint.second if forward else joint.first)
        sides.append(
            Side(joint.name, axes[number].motion, joint.point, axes[number].way * (1.0 if forward else -1.0))
        )
    tie = kind.tie(sides[0], sides[1])
    pushes = [_work(tie, side) for side in sides]
    if min(abs(p) for p in pushes) < 1e-9:
        raise ValueError("one of its two joints isn't moved by it")
    ratio = pushes[0] / pushes[1]
    if kind.lost:
        tie = replace(tie, rub=Rub(Surfaces("", kind.lost, kind.lost, "stated in the rig"), abs(pushes[0])))
    return CouplingData(
        name,
        kind,
        (numbers[0], numbers[1]),
        ratio,
        (moved[0], moved[1]),
        carriers[0],
        tie,
        (sides[0], sides[1]),
        (pushes[0], pushes[1]),
    )


def _axis(joint: JointData, axes: Sequence[Axis], how: str | None) -> int:
    """The one axis of a joint that may be tied."""
    free = [f.axis for f in joint.freedoms if f.axis >= 0 and how in (None, axes[f.axis].motion)]
    if len(free) != 1 or (how is None and len(joint.freedoms) != 1):
        told = "turns or slides one way" if how is None else f"{how}s one way"
        raise ValueError(f"joint {joint.name!r} is a {joint.kind.kind}: what is tied here {told}")
    return free[0]


def _carriers(bodies: Sequence[BodyData], one: JointData, other: JointData) -> tuple[int, int]:
    """The body of each of two joints that carries it, where that is one body or both stand still."""
    for a in (one.first, one.second):
        for b in (other.first, other.second):
            if a == b or (bodies[a].fixed and bodies[b].fixed):
                return a, b
    raise ValueError(
        f"{one.name!r} and {other.name!r} hang on no body in common, which would hold them together"
    )


def _work(tie: Tie, side: Side) -> float:
    """Work of a unit coupling force on a side that moves by 1 rad or 1 m, J."""
    if side.motion == "slide":
        return float(tie.force @ side.way)
    return float(tie.force @ np.cross(side.way, tie.point - side.point) + tie.moment @ side.way)


def coupling_told(couplings: Sequence[CouplingData]) -> tuple[str, ...]:
    """What a person should know of the couplings in this prop, one sentence each."""
    return tuple(
        f"couplings.{c.name}: {text}"
        for c in couplings
        for text in c.kind.told(c.sides[0], c.sides[1], c.tie)
    )
