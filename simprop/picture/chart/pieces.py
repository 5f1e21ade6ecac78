"""What a drawing shows of a prop at one instant: parts and lines between points, as outlines in each view."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import actuate
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.picture.chart.outlines import outline
from simprop.picture.chart.paper import Paper, View, on_paper
from simprop.picture.render.cords import along_cords, cord_pieces, with_cords
from simprop.picture.render.lines import FRAMES, surfaces_of_lines
from simprop.picture.render.motion import between, line_poses, poses_at
from simprop.picture.render.strips import drapes, frames_now, placed, with_strips

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.parts.part import Shape


@dataclass(frozen=True)
class Pose:
    """Where everything is at one instant.

    Attributes:
        turn: of each body, (B, 3, 3).
        shift: centre of mass of each body, (B, 3) m.
        start, end: of each line, (L, 3) m.
        frames: of all strips, (F, 3, 4).
    """

    turn: Array
    shift: Array
    start: Array
    end: Array
    frames: Array = field(default_factory=lambda: np.zeros((0, 3, 4)))


@dataclass(frozen=True)
class Piece:
    """A part, or what runs between two points, in the world.

    Attributes:
        name: in words.
        body: index; -1 for a line.
        surfaces: in the world, m.
        dressed: the part says how it looks: it is drawn as a bare outline, and hides nothing.
        fixed, scenery: of its body.
    """

    name: str
    body: int
    surfaces: tuple[Surface, ...]
    dressed: bool = False
    fixed: bool = False
    scenery: bool = False

    @property
    def corners(self) -> Array:
        """All its vertices, (v, 3) m."""
        return np.concatenate([s.vertices for s in self.surfaces])


def pose_at(assembly: Assembly, track: Trajectory | None, at: float) -> Pose:
    """Where everything is: in the start pose, or at an instant of a run."""
    if track is not None:
        track = with_strips(assembly, with_cords(assembly, track))
        poses = poses_at(assembly, track, np.array([at]))
        ends = (between(track.time, v, np.array([at]))[0] for v in (track.line_start, track.line_end))
        count, cloth = len(assembly.bodies), len(assembly.bodies) + 3 * track.line_start.shape[1]
        frames = np.concatenate([poses.turn[0, cloth:], poses.shift[0, cloth:, :, None]], axis=2)
        start, end = ends
        return Pose(poses.turn[0, :count], poses.shift[0, :count], start, end, frames)
    shift = np.array([body.com for body in assembly.bodies])
    turn = np.tile(np.eye(3), (len(shift), 1, 1))
    lines = actuate(assembly).lines if assembly.rig.lines else ()
    start = np.array([shift[x.first] + x.first_point for x in lines]).reshape(-1, 3)
    end = np.array([shift[x.second] + x.second_point for x in lines]).reshape(-1, 3)
    if assembly.rig.cords:
        still = np.tile([0.0, 0.0, 0.0, 1.0], (1, len(shift), 1))
        more = along_cords(assembly, shift[None], still)
        start, end = (
            np.concatenate([own, pieces[0]]) for own, pieces in zip((start, end), more, strict=True)
        )
    return Pose(turn, shift, start, end, frames_now(assembly))


def bare(shape: Shape) -> list[Surface]:
    """What is seen of a part as it is cut, without how it is dressed."""
    return replace(shape, looks="plain").surfaces()


def _called(body: str, shape: Shape, index: int, count: int) -> str:
    """A part in words: its name where the rig gives one, else its body's, with its place among the parts."""
    if "." not in shape.name and shape.name != body:
        return f"{body}: {shape.name}"
    return body if count == 1 or shape.name == body else f"{body} {shape.word} (parts.{index})"


def pieces(assembly: Assembly, pose: Pose, *, looks: bool) -> list[Piece]:
    """All that is visible.

    Args:
        looks: parts as they are dressed; else as they are cut.

    Raises:
        RenderError: where nothing is.
    """
    found: list[Piece] = []
    for i, body in enumerate(assembly.bodies):
        for k, shape in enumerate(body.shapes):
            own = shape.surfaces() if looks else bare(shape)
            if own:
                name = _called(body.called, shape, k, len(body.shapes))
                moved = tuple(s.moved(pose.turn[i], pose.shift[i]) for s in own)
                found.append(Piece(name, i, moved, shape.looks != "plain", body.fixed, body.scenery))
    if not found:
        raise RenderError("there is nothing to draw: no body has a visible part")
    return found + _lines(assembly, pose) + (_strips(assembly, pose) if looks else [])


def _lines(assembly: Assembly, pose: Pose) -> list[Piece]:
    if not len(pose.start):
        return []
    lengths = np.linalg.norm(pose.end - pose.start, axis=1)[None]
    frames = surfaces_of_lines(assembly, lengths)
    turn, shift = (v[0] for v in line_poses(pose.start[None], pose.end[None]))
    names = [f"{sort} {name}" for name, sort in assembly.rig.lines]
    names += [f"cord {name}" for name, _ in cord_pieces(assembly)]
    found: dict[str, tuple[Surface, ...]] = {}
    for k, name in enumerate(names):
        rows = range(FRAMES * k, FRAMES * (k + 1))
        own = tuple(s.moved(turn[f], shift[f]) for f in rows for s in frames[f])
        found[name] = found.get(name, ()) + own
    return [Piece(name, -1, own) for name, own in found.items() if own]


def _strips(assembly: Assembly, pose: Pose) -> list[Piece]:
    found: dict[str, tuple[Surface, ...]] = {}
    for drape in drapes(assembly):
        found[drape.name] = (*found.get(drape.name, ()), placed(drape, pose.frames))
    return [Piece(f"strips {name}", -1, own) for name, own in found.items()]


def bounds(shown: Sequence[Piece]) -> tuple[Array, Array]:
    """Least and greatest place of some pieces, (3,) m each."""
    corners = [p.corners for p in shown]
    return np.min([c.min(axis=0) for c in corners], axis=0), np.max([c.max(axis=0) for c in corners], axis=0)


def outlines(piece: Piece, paper: Paper, view: View) -> list[Array]:
    """Closed outlines of a piece in a view, (k, 2) mm each."""
    return outline(piece.surfaces, [on_paper(paper, view, s.vertices) for s in piece.surfaces])
