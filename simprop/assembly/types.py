"""What an assembled prop is: bodies, joints, the tree that spans them and the joints that close loops.

All in SI and in the world frame of the start pose (x right, y away from the viewer, z up). The frame of a body has
its origin at the centre of mass and, in the start pose, the axes of the world: the rotation of every body is the
identity at the start.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from simprop.couplings.base import CouplingBase, Side, Tie
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import Freedom, barred
from simprop.geometry.placement import Placement
from simprop.joints.kinds import JointKind
from simprop.parts.part import Shape
from simprop.rig.model import Rig

Motion = Literal["turn", "slide"]


@dataclass(frozen=True)
class BodyData:
    """A rigid body at the start pose.

    Attributes:
        name: as in the rig.
        fixed: stands still.
        mass: kg.
        com: centre of mass, (3,) m.
        inertia: about the centre of mass, world axes of the start pose, (3, 3) kg*m^2.
        shapes: its parts, in the body frame.
        placement: how it got from where it was drawn to the start pose.
        scenery: stands still and is no part of the prop.
        member: name of the body in the rig that bends and of which this is a piece; None: a body of its own.
    """

    name: str
    fixed: bool
    mass: float
    com: Array
    inertia: Array
    shapes: tuple[Shape, ...]
    placement: Placement
    scenery: bool = False
    member: str | None = None

    @property
    def called(self) -> str:
        """Its name in the rig: that of the whole, for a piece of a member that bends."""
        return self.name if self.member is None else self.member

    def local(self, drawn: Sequence[Any] | Array) -> Array:
        """A drawn point of the body in its own frame: (3,) m."""
        return np.asarray(self.placement.world(drawn) - self.com)


@dataclass(frozen=True)
class Give:
    """A joint that gives in the directions that it bars: a spring and a damper, stress-free in the start pose.

    A shift d of the second body against the first at the joint's point and a turn t between them (rotation vector),
    both in axes that the first body carries, meet the wrench -stiffness @ (d, t) - damping @ their rates on the
    second body at that point.

    Attributes:
        stiffness: (6, 6), N/m, N*m/rad and between; world axes of the start pose; zero along what is free.
        damping: (6, 6), N*s/m, N*m*s/rad and between; the same axes.
    """

    stiffness: Array
    damping: Array


@dataclass(frozen=True)
class JointData:
    """A joint at the start pose.

    Attributes:
        name: as in the rig.
        kind: as in the rig, with all that its kind is.
        first: index of the body it is mounted on.
        second: index of the body that moves against the first.
        point: where, (3,) m.
        axis: unit direction, (3,); zeros for a joint without one.
        freedoms: what it leaves free, with what its play leaves free.
        give: how it gives in what it bars; None: not at all.
    """

    name: str
    kind: JointKind
    first: int
    second: int
    point: Array
    axis: Array
    freedoms: tuple[Freedom, ...]
    give: Give | None = None

    @property
    def bars(self) -> tuple[Array, Array]:
        """Directions of force (k, 3) and moment (m, 3) that it can carry, in the first body's start axes."""
        return barred(self.freedoms, self.axis)


@dataclass(frozen=True)
class Branch:
    """One step of the spanning tree: `body` hangs on `parent` by `joint`.

    `joint` is None for a body that floats freely, whose parent is then -1 (the world). `parent` is -1 also when
    the joint is to a fixed body: every fixed body belongs to the world. `forward` says that the joint's first
    body is the parent; otherwise the joint's coordinate counts the other way round.
    """

    body: int
    parent: int
    joint: int | None
    forward: bool


@dataclass(frozen=True)
class Closure:
    """A joint that closes a loop, with the directions that the rest of the mechanism leaves open.

    Attributes:
        joint: index of the joint.
        rows: constraint rows to enforce, each (6,): unit (force; moment) direction at the joint's point in world
            axes of the start pose, carried by the joint's first body.
        redundant: the rows of the joint that the rest of the mechanism already enforces, same form.
    """

    joint: int
    rows: Array
    redundant: Array


@dataclass(frozen=True)
class Axis:
    """One coordinate of a joint on which something can act.

    Attributes:
        joint: index of the joint.
        motion: turn (rad) or slide (m).
        way: unit direction, (3,), in the start axes of the joint's first body, which carries it.
        name: of the coordinate among those of its joint: its motion, with a number from the second on.
    """

    joint: int
    motion: Motion
    way: Array
    name: str


