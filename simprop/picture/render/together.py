"""Several props in one picture: each prop's film put where it stands, under one camera and one light."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrix_about
from simprop.picture.render.film import Film
from simprop.picture.render.motion import Poses
from simprop.picture.render.scene import Scene


@dataclass(frozen=True)
class Placed:
    """The film of one prop, with where its origin stands, (3,) m, and how it is turned about the upright, rad."""

    film: Film
    at: Array
    turn: float


def together(placed: Sequence[Placed], time: Array) -> tuple[Scene, Poses]:
    """One scene with the poses of all its bodies.

    Args:
        placed: the props; their films have a frame for each instant.
        time: of the frames, (n,) s.
    """
    turns, shifts = [], []
    for one in placed:
        way = matrix_about(np.array([0.0, 0.0, one.turn]))
        turns.append(way @ one.film.poses.turn)
        shifts.append(one.film.poses.shift @ way.T + one.at)
    poses = Poses(time, np.concatenate(turns, axis=1), np.concatenate(shifts, axis=1))
    return _merged([one.film.scene for one in placed], [t.shape[1] for t in turns]), poses


def _merged(scenes: Sequence[Scene], counts: Sequence[int]) -> Scene:
    """All that stands still first, then all that moves, as one scene must have it; `counts` are the frames of each."""
    frames = np.cumsum([0, *counts])
    smooth = np.cumsum([0, *(int(s.groups.max(initial=-1)) + 1 for s in scenes)])
    still = np.cumsum([0, *(s.moving_vertex for s in scenes)])
    moving = still[-1] + np.cumsum([0, *(len(s.vertices) - s.moving_vertex for s in scenes)])

    def vertices(name: str, add: Sequence[int] | Array | None = None) -> Any:
        rows = [getattr(s, name) + (0 if add is None else add[k]) for k, s in enumerate(scenes)]
        cut = [s.moving_vertex for s in scenes]
        return _stacked(scenes, name, rows, cut)

    def faces(name: str, rows: Sequence[Any]) -> Any:
        return _stacked(scenes, name, rows, [s.moving_face for s in scenes])

    corners = [
        np.where(s.faces < s.moving_vertex, s.faces + still[k], s.faces - s.moving_vertex + moving[k])
        for k, s in enumerate(scenes)
    ]
    return Scene(
        vertices("vertices"),
        vertices("normals"),
        vertices("coords"),
        vertices("colours"),
        vertices("owner", frames),
        vertices("other", frames),
        vertices("share"),
        vertices("offset"),
        faces("faces", corners),
        faces("groups", [s.groups + smooth[k] for k, s in enumerate(scenes)]),
        faces("one_sided", [s.one_sided for s in scenes]),
        faces("finish", [s.finish for s in scenes]),
        faces("bias", [s.bias for s in scenes]),
        int(still[-1]),
        sum(s.moving_face for s in scenes),
        tuple(hull for s in scenes for hull in s.hulls),
    )


def _stacked(scenes: Sequence[Scene], name: str, rows: Sequence[Any], cut: Sequence[int]) -> Any:
    """Rows of each scene before its cut, then those after it, in the kind of the first scene's."""
    parts = [r[:c] for r, c in zip(rows, cut, strict=True)] + [r[c:] for r, c in zip(rows, cut, strict=True)]
    return np.ascontiguousarray(np.concatenate(parts), dtype=getattr(scenes[0], name).dtype)
