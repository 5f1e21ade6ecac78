"""Wrenches from exact motion, against published force analyses."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.world import Trajectory
from simprop.laws.forms import Steady
from simprop.loads.newton_euler import wrenches
from simprop.rig.load import parse_rig

SLIDER_CRANK = """
rig: 1
name: In-line slider-crank
bodies:
  frame: {fixed: true}
  crank: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: 0.001 0.001 0.001 kg*m^2}]}
  rod: {parts: [{slender: 0.1 kg, from: 50 0 0 mm, to: 250 0 0 mm}]}
  block: {parts: [{lump: 0.3 kg, at: 250 0 0 mm}]}
joints:
  shaft: {pin: [frame, crank], at: 0 0 0 mm, axis: -y}
  crankpin: {pin: [crank, rod], at: 50 0 0 mm, axis: -y}
  wrist: {pin: [rod, block], at: 250 0 0 mm, axis: -y}
  guide: {slider: [frame, block], at: 250 0 0 mm, along: x}
motors:
  drive: {joint: shaft, motor: {steady: {torque: 0 N*m}}}
run: {for: 1 s, gravity: 0 m/s^2}
"""


def _motor(assembly: Assembly, joint: str) -> Actuation:
    names = [assembly.joints[a.joint].name for a in assembly.axes]
    motor = MotorData("drive", names.index(joint), Steady(0.0), np.nan, np.inf, 1.0, None, 0.0, 1.0)
    n = len(assembly.axes)
    return Actuation(np.zeros(n), np.zeros(n), (), (), (motor,), ())


def _track(assembly: Assembly, pose, times: np.ndarray) -> Trajectory:
    """A trajectory from poses in closed form: pose(t) -> {body: (centre, angle about -y)}."""
    n, bodies, d = len(times), len(assembly.bodies), 2e-5
    names = [b.name for b in assembly.bodies]
    centre, angle = np.zeros((5, n, bodies, 3)), np.zeros((5, n, bodies))
    for k in range(5):
        for i, t in enumerate(times):
            for name, (x, a) in pose(t + (k - 2) * d).items():
                centre[k, i, names.index(name)], angle[k, i, names.index(name)] = x, a

    def first(f):
        return (f[0] - 8 * f[1] + 8 * f[3] - f[4]) / (12 * d)

    def second(f):
        return (-f[0] + 16 * f[1] - 30 * f[2] + 16 * f[3] - f[4]) / (12 * d * d)

    about = np.array([0.0, -1.0, 0.0])
    turn = Rotation.from_rotvec((angle[2][..., None] * about).reshape(-1, 3)).as_quat().reshape(n, bodies, 4)
    a = len(assembly.axes)
    empty = np.zeros((n, 0))
    return Trajectory(
        float(times[1] - times[0]) if n > 1 else 1.0,
        times,
        centre[2],
        turn,
        first(centre),
        first(angle)[..., None] * about,
        second(centre),
        second(angle)[..., None] * about,
        np.zeros((n, a)),
        np.zeros((n, a)),
        np.zeros((n, 5, a)),
        empty,
        np.zeros((n, 0, 3)),
        np.zeros((n, 0, 3)),
        np.zeros((n, 1)),
        np.zeros((n, 1)),
    )


def _slider_crank(t: float) -> dict:
    theta, r, rod = 125.6637061436 * t, 0.05, 0.2
    phi = -np.arcsin(r / rod * np.sin(theta))
    pin = np.array([r * np.cos(theta), 0.0, r * np.sin(theta)])
    wrist = np.array([pin[0] + rod * np.cos(phi), 0.0, 0.0])
    zero = np.zeros(3)
    return {
        "frame": (zero, 0.0),
        "crank": (zero, theta),
        "rod": ((pin + wrist) / 2, phi),
        "block": (wrist, 0.0),
    }


# crank angle deg, crankpin force on the rod x and y, wrist force on the slider x and y, crank torque.
# Method: Norton, Design of Machinery, ch. 11; Uicker, Pennock, Shigley. Recomputed; torque checked by kinetic energy.
FORCES = [
    (30.0, -309.1601609, 21.2697442, -235.6892986, 41.00895301, 8.650010964),
    (60.0, -123.4008867, 0.5602656362, -88.85286676, 34.74957818, 5.357421777),
    (90.0, 71.35298516, -43.86490845, 61.15970157, -4.386490845, -3.567649258),
    (120.0, 192.4264541, -60.72463504, 148.0176389, -26.53532249, -6.814194006),
]


def test_in_line_slider_crank() -> None:
    assembly = assemble(parse_rig(SLIDER_CRANK))
    times = np.radians([row[0] for row in FORCES]) / 125.6637061436
    found = wrenches(assembly, _track(assembly, _slider_crank, times), _motor(assembly, "shaft"))
    names = [j.name for j in assembly.joints]
    for i, (_, px, pz, wx, wz, torque) in enumerate(FORCES):
        pin = found.force[i, names.index("crankpin")]
        wrist = found.force[i, names.index("wrist")]
        np.testing.assert_allclose(pin[[0, 2]], [px, pz], rtol=2e-6, atol=2e-4)
        np.testing.assert_allclose(wrist[[0, 2]], [wx, wz], rtol=2e-6, atol=2e-4)
        assert found.recovered[i, 0] == pytest.approx(torque, rel=2e-6)
    assert found.shared[names.index("wrist")] == "axial force, tilting moment"
    assert found.unbalanced < 1e-9
