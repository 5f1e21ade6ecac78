"""All that acts on a body from outside besides its weight: joints, springs and straight drives, places of touch, strips
and the air."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads


@dataclass(frozen=True)
class Outer:
    """One load on a body over all steps, world frame.

    Attributes:
        kind: joint, line (spring, rope or straight drive), touch or air (strips too).
        index: of the joint, line element, place of touch or row of what acts from outside.
        other: index of the body at its other end; -1 for the floor, strips and the air.
        point: where it acts in the start pose, (3,) m, body frame.
        place: where it acts, (n, 3) m.
        force: (n, 3) N.
        moment: about `place`, (n, 3) N*m.
    """

    kind: Literal["joint", "line", "touch", "air"]
    index: int
    other: int
    point: Array
    place: Array
    force: Array
    moment: Array


def outer_loads(loads: JointLoads, body: int) -> tuple[Outer, ...]:
    """The loads on a body from outside.

    Args:
        body: index of the body.
    """
    assembly, track, wrenches = loads.recording.assembly, loads.recording.track, loads.wrenches
    laws = loads.recording.laws
    still = np.zeros((len(track.time), 3))
    found: list[Outer] = []
    for j, joint in enumerate(assembly.joints):
        for own, other, sign in ((joint.second, joint.first, 1.0), (joint.first, joint.second, -1.0)):
            if own == body:
                point = joint.point - assembly.bodies[body].com
                load = (sign * wrenches.force[:, j], sign * wrenches.moment[:, j])
                found.append(Outer("joint", j, other, point, wrenches.point[:, j], *load))
    for k, line in enumerate(laws.lines):
        start, end = track.line_start[:, k], track.line_end[:, k]
        way = end - start
        pull = (
            track.line_force[:, k, None] * way / np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-12)
        )
        if line.first == body:
            found.append(Outer("line", k, line.second, line.first_point, start, pull, still))
        if line.second == body:
            found.append(Outer("line", k, line.first, line.second_point, end, -pull, still))
    for k, touch in enumerate(laws.touches):
        if touch.joint >= 0:  # a joint with play: its wrench holds what its walls give
            continue
        force = np.nan_to_num(track.touch_force[:, k])
        place = np.nan_to_num(track.touch_point[:, k])
        if touch.second == body:
            found.append(Outer("touch", k, touch.first, touch.second_point, place, force, still))
        if touch.first == body:
            found.append(Outer("touch", k, touch.second, touch.first_point, place, -force, still))
    return (*found, *_blown(loads, body))


def _blown(loads: JointLoads, body: int) -> Iterator[Outer]:
    """Those of strips and the air."""
    track = loads.recording.track
    for k, row in enumerate(loads.recording.laws.outside.rows):
        if row.body == body:
            place = track.position[:, body] + matrices(track.rotation[:, body]) @ row.point
            load = (track.outer_force[:, k], track.outer_moment[:, k])
            yield Outer("air", k, -1, row.point, place, *load)
