"""A still of a prop with its parts numbered."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.making.numbers import PartNumbers
from simprop.picture.chart.balloons import balloons, circled, spots
from simprop.picture.chart.drawn import Drawing, painted
from simprop.picture.chart.labels import placed
from simprop.picture.render.film import Shot, prepare, still

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

WIDE = 170.0
"""Width on paper, mm."""
PIXELS = (960, 720)


def numbered_still(assembly: Assembly, track: Trajectory, numbers: PartNumbers) -> bytes:
    """The prop in its start pose by day, without scenery, each part with its number on a line of its own; a JPEG.

    Args:
        assembly: the prop.
        track: its motion.
        numbers: of its parts.
    """
    bare = replace(assembly, bodies=tuple(replace(b, shapes=()) if b.scenery else b for b in assembly.bodies))
    shot = Shot(size=PIXELS, view="three_quarter", light="day", plain=True, whole=True)
    film = prepare(bare, track, shot, times=track.time[:1])
    scale, tall = WIDE / PIXELS[0], WIDE * PIXELS[1] / PIXELS[0]
    camera = film.camera(0)
    found = {
        place: camera.seen(spots(assembly, place))[:, :2] * [scale, -scale] + [0.0, tall]
        for place in numbers.of
    }
    labels = balloons(found, numbers.of, [])
    ink = np.concatenate(list(found.values()))
    names = placed(labels, [], (1.5, 1.5, WIDE - 1.5, tall - 1.5), ink)
    sheet = Drawing((WIDE, tall), circled(names), [], [], names)
    return painted(sheet, "jpg", under=still(film, 0))
