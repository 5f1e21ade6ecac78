"""What is laid over a prop to be read: joints, forces in them, paths of points, axes and words."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simprop.assembly.types import Assembly, JointData
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.geometry.solids import cylinder, sphere
from simprop.geometry.surface import Surface
from simprop.making.upkeep import bearing_most
from simprop.picture.render.motion import Poses, between
from simprop.picture.render.overlay import COLOURS
from simprop.picture.render.watch import follow, watched
from simprop.run.run import Run
from simprop.scene.things import motion_of, node
from simprop.scene.types import Arrows, Colour, Line, Motion, Solid, Word

TURNS, SLIDES, HELD = (0.006, 0.168, 0.445), (0.0, 0.342, 0.171), (0.2, 0.2, 0.2)
"""Colours of the marks of joints, linear: what turns, what slides, what does neither (after Okabe and Ito)."""
LITTLE, MUCH = 0.7, 1.0
"""Shares of what a joint can bear at which its arrow changes colour."""
SHADES: tuple[Colour, ...] = ((0, 114, 178), (240, 170, 40), (200, 40, 40), (120, 122, 126))
"""Colours of arrows: under `LITTLE`, under `MUCH`, above, not computed."""
AXES = (("x", (0.75, 0.05, 0.05)), ("y", (0.05, 0.4, 0.08)), ("z", (0.05, 0.15, 0.7)))


def joints(assembly: Assembly, poses: Poses, size: float) -> Iterator[Solid]:
    """A small mark for each joint: a ball, and a pin along each axis about which or along which it is free.

    Args:
        assembly: the prop.
        poses: of its frames.
        size: length of such a pin, m.
    """
    for j, joint in enumerate(assembly.joints):
        if j in assembly.seams:
            continue
        com = assembly.bodies[joint.first].com
        surfaces = tuple(s for s in _mark(assembly, j, joint, size))
        moved = tuple(s.moved(np.eye(3), joint.point - com) for s in surfaces)
        yield Solid(f"joints/{node(joint.name)}", moved, motion_of(poses, joint.first))


def _mark(assembly: Assembly, j: int, joint: JointData, size: float) -> Iterator[Surface]:
    axes = [a for a in assembly.axes if a.joint == j]
    colour = HELD if not axes else TURNS if any(a.motion == "turn" for a in axes) else SLIDES
    yield sphere(0.3 * size, Finish(colour, glow=0.04), 12)
    for axis in axes:
        half = 0.5 * size * axis.way / np.linalg.norm(axis.way)
        of = TURNS if axis.motion == "turn" else SLIDES
        yield cylinder(-half, half, 0.12 * size, Finish(of, glow=0.04), 8)


def arrows(run: Run, at: Array, length: float, *, shares: bool = True) -> Arrows | None:
    """The force in each joint at each frame, on the joint's second body; None where the prop has no joints.

    A colour tells its share of what the joint can bear, as the run's strongest check of it says: the force now over the
    largest, times what the run takes of it at most. Forces under 2 % of the largest are left out.

    Args:
        run: whose loads are shown.
        at: instants of the frames, (n,) s.
        length: at which the largest force is drawn, m.
        shares: False: strength isn't looked at, and every share counts as not computed.
    """
    found, time = run.loads.wrenches, run.track.time
    own = [j for j in range(len(run.assembly.joints)) if j not in run.assembly.seams]
    if not own:
        return None
    force, root = (between(time, values[:, own], at) for values in (found.force, found.point))
    size = np.linalg.norm(force, axis=2)
    full = full_force(run)
    tip = root + force * (length / full) * (size > 0.02 * full)[..., None]
    bears = {b.joint: b for b in bearing_most(run)} if shares else {}
    colours = np.zeros((*size.shape, 3), dtype=np.uint8)
    names = tuple(run.assembly.joints[j].name for j in own)
    for k, name in enumerate(names):
        of = bears.get(name)
        if of is None or of.share is None or not of.peak.value:
            colours[:, k] = SHADES[3]
            continue
        share = of.share * size[:, k] / of.peak.value
        colours[:, k] = np.array(SHADES, dtype=np.uint8)[np.searchsorted((LITTLE, MUCH), share, side="right")]
    return Arrows(names, np.stack([root, tip], axis=2), colours, 0.036 * length)


def full_force(run: Run) -> float:
    """The force whose arrow is drawn at full length, N: the largest in a joint while the prop runs; 1 without one."""
    return max((force.value for force, _ in run.loads.joints), default=0.0) or 1.0


def paths(assembly: Assembly, poses: Poses, fine: Poses, size: float) -> Iterator[Line | Solid]:
    """The path of each watched point, and a dot where it is.

    Args:
        assembly: the prop.
        poses: of its frames.
        fine: at more instants, so that paths are round.
        size: of the dot, m.
    """
    points = watched(assembly)
    now, trail = follow(points, poses), follow(points, fine)
    for k, point in enumerate(points):
        colour = COLOURS[k % len(COLOURS)]
        line = trail[:, k]
        gone = np.concatenate([[True], np.linalg.norm(np.diff(line, axis=0), axis=1) > 1e-6])
        line = line[gone]
        if len(line) < 2:
            continue
        yield Line(f"paths/{node(point.name)}", np.stack([line[:-1], line[1:]], axis=1)[None], colour, 2.5)
        dot = sphere(size, Finish(_linear(colour), glow=0.3), 12)
        still = np.array([[1.0, 0.0, 0.0, 0.0]])
        yield Solid(f"points/{node(point.name)}", (dot,), Motion(now[:, k], still))


def _linear(colour: Colour) -> tuple[float, float, float]:
    red, green, blue = (float((c / 255) ** 2.2) for c in colour)
    return (red, green, blue)


def axes(corner: Array, size: float) -> Iterator[Solid | Word]:
    """Three arrows along x, y and z with their words.

    Args:
        corner: where they begin, (3,) m.
        size: their length, m.
    """
    still = np.array([[1.0, 0.0, 0.0, 0.0]])
    own = [
        cylinder(np.zeros(3), size * way, 0.06 * size, Finish(colour, glow=0.04), 10)
        for way, (_, colour) in zip(np.eye(3), AXES, strict=True)
    ]
    yield Solid("axes", tuple(own), Motion(corner[None], still))
    for way, (name, _) in zip(np.eye(3), AXES, strict=True):
        yield Word(f"words/{name}", name, corner + 1.15 * size * way)
