"""A prop and its motion as plain data of a 3D scene: what is drawn, where it is at each frame, and how it is seen.

World as everywhere: x to the right, y away from the viewer, z up, m. Quaternions are w x y z.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array
from simprop.geometry.surface import Faces, Surface

Colour = tuple[int, int, int]


@dataclass(frozen=True)
class Motion:
    """Where something is at each of n frames; of what stands still n is 1.

    Attributes:
        place: of its origin, (n, 3) m.
        turn: from its own axes to the world's, (n, 4).
        size: stretch along its own axes, (n, 3); None: it keeps its size.
    """

    place: Array
    turn: Array
    size: Array | None = None


@dataclass(frozen=True)
class Solid:
    """A rigid thing, or a straight one that only changes its length.

    Attributes:
        name: what it is called, unique in the scene; a / begins a thing below another.
        surfaces: in its own frame.
        motion: of that frame.
    """

    name: str
    surfaces: tuple[Surface, ...]
    motion: Motion


@dataclass(frozen=True)
class Skinned:
    """A thing that bends with b frames, each vertex with one to four of them.

    Attributes:
        name: what it is called, unique in the scene.
        vertices: with the frames at rest, (v, 3) m in the world.
        faces: (f, 3).
        colour: linear red, green, blue.
        which: frames that a vertex follows, (v, k).
        share: how far it follows each, (v, k), in sum 1.
        rest: of the frames, one row each: (b, 3) m and (b, 4).
        motion: of each frame, b of them.
    """

    name: str
    vertices: Array
    faces: Faces
    colour: tuple[float, float, float]
    which: NDArray[np.int64]
    share: Array
    rest: Motion
    motion: tuple[Motion, ...]


@dataclass(frozen=True)
class Line:
    """A line of even width on the screen: a cord, or the path of a point.

    Attributes:
        name: what it is called, unique in the scene.
        points: both ends of its k pieces at each of n frames, (n, k, 2, 3) m; n is 1 where it stands still.
        colour: sRGB.
        width: pixels.
    """

    name: str
    points: Array
    colour: Colour
    width: float


@dataclass(frozen=True)
class Arrows:
    """The forces in all joints, as arrows.

    Attributes:
        names: of the j joints.
        points: root and tip at each frame, (n, j, 2, 3) m; a root and tip that are one where nothing is to be seen.
        colours: sRGB at each frame, (n, j, 3).
        thick: radius of the shaft, m.
    """

    names: tuple[str, ...]
    points: Array
    colours: NDArray[np.uint8]
    thick: float


@dataclass(frozen=True)
class Word:
    """A word at a place, (3,) m."""

    name: str
    text: str
    place: Array


@dataclass(frozen=True)
class Ground:
    """The ground and its squares.

    Attributes:
        middle: (3,) m.
        width: of what is drawn of it, m.
        square: side of a square, m.
        colour, line: sRGB.
    """

    middle: Array
    width: float
    square: float
    colour: Colour
    line: Colour


@dataclass(frozen=True)
class Eye:
    """Where it is first seen from: eye and what is looked at, (3,) m; height of the picture as an angle, rad."""

    place: Array
    target: Array
    angle: float


@dataclass(frozen=True)
class SceneData:
    """A prop that moves, ready to be shown.

    Attributes:
        name: of the rig.
        light: day or night.
        time: of the n frames, (n,) s.
        solids, skins, lines, words: what is drawn.
        arrows: forces in joints; None: without.
        long: length at which the largest force is drawn, m.
        ground, eye: what it stands on, and where it is seen from.
        full: force that is drawn at full length, N; None without arrows.
    """

    name: str
    light: str
    time: Array
    solids: tuple[Solid, ...]
    skins: tuple[Skinned, ...]
    lines: tuple[Line, ...]
    words: tuple[Word, ...]
    arrows: Arrows | None
    long: float
    ground: Ground
    eye: Eye
    full: float | None = None
