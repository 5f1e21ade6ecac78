"""Two scenes as one: a prop as it was at the left of the same prop as it is, on one clock and one ground."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.geometry.turning import rotate
from simprop.scene.types import Arrows, Eye, Line, Motion, SceneData, Skinned, Solid, Word

WAS = "was/"
"""What the names of the left one begin with."""
GAP = 0.2
"""Between the two, as a share of the wider one."""
FEW = 24
"""Frames by which it is found how far a prop reaches."""


def beside(now: SceneData, was: SceneData) -> SceneData:
    """A scene with another one at its left, as seen from its eye; what the other one lacks of time it stands still.

    Forces of both are drawn to the scale of the first; light, ground and clock are those of the first.

    Args:
        now: the scene.
        was: what is put beside it; its names begin with `WAS`.
    """
    rows = np.clip(np.searchsorted(was.time, now.time + 1e-9, side="right") - 1, 0, len(was.time) - 1)
    aside, up = _ways(now.eye)
    low, high = _reach(now)
    low_was, high_was = _reach(was)
    wide = max(float((high - low) @ np.abs(aside)), float((high_was - low_was) @ np.abs(aside)))
    edges = (min(low @ aside, high @ aside), max(low_was @ aside, high_was @ aside))
    shift = (edges[0] - edges[1] - GAP * wide) * aside
    other = _moved(was, shift, rows)
    words = tuple(_words(now, (low, high), other, (low_was + shift, high_was + shift)))
    both = np.stack([low, high, low_was + shift, high_was + shift])
    tall = max(float((high - low) @ up), float((high_was - low_was) @ up), 1e-6)
    span = float(np.ptp(both @ aside))
    eye = _further(now.eye, both.min(axis=0), both.max(axis=0), max(span, tall) / max(wide, tall))
    return replace(
        now,
        solids=(*now.solids, *other.solids),
        skins=(*now.skins, *other.skins),
        lines=(*now.lines, *other.lines),
        words=(*now.words, *words),
        arrows=_both(now, other),
        ground=replace(now.ground, width=now.ground.width + 2 * span),
        eye=eye,
    )


def _ways(eye: Eye) -> tuple[Array, Array]:
    """Along the ground to the right of the picture, as the nearest of x and y either way; and up."""
    ahead = eye.target - eye.place
    right = np.cross(ahead, [0.0, 0.0, 1.0])
    aside = np.zeros(3)
    axis = int(np.argmax(np.abs(right[:2])))
    aside[axis] = np.sign(right[axis]) or 1.0
    return aside, np.array([0.0, 0.0, 1.0])


def _reach(data: SceneData) -> tuple[Array, Array]:
    """Least and largest coordinates of a prop over its time, by the boxes around its parts, (3,) m each."""
    rows = np.unique(np.linspace(0, len(data.time) - 1, FEW).astype(int))
    found = [
        np.concatenate(list(_corners(solid, rows))) for solid in data.solids if solid.name.startswith("prop/")
    ]
    found += [np.concatenate([m.place for m in skin.motion]) for skin in data.skins]
    if not found:
        return np.full(3, -0.5), np.full(3, 0.5)
    places = np.concatenate(found)
    return places.min(axis=0), places.max(axis=0)


def _corners(solid: Solid, rows: NDArray[np.int64]) -> Iterator[Array]:
    whole = np.concatenate([s.vertices for s in solid.surfaces])
    low, high = whole.min(axis=0), whole.max(axis=0)
    box = np.array(
        [[x, y, z] for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])]
    )
    motion = solid.motion
    for row in np.minimum(rows, len(motion.place) - 1):
        size = 1.0 if motion.size is None else motion.size[min(row, len(motion.size) - 1)]
        turn = np.roll(motion.turn[min(row, len(motion.turn) - 1)], -1)  # w last
        yield rotate(turn, box * size) + motion.place[row]


def _moved(data: SceneData, shift: Array, rows: NDArray[np.int64]) -> SceneData:
    """A scene somewhere else, by frames of its own time."""
    return replace(
        data,
        solids=tuple(
            replace(s, name=WAS + s.name, motion=_away(s.motion, shift, rows))
            for s in data.solids
            if not s.name.startswith("axes")
        ),
        skins=tuple(_skin(s, shift, rows) for s in data.skins),
        lines=tuple(_line(line, shift, rows) for line in data.lines),
        arrows=None
        if data.arrows is None
        else replace(
            data.arrows,
            names=tuple(WAS + name for name in data.arrows.names),
            points=data.arrows.points[rows] + shift,
            colours=data.arrows.colours[rows],
        ),
    )


def _away(motion: Motion, shift: Array, rows: NDArray[np.int64]) -> Motion:
    def own(values: Array) -> Array:
        return values if len(values) == 1 else values[rows]

    size = None if motion.size is None else own(motion.size)
    return Motion(own(motion.place) + shift, own(motion.turn), size)


def _skin(skin: Skinned, shift: Array, rows: NDArray[np.int64]) -> Skinned:
    moves = tuple(_away(m, shift, rows) for m in skin.motion)
    return replace(skin, name=WAS + skin.name, motion=moves)


def _line(line: Line, shift: Array, rows: NDArray[np.int64]) -> Line:
    points = line.points if len(line.points) == 1 else line.points[rows]
    return replace(line, name=WAS + line.name, points=points + shift)


def _both(now: SceneData, other: SceneData) -> Arrows | None:
    """Arrows of both, those of the other one to the scale of the first."""
    one, two = now.arrows, other.arrows
    if one is None or two is None or not now.full or not other.full:
        return one
    scale = (other.full / other.long) * (now.long / now.full)
    root = two.points[..., :1, :]
    points = root + (two.points - root) * scale
    return Arrows(
        (*one.names, *two.names),
        np.concatenate([one.points, points], axis=1),
        np.concatenate([one.colours, two.colours], axis=1),
        one.thick,
    )


def _words(
    now: SceneData, here: tuple[Array, Array], other: SceneData, there: tuple[Array, Array]
) -> Iterator[Word]:
    """Which is which, above each."""
    for name, text, (low, high) in (("is", "as it is", here), ("was", "as it was", there)):
        middle = (low + high) / 2
        top = np.array(
            [middle[0], middle[1], max(here[1][2], there[1][2]) + 0.04 * float(np.ptp((low[2], high[2])))]
        )
        yield Word(f"which/{name}", text, top)


def _further(eye: Eye, low: Array, high: Array, times: float) -> Eye:
    """An eye that looks at the middle of a box from so many times as far."""
    target = (low + high) / 2
    return replace(eye, target=target, place=target + times * (eye.place - eye.target))
