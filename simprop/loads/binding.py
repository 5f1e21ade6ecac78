"""How near a slide comes to binding: the friction that would lock it over the friction it has.

What pushes a slide along (weight, rods, motors, springs: everything but friction and inertia that acts the way it goes)
also presses it against its guide. With N1 and N2 the reactions at the two ends of the guide to those pushes alone, and
A their sum along the guide, friction mu (N1 + N2) outweighs the push, however strong it is, once

    mu > A / (N1 + N2).

For a push at a distance e from the guide of length b this is the b / (2 e) of drawers. Loads that press the guide
without pushing along it brake, but more push overcomes them: they don't count here.

Source: any text on machines (drawer slides); the sum over several pushes is ours.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.newton_euler import Wrenches
from simprop.recording import Recording

STILL = 1e-3
"""Slower than this share of its fastest, a slide counts as standing: then the way of the greater push counts."""
WEAK = 0.02
"""Instants count at which the push is at least this share of its largest in the run."""


@dataclass(frozen=True)
class Binding:
    """The binding margin of a slide over a run.

    Attributes:
        joint: its name.
        margin: coefficient that would lock it over the one it has, the smallest of the run: under 1 it binds; None when
            not computed, inf when nothing that pushes presses it sideways.
        locking: the coefficient that would lock it then; None when not computed.
        present: the static coefficient of its surfaces; None when the rig states none.
        time: when, s; None when not computed.
        reason: why a margin isn't computed, "" else.
    """

    joint: str
    margin: float | None
    locking: float | None
    present: float | None
    time: float | None
    reason: str = ""


def binding(recording: Recording, wrenches: Wrenches) -> tuple[Binding, ...]:
    """Binding margin of every joint that is guided, in the order of the rig."""
    found = []
    for index, joint in enumerate(recording.assembly.joints):
        guide = joint.kind.guide
        if guide is None:
            continue
        mu = None if guide.friction is None else guide.friction.static
        if guide.length is None:
            reason = "its guided length isn't stated (bearing: 40 mm)"
            found.append(Binding(joint.name, None, None, mu, None, reason))
            continue
        found.append(_slide(recording, wrenches, index, guide.length, mu))
    return tuple(found)


def _slide(recording: Recording, wrenches: Wrenches, index: int, length: float, mu: float | None) -> Binding:
    assembly, track = recording.assembly, recording.track
    joint = assembly.joints[index]
    name = joint.name
    body, sign = (joint.first, -1.0) if assembly.bodies[joint.second].fixed else (joint.second, 1.0)
    axis = matrices(track.rotation[:, joint.first]) @ joint.axis
    slide = next(i for i, a in enumerate(assembly.axes) if a.joint == index and a.motion == "slide")
    rate = sign * track.rate[:, slide]
    middle = wrenches.point[:, index]
    pushes = _pushes(recording, wrenches, index, body, slide=slide, middle=middle, axis=axis)
    along = np.array([np.einsum("ni,ni->n", force, axis) for force, _ in pushes])
    forward, backward = np.maximum(along, 0.0).sum(axis=0), np.maximum(-along, 0.0).sum(axis=0)
    standing = np.abs(rate) <= STILL * float(np.abs(rate).max(initial=0.0))
    way = np.where(standing, np.where(forward >= backward, 1.0, -1.0), np.sign(rate))
    helps = along * way > 0.0
    push = np.where(way > 0, forward, backward)
    force = sum(f * h[:, None] for (f, _), h in zip(pushes, helps, strict=True))
    moment = sum(m * h[:, None] for (_, m), h in zip(pushes, helps, strict=True))
    ends = _ends(np.asarray(force), np.asarray(moment), axis, length)
    counts = push > max(WEAK * float(push.max(initial=0.0)), 1e-9)
    if not counts.any():
        return Binding(name, None, None, mu, None, "nothing pushes it along")
    locking = np.full(len(push), np.inf)
    pressed = counts & (ends > 1e-9 * push)
    locking[pressed] = push[pressed] / ends[pressed]
    row = int(np.argmin(locking))
    least, when = float(locking[row]), float(track.time[row])
    if mu is None:
        return Binding(
            name, None, least, None, when, "its friction isn't stated by surfaces or a coefficient"
        )
    return Binding(name, least / mu, least, mu, when)


def _pushes(
    recording: Recording,
    wrenches: Wrenches,
    index: int,
    body: int,
    *,
    slide: int,
    middle: Array,
    axis: Array,
) -> list[tuple[Array, Array]]:
    """All that acts on what slides but its guide, friction and inertia: force and moment about the guide's middle."""
    assembly, track = recording.assembly, recording.track
    joint = assembly.joints[index]
    n = len(track.time)
    weight = np.broadcast_to(assembly.bodies[body].mass * np.asarray(assembly.rig.run.gravity), (n, 3))
    found = [(weight, np.cross(track.position[:, body] - middle, weight))]
    for j, other in enumerate(assembly.joints):
        if j == index or body not in (other.first, other.second):
            continue
        side = 1.0 if other.second == body else -1.0
        force = side * wrenches.force[:, j]
        arm = wrenches.point[:, j] - middle
        found.append((force, side * wrenches.moment[:, j] + np.cross(arm, force)))
    sense = 1.0 if joint.second == body else -1.0
    for row in ("motor", "spring"):
        own = (sense * track.applied[:, APPLIED.index(row), slide])[:, None] * axis
        found.append((own, np.zeros((n, 3))))
    for k, line in enumerate(recording.laws.lines):
        way = track.line_end[:, k] - track.line_start[:, k]
        way = way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
        pull = track.line_force[:, k, None] * way
        for end, side, place in ((line.first, 1.0, track.line_start), (line.second, -1.0, track.line_end)):
            if end == body:
                found.append((side * pull, np.cross(place[:, k] - middle, side * pull)))
    for k, touch in enumerate(recording.laws.touches):
        for end, side in ((touch.second, 1.0), (touch.first, -1.0)):
            if end == body and touch.joint != index:
                force = side * track.touch_force[:, k]
                found.append((force, np.cross(track.touch_point[:, k] - middle, force)))
    return found


def _ends(force: Array, moment: Array, axis: Array, length: float) -> Array:
    """Sum of the reactions at the two ends of a guide, (n,) N; as `simprop.laws.friction.end_reactions`."""
    side = force - np.einsum("ni,ni->n", force, axis)[:, None] * axis
    twist = np.cross(axis, moment) / length
    return np.asarray(np.linalg.norm(side / 2 - twist, axis=1) + np.linalg.norm(side / 2 + twist, axis=1))
