"""What runs between two points: springs, straight drives, pulls, each drawn as its kind says.

Each line has three frames that follow it: see `simprop.pulls.looks`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.cords.base import span_names
from simprop.forces.coil import coil
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.picture.render.cords import cord_pieces
from simprop.pulls.looks import cord

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

FRAMES = 3
"""Frames of each line."""


def line_surfaces(assembly: Assembly, track: Trajectory) -> list[list[Surface]]:
    """Surfaces of all lines of a run, one list a frame, `FRAMES` frames a line."""
    return surfaces_of_lines(assembly, np.linalg.norm(track.line_end - track.line_start, axis=2))


def surfaces_of_lines(assembly: Assembly, lengths: Array) -> list[list[Surface]]:
    """The same for lines of known lengths, (n, L) m at n instants."""
    rig, names = assembly.rig, assembly.rig.lines
    thick = {n: c.diameter for whole, c in rig.cords.items() for n in span_names(whole, c)}
    cords = cord_pieces(assembly)
    out: list[list[Surface]] = []
    for k, own in enumerate(lengths.T):
        name, sort = names[k] if k < len(names) else ("", "")
        if k >= len(names) and k - len(names) < len(cords):
            out += [[cord(cords[k - len(names)][1])], [], []]
        elif sort == "cord" and lengths.shape[1] > len(names):
            out += [[], [], []]  # drawn in its pieces
        elif sort in ("pusher", "pull"):
            out += rig.pushers[name].figures.drawn(own) if sort == "pusher" else rig.pulls[name].drawn(own)
        elif sort == "cord":
            out += [[cord(thick[name])], [], []]
        else:
            out += [[rig.springs[name].drawn(own) if name else coil(float(own.mean()))], [], []]
    return out
