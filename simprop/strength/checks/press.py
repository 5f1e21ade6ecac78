"""What can press at a point of a moving body: drives up to their stall, springs and pulls, weights."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.loads.energy import lengthening
from simprop.loads.joints import JointLoads

SLOW = 0.1
"""Slower than this share of its top speed a point is near a dead centre, where force has no bound (assumed)."""
STORED = "springs and weights"
"""What presses where no drive does."""


@dataclass(frozen=True)
class Press:
    """What can press at the fastest point of a body.

    Attributes:
        force: in all, N; None for a point that doesn't move.
        by: the strongest drive, or `STORED` where none moves it.
        stored: of that what springs, pulls and weights give with the power off, N.
    """

    force: float | None
    by: str
    stored: float


class Power:
    """Power of all that drives a prop, over a run, by the bodies that it moves.

    Attributes:
        group: for each body a number that those share that are linked with each other besides over the ground.
        drives: name, group and most power of each drive at each step, (n,) W.
        stored: power of springs, pulls and weights of each group at each step, (n,) W.
    """

    def __init__(self, loads: JointLoads):
        assembly, track, laws = loads.recording.assembly, loads.recording.track, loads.recording.laws
        self.group = list(range(len(assembly.bodies)))
        links = [(j.first, j.second) for j in assembly.joints] + [(x.first, x.second) for x in laws.lines]
        for pair in links:
            if not any(assembly.bodies[i].fixed for i in pair):
                one, two = (self.group[i] for i in pair)
                self.group = [one if g == two else g for g in self.group]
        self.drives: list[tuple[str, int, Array]] = []
        self.stored = {g: np.zeros(len(track.time)) for g in self.group}
        driven = set()
        for motor, load in zip(laws.motors, loads.motors, strict=True):
            if load.able is not None:
                power = load.able * np.abs(track.rate[:, motor.axis])
                self.drives.append((motor.name, self._axis(loads, motor.axis), power))
        rate = lengthening(loads.recording)
        for drive in laws.line_drives:
            if drive.able is None:
                continue
            driven.add(drive.line)
            if np.isfinite(drive.able.stall):
                power = drive.able.stall * np.abs(rate[:, drive.line])
                self.drives.append((drive.name, self._moved(loads, drive.line), power))
        for k in set(range(len(laws.lines))) - driven:
            self.stored[self._moved(loads, k)] -= track.line_force[:, k] * rate[:, k]
        for k, _ in laws.torsion:
            given = track.applied[:, APPLIED.index("spring"), k] * track.rate[:, k]
            self.stored[self._axis(loads, k)] += given
        for i, body in enumerate(assembly.bodies):
            if not body.fixed:
                pull = body.mass * np.asarray(assembly.rig.run.gravity)
                self.stored[self.group[i]] += track.velocity[:, i] @ pull

    def _axis(self, loads: JointLoads, axis: int) -> int:
        assembly = loads.recording.assembly
        joint = assembly.joints[assembly.axes[axis].joint]
        return self.group[joint.first if assembly.bodies[joint.second].fixed else joint.second]

    def _moved(self, loads: JointLoads, line: int) -> int:
        data, bodies = loads.recording.laws.lines[line], loads.recording.assembly.bodies
        return self.group[data.first if bodies[data.second].fixed else data.second]

    def press(self, body: int, rows: NDArray[np.int64], speed: Array) -> Press:
        """What can press at a point of a body: the strongest drive at the point's fastest moment, with what is stored.

        Args:
            body: index.
            rows: physics steps that are looked at, (k,).
            speed: of the point then, (k,) m/s.

        Source: virtual work; friction left out. What springs and weights give counts where it is most while the point
        moves, as it is least where they let it run fastest.
        """
        fastest = int(np.argmax(speed))
        if speed[fastest] < 1e-6:
            return Press(None, "", 0.0)
        group, moving = self.group[body], speed >= SLOW * speed[fastest]
        stored = float((np.abs(self.stored[group][rows]) / np.maximum(speed, 1e-12))[moving].max())
        row = rows[fastest]
        mine = [(float(power[row] / speed[fastest]), name) for name, g, power in self.drives if g == group]
        force, name = max(mine, default=(0.0, STORED))
        return Press(force + stored, name, stored)
