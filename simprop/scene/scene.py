"""A run as the data of a 3D scene."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.picture.render.arrows import arrow_length
from simprop.picture.render.camera import FIELD_OF_VIEW, Camera, Margin, framed, view_axes
from simprop.picture.render.cords import with_cords
from simprop.picture.render.fittings import hardware
from simprop.picture.render.framing import cropped, swept
from simprop.picture.render.lines import FRAMES, line_surfaces
from simprop.picture.render.motion import Poses, frame_times, poses_at
from simprop.picture.render.overlay import length_text, round_length
from simprop.picture.render.scene import build_scene, reach
from simprop.picture.render.strips import drapes, with_strips
from simprop.run.run import Run
from simprop.scene.marks import arrows, axes, full_force, joints, paths
from simprop.scene.things import cords, skins, solids
from simprop.scene.types import Eye, Ground, Line, SceneData, Solid, Word

RATE = 24.0
"""Frames a second."""
MOST = 1500
"""Frames at most: longer runs have fewer a second."""
FINE = 5
"""Places of a path in the time of one frame."""
FEW = 60
"""Frames by which it is found how far the prop reaches."""
FRAME = (600, 600)
"""Picture that is framed: square, so that it also fits what is wider."""
WIDER = 6.0
"""Width of the ground, in sizes of what stands on it."""
GROUNDS = {"day": ((196, 194, 176), (148, 146, 130)), "night": ((62, 70, 72), (92, 102, 106))}
"""Colour of the ground and of its lines by light (by eye)."""


def frame_rate(duration: float) -> float:
    """Frames a second for a run of so many seconds.

    Example:
        >>> frame_rate(8.0), frame_rate(150.0)
        (24.0, 10.0)
    """
    return min(RATE, MOST / duration) if duration > 0 else RATE


def scene_of(run: Run, *, loads: bool = True, shares: bool = True) -> SceneData:
    """A run as the data of a 3D scene: what is drawn, where it is at each frame, and how it is seen first.

    Args:
        run: what is shown.
        loads: with arrows for the forces in the joints.
        shares: their colours tell what the joints can bear; False: strength isn't looked at, and all are grey.

    Raises:
        RenderError: for a watched point that isn't one, or where nothing is to be seen.
    """
    assembly = run.assembly
    track = with_strips(assembly, with_cords(assembly, run.track))
    at = frame_times(track, frame_rate(float(track.time[-1])))
    poses = poses_at(assembly, track, at)
    fine = poses_at(
        assembly, track, np.interp(np.arange(FINE * (len(at) - 1) + 1) / FINE, np.arange(len(at)), at)
    )
    held, lines = hardware(assembly), line_surfaces(assembly, track)
    drawn = build_scene(assembly, held, lines, drapes(assembly))
    few = thinned(poses, FEW)
    whole, moving = reach(drawn, few), swept(assembly, drawn, few)
    if not len(whole):
        raise RenderError("there is nothing to draw: no body has a visible part")
    length = arrow_length(moving)
    low, high = whole.min(axis=0), whole.max(axis=0)
    floor = min(0.0, float(low[2])) - 1e-4
    size = float(np.linalg.norm(high - low))
    marks = list(paths(assembly, poses, fine, 0.035 * length * 2))
    square = round_length(0.12 * size)
    camera = _camera(run, whole, moving)
    ahead = _ahead(camera, moving)
    triad = _triad(camera, floor, ahead, square)
    light = assembly.rig.camera.light
    colour, line = GROUNDS[light]
    first = len(assembly.bodies) + FRAMES * track.line_start.shape[1]
    found = SceneData(
        assembly.rig.name,
        light,
        at,
        (
            *solids(assembly, held, lines, poses),
            *joints(assembly, poses, 0.16 * length),
            *(m for m in marks if isinstance(m, Solid)),
            *(a for a in triad if isinstance(a, Solid)),
        ),
        tuple(skins(assembly, poses, first)),
        (*cords(assembly, track, at), *(m for m in marks if isinstance(m, Line))),
        tuple(w for w in triad if isinstance(w, Word)),
        None,
        length,
        Ground(np.array([*((low + high) / 2)[:2], floor]), WIDER * size, square, colour, line),
        Eye(camera.eye, camera.eye + ahead * camera.axes[2], float(np.radians(FIELD_OF_VIEW))),
    )
    return forced(found, run, shares=shares) if loads else found


def forced(data: SceneData, run: Run, *, shares: bool = True) -> SceneData:
    """The same scene with the forces in the joints.

    Args:
        data: of `scene_of`.
        run: that it shows.
        shares: see `scene_of`.
    """
    return replace(data, arrows=arrows(run, data.time, data.long, shares=shares), full=full_force(run))


def lit(data: SceneData, light: str) -> SceneData:
    """The same scene by day or by night, whatever its rig says.

    Args:
        data: of `scene_of`.
        light: day or night.
    """
    colour, line = GROUNDS[light]
    return replace(data, light=light, ground=replace(data.ground, colour=colour, line=line))


def thinned(poses: Poses, most: int) -> Poses:
    """Poses at instants evenly among their own, at most so many.

    Args:
        poses: of n instants.
        most: instants kept.
    """
    rows = np.unique(np.linspace(0, len(poses.time) - 1, most).astype(int))
    return Poses(poses.time[rows], poses.turn[rows], poses.shift[rows])


def _camera(run: Run, whole: Array, moving: Array) -> Camera:
    """Where a clip would be taken from: on what moves, or on all of it where the rig says so."""
    wish = run.rig.camera
    view = view_axes("three_quarter" if wish.view == "follow" else wish.view)
    margin = Margin(0.08, 0.08, 0.08, 0.08)
    kept = whole if wish.whole else cropped(moving, moving[:0], whole, view, FRAME, margin)
    return framed(kept, view, FRAME, margin)


def _ahead(camera: Camera, points: Array) -> float:
    """How far ahead of the eye the middle of some points lies, m."""
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    return float((middle - camera.eye) @ camera.axes[2])


def _triad(camera: Camera, floor: float, ahead: float, square: float) -> list[Solid | Word]:
    """Axes and the size of the ground's squares, at the lower left of the first picture.

    Args:
        camera: whose picture.
        floor: height of the ground, m.
        ahead: how far away what moves is, m.
        square: of the ground, m.
    """
    corner, wide = _spot(camera, (0.14, 0.86), floor, ahead)
    below, _ = _spot(camera, (0.2, 0.95), floor, ahead)
    told = f"squares of {length_text(square)}"
    return [*axes(corner, 0.07 * wide), Word("words/squares", told, below)]


def _spot(camera: Camera, share: tuple[float, float], floor: float, ahead: float) -> tuple[Array, float]:
    """What is seen at shares of the picture from left and top, on the ground or nearer, and how wide it is there, m."""
    x, y = share[0] * camera.size[0], share[1] * camera.size[1]
    right, up, on = camera.axes
    way = on + ((x - camera.size[0] / 2) * right + (camera.size[1] / 2 - y) * up) / camera.focal
    far = min(ahead, (floor - float(camera.eye[2])) / float(way[2])) if way[2] < 0 else ahead
    return camera.eye + far * way, far * camera.size[0] / camera.focal