@dataclass(frozen=True)
class CouplingData:
    """A coupling at the start pose: the rate of the second axis is `ratio` times that of the first.

    Attributes:
        name: as in the rig.
        kind: as in the rig, with all that its kind is.
        axes: indices into `Assembly.axes`.
        ratio: rad/s or m/s of the second for 1 of the first.
        bodies: indices of the body that the first joint moves, and of that which the second moves.
        carrier: index of the body that carries both joints (one of those that stand still, where there are two).
        tie: where and how the two push each other, carried by the carrier.
        sides: the two joints.
        works: work of a unit coupling force on each side that moves by 1 rad or 1 m in that force's sense, J.
    """

    name: str
    kind: CouplingBase
    axes: tuple[int, int]
    ratio: float
    bodies: tuple[int, int]
    carrier: int
    tie: Tie
    sides: tuple[Side, Side]
    works: tuple[float, float]


@dataclass(frozen=True)
class Member:
    """A body of the rig that bends, as rigid pieces with springs between.

    Attributes:
        whole: the body as it is unstrained, in the start pose.
        bodies: indices of its pieces, in order along each of its beams.
        seams: indices of the joints between them.
        damping: damping ratio of its first way to swing as held.
        frequency: of that, Hz.
    """

    whole: BodyData
    bodies: tuple[int, ...]
    seams: tuple[int, ...]
    damping: float
    frequency: float


@dataclass(frozen=True)
class Assembly:
    """A prop put together at its start pose.

    Attributes:
        rig: what it was made from.
        bodies: all bodies, fixed ones too, in the order of the rig.
        joints: all joints, in the order of the rig.
        tree: spanning tree, parents before children; holds every body that isn't fixed.
        closures: the joints not in the tree.
        axes: every turning and sliding coordinate of the joints, in their order (slides, then turns), without those
            that are play or part of a ball.
        mobility: degrees of freedom, counted by the rank of the constraint Jacobian.
        surplus: constraint rows beyond that rank (over-constrained by so many).
        velocity: velocity of each body's centre of mass at the start, (B, 3) m/s.
        spin: angular velocity of each body at the start, (B, 3) rad/s.
        notes: what a person should know (assumed values, moved points), one sentence each.
        members: the bodies of the rig that bend.
        couplings: what ties axes together, in the order of the rig.
        slips: what ties them by friction alone, likewise.
    """

    rig: Rig
    bodies: tuple[BodyData, ...]
    joints: tuple[JointData, ...]
    tree: tuple[Branch, ...]
    closures: tuple[Closure, ...]
    axes: tuple[Axis, ...]
    mobility: int
    surplus: int
    velocity: Array
    spin: Array
    notes: tuple[str, ...] = ()
    members: tuple[Member, ...] = ()
    couplings: tuple[CouplingData, ...] = ()
    slips: tuple[CouplingData, ...] = ()

    @property
    def gives(self) -> bool:
        """True if a joint gives or a member bends."""
        return any(joint.give is not None for joint in self.joints)

    @property
    def seams(self) -> frozenset[int]:
        """Indices of the joints between pieces of members that bend: no joints of the rig."""
        return frozenset(j for member in self.members for j in member.seams)

    @property
    def drawn(self) -> tuple[BodyData, ...]:
        """The bodies of the rig in its order, those that bend as they are unstrained."""
        whole = {member.bodies[0]: member.whole for member in self.members}
        return tuple(whole.get(i, b) for i, b in enumerate(self.bodies) if b.member is None or i in whole)

    def carrier(self, name: str, drawn: Sequence[Any] | Array) -> int:
        """Index of the body of that name; of one that bends, of the piece that carries a drawn point.

        Args:
            name: of a body of the rig.
            drawn: place as drawn, (3,) m.
        """
        found = next(i for i, body in enumerate(self.bodies) if name in (body.name, body.member))
        return self.nearest(name, self.bodies[found].placement.world(drawn))

    def nearest(self, name: str, point: Array) -> int:
        """The same for a point in the world's start pose, (3,) m."""
        own = [i for i, body in enumerate(self.bodies) if name in (body.name, body.member)]
        return own[0] if len(own) == 1 else min(own, key=lambda i: _off(self.bodies[i], point))

    @property
    def jammed(self) -> bool:
        """True if there are bodies that aren't fixed, and nothing can move."""
        return self.mobility == 0 and any(not body.fixed for body in self.bodies)


def _off(body: BodyData, point: Array) -> tuple[float, float]:
    """How far a point of the world's start pose lies outside of a piece, and off the middle lines of its beams, m."""
    local = point - body.com
    gaps = [(round(max(0.0, shape.gap(local)), 9), 1.0) for shape in body.shapes if shape.section() is None]
    for line in (s for shape in body.shapes if shape.section() is not None for s in shape.stretches()):
        off = float(np.linalg.norm(local - line.foot(local)))
        gaps.append((round(max(0.0, off - line.radius), 9), off))
    return min(gaps)
