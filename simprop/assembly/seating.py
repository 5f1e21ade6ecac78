"""Whether what was drawn touching still touches in the start pose: props that stand on something are set down again.

What stands loose on the floor is lifted or lowered as a whole. What joints hold as well is brought there by the
smallest moves of the joints that no motor drives, the loops staying closed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from simprop.assembly.kinematics import Hinge, Pose, Tree, advance, residual, scales
from simprop.assembly.kinematics import poses as poses_of
from simprop.forces.contacts import Contact, Patch
from simprop.geometry.arrays import Array
from simprop.geometry.placement import Placement
from simprop.reading.fields import Point
from simprop.rig.model import Rig

TOUCHING = 1e-3
"""A contact drawn nearer than this to its face is meant to touch from the start, m (assumed)."""
TOLD = 5e-4
"""A start pose that floats or sinks by more than this is told of, m (assumed)."""
SEATED = 1e-9
"""A contact this near to where it was drawn stands as drawn, m."""
NEARBY = 5.0
"""No joint moves by more than so many times what a contact was off: further lies another pose of the prop (assumed)."""


class Seats:
    """The contacts of a rig that were drawn touching, and how far each is from where it was drawn.

    Args:
        rig: as drawn.
        holds: placements of the bodies, in the order of the rig.
    """

    def __init__(self, rig: Rig, holds: Sequence[Placement]):
        self.names, self.holds, self.loose = list(rig.bodies), holds, _loose(rig)
        gaps = {
            name: _gap(c.patch(), *_face(c), np.array(c.patch().centre[:3]), np.eye(3))
            for name, c in rig.contacts.items()
            if c.on is None or c.on.flat
        }
        self.meant = {n: (rig.contacts[n], gap) for n, gap in gaps.items() if abs(gap) < TOUCHING}
        free = set().union(*self.loose) if self.loose else set()
        self.held = [name for name, (c, _) in self.meant.items() if c.body not in free]

    def off(self, name: str, poses: Sequence[Pose]) -> float:
        """How much further a contact is from its face than drawn, m."""
        contact, drawn = self.meant[name]
        own = self.names.index(contact.body)
        patch, (at, normal) = contact.patch(), _face(contact)
        if contact.on is not None:
            other = self.names.index(contact.on.body)
            at, normal = _world(self.holds[other], poses[other], contact.on.at), poses[other][0] @ normal
        return (
            _gap(patch, at, normal, _world(self.holds[own], poses[own], patch.centre), poses[own][0]) - drawn
        )

    def offs(self, poses: Sequence[Pose]) -> Array:
        """The same of all contacts of what joints hold, (k,)."""
        return np.array([self.off(name, poses) for name in self.held])


def reseated(
    seats: Seats, tree: Tree, closing: Sequence[Hinge], q: Array, size: float, locked: Sequence[int]
) -> Array:
    """Tree coordinates at which what joints hold stands as it was drawn; as given where there are none nearby.

    Args:
        q: where the loops close.
        size: length that turns radians into metres.
        locked: coordinates that stay where they are (those with motors).
    """
    first = float(np.abs(seats.offs(poses_of(tree, q))).max(initial=0.0))
    if first < SEATED:
        return q
    weights = scales(tree, size)
    weights[list(locked)] = np.inf

    def wrong(at: Array) -> Array:
        now = poses_of(tree, at)
        return np.concatenate([residual(closing, now, size), seats.offs(now)])

    found, steps = q, 1e-6 * np.eye(tree.size) / scales(tree, size)[:, None]
    for _ in range(20):
        now = wrong(found)
        if float(np.abs(now).max()) < SEATED:
            break
        slope = np.stack(
            [
                (wrong(advance(tree, found, h)) - wrong(advance(tree, found, -h))) / (2 * h.sum())
                for h in steps
            ],
            axis=1,
        )
        found = advance(tree, found, -np.linalg.lstsq(slope / weights, now, rcond=1e-6)[0] / weights)
    near = float(np.abs((found - q) * scales(tree, size)).max(initial=0.0)) <= NEARBY * first
    return found if near and float(np.abs(wrong(found)).max()) < SEATED else q


def seated(seats: Seats, placed: Sequence[Pose]) -> tuple[list[Pose], tuple[str, ...]]:
    """Bodies that stand loose on the floor set down as deep as they were drawn, and what floats or sinks after that.

    Args:
        placed: turn (3, 3) and shift (3,) m of each body where the loops close.

    Returns:
        Poses as `placed`, and one sentence for each contact that was drawn touching and doesn't touch.
    """
    poses = list(placed)
    for group in seats.loose:
        floor = [n for n, (c, _) in seats.meant.items() if c.on is None and c.body in group]
        lift = min((seats.off(n, poses) for n in floor), default=0.0)
        for i in (seats.names.index(b) for b in group):
            poses[i] = poses[i][0], poses[i][1] - np.array([0.0, 0.0, lift])
    notes = []
    for name in seats.meant:
        off = seats.off(name, poses)
        if abs(off) > TOLD:
            what = "floats by" if off > 0 else "is pressed in by"
            then = "it drops" if off > 0 else "it is thrown"
            notes.append(
                f"contacts.{name}: {what} {1000 * abs(off):.1f} mm in the start pose, where it was drawn touching: "
                f"{then} at the start; the first loads are those of that"
            )
    return poses, tuple(notes)


def _face(contact: Contact) -> tuple[Array, Array]:
    """Point and normal of what it touches, as drawn; the floor's are the world's."""
    on = contact.on
    return (np.zeros(3), np.array([0.0, 0.0, 1.0])) if on is None else (np.array(on.at[:3]), on.way)


def _world(hold: Placement, pose: Pose, point: Point) -> Array:
    turn, shift = pose
    return np.asarray(turn @ np.asarray(hold.stretched(point)) + shift)


def _gap(patch: Patch, at: Array, normal: Array, centre: Array, turn: Array) -> float:
    """Distance of what touches from a face, m, negative where it is inside."""
    down = -normal
    if patch.form == "arc":
        one = turn @ patch.middle
        two = np.cross(turn @ patch.axis, one)
        angle = min(max(math.atan2(float(down @ two), float(down @ one)), -patch.spread), patch.spread)
        down = math.cos(angle) * one + math.sin(angle) * two
    return float((centre + patch.radius * down - at) @ normal)


def _loose(rig: Rig) -> list[set[str]]:
    """Groups of bodies that no joint holds to something still."""
    groups: list[set[str]] = [{name} for name in rig.bodies]
    for joint in rig.joints.values():
        joined = [g for g in groups if g & set(joint.between)]
        groups = [g for g in groups if g not in joined] + [set().union(*joined)]
    return [g for g in groups if not any(rig.bodies[b].still for b in g)]
