"""What runs between two points: springs, straight drives, gas springs, ropes.

Each line has three frames that follow it: one stretched from end to end (a coil, a rope), one that keeps its length
at the start (the body of a cylinder) and one that keeps its length at the end, pointing back (its rod).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.forces.coil import SPRING, coil
from simprop.geometry.arrays import Array
from simprop.geometry.finish import PLAIN, Finish, finish_of, linear
from simprop.geometry.solids import box, cylinder
from simprop.geometry.surface import Surface, join

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

CORD = Finish(linear("#b89a6a"), 0.95)
DARK = Finish(linear("#33373c"), 0.45, 0.0, PLAIN)
FRAMES = 3
"""Frames of each line, in the order of the module's first words."""


def line_names(assembly: Assembly) -> list[tuple[str, str]]:
    """Name and kind of each line in the order of `Trajectory.line_force`: springs, pushers, pulls."""
    rig = assembly.rig
    out = [(name, s.kind) for name, s in rig.springs.items() if s.line() is not None]
    out += [(name, "pusher") for name in rig.pushers]
    out += [(name, str(p.kind)) for name, p in rig.pulls.items()]
    return out


def line_surfaces(assembly: Assembly, track: Trajectory) -> list[list[Surface]]:
    """Surfaces of all lines, one list a frame, `FRAMES` frames a line.

    Args:
        assembly: names the lines; a line it doesn't name is drawn as a spring.
        track: gives the lengths over the run.
    """
    lengths = np.linalg.norm(track.line_end - track.line_start, axis=2)
    springs, names = assembly.rig.springs, line_names(assembly)
    out: list[list[Surface]] = []
    for k, own in enumerate(lengths.T):
        name, kind = names[k] if k < len(names) else ("", "")
        if name in springs or not name:
            out += [[springs[name].drawn(own) if name else coil(float(own.mean()))], [], []]
        else:
            out += drawn(kind, own)
    return out


def drawn(kind: str, lengths: Array) -> list[list[Surface]]:
    """A pusher's or pull's surfaces in its three frames.

    Args:
        kind: pusher, gas_spring, constant_force, counterweight or rope.
        lengths: its lengths over the run, (n,) m.

    Example:
        >>> [len(own) for own in drawn("gas_spring", np.array([0.1, 0.12]))]
        [0, 1, 2]
    """
    longest, shortest = max(float(lengths.max()), 1e-3), max(float(lengths.min()), 1e-3)
    if kind in ("pusher", "gas_spring"):
        thick = float(np.clip(0.09 * longest, 0.010, 0.032)) * (1.0 if kind == "pusher" else 0.7)
        body = min(0.92 * shortest, 0.6 * longest)
        tube = [
            cylinder(
                np.zeros(3),
                np.array([body, 0.0, 0.0]),
                thick,
                DARK if kind == "gas_spring" else finish_of("aluminium"),
            )
        ]
        if kind == "pusher":  # the motor beside the screw, or the ports of a cylinder
            block = box(np.array([0.22 * body, 1.1 * thick, 2.0 * thick]), DARK)
            tube.append(block.moved(np.eye(3), np.array([0.13 * body, 0.0, 0.45 * thick])))
        rod = cylinder(
            np.zeros(3), np.array([max(longest - 0.9 * body, 0.1 * longest), 0.0, 0.0]), 0.42 * thick, SPRING
        )
        eye = cylinder(
            np.array([0.0, -0.4 * thick, 0.0]), np.array([0.0, 0.4 * thick, 0.0]), 0.9 * thick, SPRING
        )
        return [[], tube, [rod, eye]]
    if kind in ("rope", "counterweight"):
        cord = cylinder(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.005, CORD, 10)
        wheel = 0.03
        pulley = join(
            [
                cylinder(np.array([0.0, -y, 0.0]), np.array([0.0, -y + 0.004, 0.0]), 2 * r, DARK)
                for y, r in ((0.008, wheel), (0.004, 0.8 * wheel), (0.0, wheel))
            ]
        )
        return [[cord], [pulley] if kind == "counterweight" else [], []]
    strip = box(np.array([1.0, 0.016, 0.0012]), SPRING, 0.0)
    return [[strip.moved(np.eye(3), np.array([0.5, 0.0, 0.0]))], [], []]
