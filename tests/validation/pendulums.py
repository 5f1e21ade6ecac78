"""Pendulums: one published benchmark, the period at large swings, a falling rod."""

from __future__ import annotations

from math import cos, radians, sin

import numpy as np

from simprop.geometry.arrays import Array
from tests.validation.harness import Case, Outcome, absolute, relative

IFTOMM = (
    "IFToMM library of multibody benchmark problems; Gonzalez et al., Engineering with Computers 26 (2010), "
    "doi 10.1007/s00366-009-0139-0; values recomputed with Jacobi elliptic functions"
)

A01_ROWS = (
    (1.0, -0.9862917511319, -0.1650108531255),
    (5.0, 0.9423054350438, -0.334754338414),
    (10.0, 0.2750874625761, -0.9614192050991),
)


def crossings(time: Array, values: Array) -> Array:
    """Times at which values pass through zero, by straight lines between rows."""
    at = np.flatnonzero(np.sign(values[:-1]) * np.sign(values[1:]) < 0)
    share = values[at] / (values[at] - values[at + 1])
    return np.asarray(time[at] + share * (time[at + 1] - time[at]))


def _miss(time: float, x: float, z: float) -> object:
    def find(out: Outcome) -> float:
        place = out.at(time, out.position("bob"))
        return float(np.hypot(place[0] - x, place[2] - z))

    return find


A01 = Case(
    "A01 simple pendulum",
    IFTOMM,
    "goals 1 mm on bullet, 1 um on mujoco; held a hundred times tighter: bullet is of second order (rows stamped at "
    "the middle of the step), mujoco of fourth",
    """
rig: 1
name: Simple pendulum
bodies:
  post: {fixed: true}
  bob: {parts: [{lump: 1 kg, at: 1000 0 0 mm}]}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
run: {for: 10.04 s, gravity: 9.81 m/s^2}
""",
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        *(
            absolute(f"position error at {t:g} s", "m", 0.0, _miss(t, x, z), bullet=1e-5, mujoco=1e-9)  # type: ignore[arg-type]
            for t, x, z in A01_ROWS
        ),
        relative(
            "largest pin force, 3 m g", "N", 29.43, lambda o: o.size("hook").max(), bullet=1e-3, mujoco=1e-5
        ),
        relative(
            "period",
            "s",
            2.367841947576,
            lambda o: float(np.diff(crossings(o.time, o.position("bob")[:, 0]))[1::2][0] * 2),
            bullet=1e-5,
            mujoco=1e-5,
        ),
    ),
)


def _swing(amplitude: int, period: float) -> object:
    def find(out: Outcome) -> float:
        bottom = crossings(out.time, out.coordinate(f"p{amplitude}") + radians(amplitude))
        return float(2 * (bottom[1] - bottom[0]))

    return relative(f"period at {amplitude} deg", "s", period, find, bullet=1e-5, mujoco=1e-5)


def _swings(amplitudes: tuple[int, ...]) -> str:
    bodies, joints = [], []
    for i, amplitude in enumerate(amplitudes):
        x, z = 1000 * sin(radians(amplitude)), -1000 * cos(radians(amplitude))
        bodies.append(f"  b{amplitude}: {{parts: [{{lump: 1 kg, at: {x!r} {i * 100} {z!r} mm}}]}}")
        joints.append(f"  p{amplitude}: {{pin: [post, b{amplitude}], at: 0 {i * 100} 0 mm, axis: -y}}")
    head = ["rig: 1", "name: Swings", "bodies:", "  post: {fixed: true}", *bodies, "joints:", *joints]
    return "\n".join([*head, "run: {for: 4 s, gravity: 9.81 m/s^2}", ""])


LARGE_SWING = Case(
    "pendulum at large swings",
    "T = 4 sqrt(L / g) K(sin^2(A / 2)), complete elliptic integral",
    "periods are read off zero crossings by straight lines between rows 1 ms apart: 1e-6 s of reading",
    _swings((30, 90, 150)),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (_swing(30, 2.040989889519), _swing(90, 2.367841947576), _swing(150, 3.535098186382)),  # type: ignore[arg-type]
)

FALLING_ROD = Case(
    "uniform rod falls about its end",
    "elementary mechanics: w = sqrt(3 g / L) and F = 5/2 m g at the bottom from level",
    "largest values, read between rows 1 ms apart near a flat top",
    """
rig: 1
name: Falling rod
bodies:
  post: {fixed: true}
  rod: {parts: [{slender: 1 kg, from: 0 0 0 mm, to: 1000 0 0 mm}]}
joints: {hook: {pin: [post, rod], at: 0 0 0 mm, axis: y}}
run: {for: 1 s, gravity: 9.81 m/s^2}
""",
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        relative(
            "largest speed", "rad/s", 5.424942396008, lambda o: o.rate("hook").max(), bullet=1e-4, mujoco=1e-5
        ),
        relative(
            "largest pin force", "N", 2.5 * 9.81, lambda o: o.size("hook").max(), bullet=1e-3, mujoco=1e-5
        ),
    ),
)

CASES = (A01, LARGE_SWING, FALLING_ROD)
