"""Where a variant's mechanism goes, told by its one drive before anything is run."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, pi

import numpy as np

from simprop.assembly.sweeping import PLACES, Sweep, sweep
from simprop.assembly.types import Assembly
from simprop.drives.kinds import Motor
from simprop.engine.acting.actuation import actuate
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array
from simprop.recording import Recording
from simprop.run.run import Run

ROUNDS = 3
"""Turns that are told of what goes round, so that a whole cycle is among them whatever it begins with."""
STEADY = 1.0
"""Speed that is taken where the drive's isn't known, rad/s: places don't depend on it."""
SAME = 1e-6
"""What a turn may leave a coordinate off, rad or m, and still count as to and fro."""


@dataclass(frozen=True)
class Swept:
    """A mechanism's way.

    Attributes:
        run: with places alone, and as if the drive turned steadily; it has no loads.
        locks: why it doesn't get all the way, in words; "" where it does.
        surely: its drive turns on and on whatever it meets, so that what locks jams.
    """

    run: Run
    locks: str
    surely: bool


def swept(assembly: Assembly) -> Swept | None:
    """The way of a prop whose one motor alone says where everything goes; None where it takes a run to tell.

    That is so with one degree of freedom, no stops or contacts, and a motor without cues that turns on and on for more
    than one turn, or goes through given angles.

    Args:
        assembly: of rigid bodies.
    """
    rig = assembly.rig
    if len(rig.motors) != 1 or rig.pushers or rig.stops or rig.contacts or rig.cues is not None:
        return None
    (motor,) = rig.motors.values()
    if motor.on is not None or motor.pwm is not None:
        return None
    between = motor.figures.span
    around = motor.figures.goes_round(motor.source, rig.run.duration) >= 2 * pi
    if between is None and not around:
        return None
    low, high = between or (0.0, 2 * pi)
    if motor.reverse:
        low, high = -high, -low
    found = sweep(assembly, motor.joint, low, high)
    if found is None:
        return None
    track = _track(found, _rounds(found) if between is None else [found.coordinate], _speed(motor))
    locks = "" if found.whole else _locks(motor.joint, found)
    run = Run(Recording(assembly, actuate(assembly), "none", track))
    return Swept(run, locks, between is None and not motor.figures.turns_back)


def still(assembly: Assembly) -> Run:
    """A run that has not begun: what a prop is, put together."""
    empty = Sweep(
        np.zeros(0), np.zeros((0, len(assembly.bodies), 3)), np.zeros((0, len(assembly.bodies), 4)),
        np.zeros((0, len(assembly.axes))), False,
    )  # fmt: skip
    return Run(Recording(assembly, actuate(assembly), "none", _track(empty, [], STEADY)))


def _speed(motor: Motor) -> float:
    speed = float(motor.figures.able(motor.source).speed)
    return speed if isfinite(speed) and 0.0 < speed < inf else STEADY


def _locks(joint: str, found: Sweep) -> str:
    far = max(abs(found.angle[0]), abs(found.angle[-1]))
    return f"the mechanism locks before {joint} has turned by {np.degrees(far) + 360 / PLACES:.0f} deg"


def _rounds(found: Sweep) -> list[Array]:
    """Coordinates of some turns, one after the other; not known of what goes further with each."""
    if not found.whole:
        return [found.coordinate]
    more = found.coordinate[-1] - found.coordinate[0]
    own = np.where(np.abs(more) > SAME, np.nan, found.coordinate)
    return [own, *([own[1:]] * (ROUNDS - 1))]


def _track(found: Sweep, rounds: list[Array], speed: float) -> Trajectory:
    count = max(1, len(rounds))

    def turns(values: Array) -> Array:
        return np.concatenate([values, *([values[1:]] * (count - 1))])

    position, rotation = turns(found.position), turns(found.rotation)
    rows, bodies, axes = len(position), position.shape[1], found.coordinate.shape[1]
    step = float(found.angle[1] - found.angle[0]) / speed if len(found.angle) > 1 else 1.0
    lost, none = np.full((rows, bodies, 3), np.nan), np.full((rows, 0), np.nan)
    return Trajectory(
        step=step,
        time=np.linspace(0.0, step * (rows - 1), rows) if rows else np.zeros(0),
        position=position,
        rotation=rotation,
        velocity=lost,
        spin=lost,
        acceleration=lost,
        spin_acceleration=lost,
        coordinate=np.concatenate(rounds) if rounds else found.coordinate,
        rate=np.full((rows, axes), np.nan),
        applied=np.full((rows, 5, axes), np.nan),
        line_force=none,
        line_start=none[:, :, None],
        line_end=none[:, :, None],
        voltage=none,
        current=none,
    )
