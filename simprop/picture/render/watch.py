"""Points of the prop that are followed through the run."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError, meant
from simprop.geometry.arrays import Array
from simprop.picture.render.motion import Poses, poses_at

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory


@dataclass(frozen=True)
class Watched:
    """A point fastened to a body.

    Attributes:
        name: what it is called.
        body: index of the body.
        local: (3,) m in the body frame.
    """

    name: str
    body: int
    local: Array


def watched(assembly: Assembly, names: Sequence[str] | None = None) -> tuple[Watched, ...]:
    """The watched points and the bodies they ride on.

    ``BODY.POINT`` says on which body a point rides. A point by itself rides on the moving body one of whose parts was
    drawn through it; else on the second body of a joint at it; else on the moving body with a part nearest to it.

    Args:
        names: points or joints of the rig; None takes the rig's own `watch`.

    Raises:
        RenderError: for a name that is neither, with the nearest one.
    """
    rig = assembly.rig
    out = []
    for name in rig.watch if names is None else names:
        joint = next((j for j in assembly.joints if j.name == name), None)
        bearer, _, point_name = name.partition(".")
        if bearer in {b.called for b in assembly.bodies} and point_name in rig.points:
            body = assembly.carrier(bearer, rig.points[point_name])
            local = assembly.bodies[body].local(rig.points[point_name])
            out.append(Watched(name, body, local))
        elif name in rig.points:
            point = np.array(rig.points[name][:3])
            body = _bearer(assembly, name, point)
            out.append(Watched(name, body, assembly.bodies[body].local(point)))
        elif joint is not None:
            body = joint.first if assembly.bodies[joint.second].fixed else joint.second
            out.append(Watched(name, body, joint.point - assembly.bodies[body].com))
        else:
            known = [*rig.points, *(j.name for j in assembly.joints)]
            raise RenderError(
                f"{name!r} is not a point or joint to watch; allowed: {', '.join(known) or 'none are named'}"
                + meant(name, known)
            )
    return tuple(out)


def _bearer(assembly: Assembly, name: str, point: Array) -> int:
    for body, record in assembly.rig.bodies.items():
        for part in record.parts:
            if not record.fixed and any(p.name == name for p in part.points()):
                return assembly.carrier(body, point)
    for joint in assembly.joints:
        body_ = joint.first if assembly.bodies[joint.second].fixed else joint.second
        if np.linalg.norm(assembly.bodies[body_].placement.world(point) - joint.point) < 1e-6:
            return body_
    far = (np.inf, np.inf)

    def nearness(i: int) -> tuple[bool, tuple[float, float]]:
        body = assembly.bodies[i]
        return body.fixed, min((s.nearness(body.local(point)) for s in body.shapes), default=far)

    return min(range(len(assembly.bodies)), key=nearness)


def follow(points: Sequence[Watched], poses: Poses) -> Array:
    """World places of watched points at each instant, (n, k, 3) m."""
    rows = [poses.turn[:, p.body] @ p.local + poses.shift[:, p.body] for p in points]
    return np.stack(rows, axis=1) if rows else np.zeros((len(poses.time), 0, 3))


def travels(
    assembly: Assembly, track: Trajectory, names: Sequence[str] | None = None
) -> dict[str, tuple[float, ...]]:
    """How far each watched point moves along x, y and z over a run, m."""
    step = max(1, len(track.time) // 4000)
    poses: Poses = poses_at(assembly, track, track.time[::step])
    points = watched(assembly, names)
    paths = follow(points, poses)
    return {p.name: tuple(float(v) for v in np.ptp(paths[:, k], axis=0)) for k, p in enumerate(points)}
