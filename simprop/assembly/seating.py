"""Whether what was drawn touching still touches in the start pose: props that stand loose are set down again."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from simprop.forces.contacts import Contact, Patch
from simprop.geometry.arrays import Array
from simprop.geometry.placement import Placement
from simprop.reading.fields import Point
from simprop.rig.model import Rig

TOUCHING = 1e-3
"""A contact drawn nearer than this to its face is meant to touch from the start, m (assumed)."""
TOLD = 5e-4
"""A start pose that floats or sinks by more than this is told of, m (assumed)."""
Pose = tuple[Array, Array]


def seated(
    rig: Rig, holds: Sequence[Placement], placed: Sequence[Pose]
) -> tuple[list[Pose], tuple[str, ...]]:
    """Bodies that stand loose on the floor set down as deep as they were drawn, and what floats or sinks after that.

    Args:
        rig: as drawn.
        holds: of the bodies, in the order of the rig.
        placed: turn (3, 3) and shift (3,) m of each body where the loops close.

    Returns:
        Poses as `placed`, and one sentence for each contact that was drawn touching and doesn't touch.
    """
    names = list(rig.bodies)
    drawn = {
        name: _gap(c.patch(), *_face(c), np.array(c.patch().centre[:3]), np.eye(3))
        for name, c in rig.contacts.items()
    }
    meant = {name: c for name, c in rig.contacts.items() if abs(drawn[name]) < TOUCHING}

    def moved(name: str, poses: Sequence[Pose]) -> float:
        """How much further a contact is from its face than drawn, m."""
        contact = meant[name]
        own = names.index(contact.body)
        patch, (at, normal) = contact.patch(), _face(contact)
        if contact.on is not None:
            other = names.index(contact.on.body)
            at, normal = _world(holds[other], poses[other], contact.on.at), poses[other][0] @ normal
        return (
            _gap(patch, at, normal, _world(holds[own], poses[own], patch.centre), poses[own][0]) - drawn[name]
        )

    poses = list(placed)
    for group in _loose(rig):
        floor = [n for n, c in meant.items() if c.on is None and c.body in group]
        lift = min((moved(n, poses) for n in floor), default=0.0)
        for i in (names.index(b) for b in group):
            poses[i] = poses[i][0], poses[i][1] - np.array([0.0, 0.0, lift])
    notes = []
    for name in meant:
        off = moved(name, poses)
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
    return (
        (np.zeros(3), np.array([0.0, 0.0, 1.0])) if on is None else (np.array(on.at[:3]), np.array(on.normal))
    )


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
