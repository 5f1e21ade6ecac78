"""Closed chains of the benchmark libraries: N-four-bar, the seven-body squeezing mechanism, Bricard's loop."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, sin

import numpy as np

from simprop.loads.energy import energy
from tests.validation.harness import Case, Outcome, Quantity, absolute, relative
from tests.validation.pendulums import IFTOMM


def windows(count: int, duration: str) -> str:
    """N parallelogram windows of uniform 1 m, 1 kg links; cranks upright, 1 rad/s clockwise."""
    points, bodies, joints = [], [], []
    for i in range(count + 1):
        points += [f"  g{i}: {i * 1000} 0 0 mm", f"  t{i}: {i * 1000} 0 1000 mm"]
        bodies.append(f"  c{i}: {{parts: [{{slender: 1 kg, from: g{i}, to: t{i}}}]}}")
        joints.append(f"  G{i}: {{pin: [base, c{i}], at: g{i}, axis: y}}")
    for i in range(count):
        bodies.append(f"  l{i}: {{parts: [{{slender: 1 kg, from: t{i}, to: t{i + 1}}}]}}")
        joints.append(f"  A{i}: {{pin: [c{i}, l{i}], at: t{i}, axis: y}}")
        joints.append(f"  B{i}: {{pin: [l{i}, c{i + 1}], at: t{i + 1}, axis: y}}")
    run = f"run: {{for: {duration}, gravity: 9.81 m/s^2, start_speeds: {{G0: 1 rad/s}}}}"
    parts = ["rig: 1", "name: Windows", "points:", *points, "bodies:", "  base: {fixed: true}", *bodies]
    return "\n".join([*parts, "joints:", *joints, run, ""])


def top_error(time: float, x: float, z: float) -> Callable[[Outcome], float]:
    """Distance of the top of the first crank from where it must be, m."""

    def find(out: Outcome) -> float:
        angle = float(out.at(time, out.coordinate("G0")))
        return float(np.hypot(sin(angle) - x, cos(angle) - z))

    return find


def energy_error(out: Outcome) -> float:
    """Largest error of the energy, J: nothing but gravity works."""
    return abs(energy(out.recording).residual)


def _ground_force(pin: int, time: float, way: int) -> Callable[[Outcome], float]:
    return lambda out: float(out.at(time, out.force(f"G{pin}"))[way])


def _at_45_degrees(out: Outcome) -> float:
    """First time at which the first crank has turned 45 deg, s."""
    angle, goal = out.coordinate("G0"), np.pi / 4
    i = int(np.argmax(angle > goal))
    return float(np.interp(goal, angle[i - 2 : i + 2], out.time[i - 2 : i + 2]))


A02 = Case(
    "A02 four-bar chain, N = 2",
    IFTOMM + "; all links in line twice a turn, where constraint solvers fail that need a regular Jacobian",
    "goal 1 mm at 10 s and 0.1 J on both engines; mujoco is held to a micrometre. Pin forces at rest and "
    "45 deg: bullet to the 0.05 N that the reference gives a first-order engine.",
    windows(2, "10.04 s"),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        absolute(
            "position error at 5 s",
            "m",
            0.0,
            top_error(5.0, -0.8113104610051, -0.584615545349),
            bullet=1e-3,
            mujoco=1e-6,
        ),
        absolute(
            "position error at 10 s",
            "m",
            0.0,
            top_error(10.0, 0.3284581115408, 0.9445185381786),
            bullet=1e-3,
            mujoco=1e-6,
        ),
        absolute("largest error of the energy", "J", 0.0, energy_error, bullet=0.1, mujoco=1e-3),
        relative(
            "largest crank speed",
            "rad/s",
            6.839590631025,
            lambda o: o.rate("G0").max(),
            bullet=1e-3,
            mujoco=1e-5,
        ),
        absolute(
            "upward force on the middle crank at the start",
            "N",
            18.12,
            _ground_force(1, 0.0, 2),
            bullet=0.05,
            mujoco=1e-4,
        ),
        absolute(
            "upward force on an outer crank at the start",
            "N",
            13.715,
            _ground_force(0, 0.0, 2),
            bullet=0.05,
            mujoco=1e-4,
        ),
        absolute(
            "upward force on the middle crank at 45 deg",
            "N",
            2.86457849618,
            lambda o: _ground_force(1, _at_45_degrees(o), 2)(o),
            bullet=0.05,
            mujoco=1e-4,
        ),
        absolute(
            "sideways force on an outer crank at 45 deg",
            "N",
            0.5472189974534,
            lambda o: _ground_force(0, _at_45_degrees(o), 0)(o),
            bullet=0.05,
            mujoco=1e-4,
        ),
    ),
)

A02_LONG = Case(
    "A02 four-bar chain, N = 40",
    IFTOMM,
    "mujoco: goal 1 mm at 2 s. bullet carries it too (measured once: 2e-7 m) but takes 20 s: left out to keep the "
    "suite short",
    windows(40, "2.04 s"),
    {"mujoco": 1e-3},
    (
        absolute(
            "position error at 1 s",
            "m",
            0.0,
            top_error(1.0, -0.1153568806321, -0.9933241113005),
            bullet=1e-3,
            mujoco=1e-3,
        ),
        absolute(
            "position error at 2 s",
            "m",
            0.0,
            top_error(2.0, 0.03446630730041, 0.9994058603296),
            bullet=1e-3,
            mujoco=1e-3,
        ),
        absolute("largest error of the energy", "J", 0.0, energy_error, bullet=0.1, mujoco=0.1),
    ),
)

SQUEEZER_SOURCE = (
    "Andrews' squeezing mechanism: Test Set for IVP Solvers; Hairer and Wanner, Solving Ordinary Differential "
    "Equations II, ch. VII; pin forces recomputed from the body data"
)


def squeezer() -> str:
    """The mechanism at its start angles; x right, y up as x, z here."""
    xa, ya, xb, yb = -0.06934, -0.00227, -0.03635, 0.03273
    d, da, e, ea, rr, ra = 0.028, 0.0115, 0.02, 0.01421, 0.007, 0.00092
    ss, sa, sb, sc, sd = 0.035, 0.01874, 0.01043, 0.018, 0.02
    ta, tb, u, ua, ub, zf, zt, fa = 0.02308, 0.00916, 0.04, 0.01228, 0.00449, 0.02, 0.04, 0.01421
    beta, theta, gamma, phi, delta, omega, epsilon = (
        -0.06171389001427645,
        0.0,
        0.45527981916307037,
        0.22266839016588588,
        0.48736497954384256,
        -0.22266839016588588,
        1.2305474445498212,
    )
    bt, pd, oe = beta + theta, phi + delta, omega + epsilon
    place = {
        "O": (0.0, 0.0),
        "F": (rr * cos(beta), rr * sin(beta)),
        "E": (xb + ss * sin(gamma), yb - ss * cos(gamma)),
        "B": (xb, yb),
        "A": (xa, ya),
        "C": (0.014, 0.072),
        "D": (xb + sc * sin(gamma) + sd * cos(gamma), yb + sd * sin(gamma) - sc * cos(gamma)),
        "G": (xa + zt * cos(delta), ya + zt * sin(delta)),
        "H": (xa + u * sin(epsilon), ya - u * cos(epsilon)),
        "K1": (ra * cos(beta), ra * sin(beta)),
        "K2": (rr * cos(beta) - da * cos(bt), rr * sin(beta) - da * sin(bt)),
        "K3": (xb + sa * sin(gamma) + sb * cos(gamma), yb - sa * cos(gamma) + sb * sin(gamma)),
        "K4": (xa + zt * cos(delta) + (e - ea) * sin(pd), ya + zt * sin(delta) - (e - ea) * cos(pd)),
        "K5": (xa + ta * cos(delta) - tb * sin(delta), ya + ta * sin(delta) + tb * cos(delta)),
        "K6": (xa + u * sin(epsilon) + (zf - fa) * cos(oe), ya - u * cos(epsilon) + (zf - fa) * sin(oe)),
        "K7": (xa + ua * sin(epsilon) - ub * cos(epsilon), ya - ua * cos(epsilon) - ub * sin(epsilon)),
    }
    assert abs(rr * cos(beta) - d * cos(bt) - place["E"][0]) < 1e-12
    masses = (0.04325, 0.00365, 0.02373, 0.00706, 0.0705, 0.00706, 0.05498)
    inertias = (2.194e-06, 4.41e-07, 5.255e-06, 5.667e-07, 1.169e-05, 5.667e-07, 1.912e-05)
    points = [f"  {name}: {x!r} 0 {y!r} m" for name, (x, y) in place.items()]
    bodies = [
        f"  k{i}: {{parts: [{{lump: {m!r} kg, at: K{i}, inertia: [{j!r} kg*m^2, {j!r} kg*m^2, {j!r} kg*m^2]}}]}}"
        for i, (m, j) in enumerate(zip(masses, inertias, strict=True), 1)
    ]
    pins = {
        "O": "base, k1",
        "F": "k1, k2",
        "E23": "k3, k2",
        "E24": "k4, k2",
        "E26": "k6, k2",
        "B": "base, k3",
        "G": "k5, k4",
        "A5": "base, k5",
        "H": "k7, k6",
        "A7": "base, k7",
    }
    joints = [f"  {name}: {{pin: [{pair}], at: {name[0]}, axis: -y}}" for name, pair in pins.items()]
    rest = [
        "springs: {coil: {two_way: [base, k3], from: C, to: D, rate: 4530 N/m, free_length: 77.85 mm}}",
        "motors: {drive: {joint: O, motor: {steady: {torque: 0.033 N*m}}}}",
        "run: {for: 0.04 s, gravity: 0 m/s^2}",
        "",
    ]
    head = ["rig: 1", "name: Squeezer", "points:", *points, "bodies:", "  base: {fixed: true}", *bodies]
    return "\n".join([*head, "joints:", *joints, *rest])


def _beta(time: float, angle: float, bullet: float) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.at(time, out.coordinate("O"))) - 0.06171389001427645

    return absolute(f"crank angle at {time * 1e3:g} ms", "rad", angle, find, bullet=bullet, mujoco=1e-5)


def _pin(name: str, time: float, x: float, y: float, bullet: float) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.at(time, out.size(name)))

    size = float(np.hypot(x, y))
    title = f"force in pin {name} at {time * 1e3:g} ms"
    return absolute(title, "N", size, find, bullet=bullet, mujoco=1e-3 * size)


def _peak(name: str, size: float) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.size(name)[out.until(0.03)].max())

    return relative(f"peak force in pin {name} to 30 ms", "N", size, find, bullet=0.06, mujoco=1e-3)


A03 = Case(
    "A03 squeezing mechanism",
    SQUEEZER_SOURCE,
    "the crank ends at 1140 rad/s, so a step error is mostly a shift in time. bullet: the tolerances that the "
    "reference gives a first-order engine, 0.2 rad and 6 % of peaks; mujoco at 10 us: reference peaks lie on a "
    "grid of 10 us, 1e-3",
    squeezer(),
    {"bullet": 1e-5, "mujoco": 1e-5},
    (
        _beta(0.005, 0.2110763859033, 0.00045),
        _beta(0.015, 5.655429749992, 0.0093),
        _beta(0.03, 15.81077119515, 0.2),
        _pin("O", 0.005, 83.11495517863, 3.90271539954, 0.03),
        _pin("B", 0.005, -39.27119554259, 94.49839885324, 0.03),
        _pin("O", 0.015, 31.12209072711, -3.218715666645, 0.93),
        _pin("E24", 0.015, 9.33100072891, -7.54277073417, 0.93),
        _pin("O", 0.03, 332.6284907057, 22.67305359526, 15.42),
        _peak("O", 334.2005562681),
        _peak("E24", 39.35320689544),
        _peak("H", 57.28673890512),
        _peak("A7", 46.03335841527),
    ),
)

BRICARD = Case(
    "A04 Bricard's loop",
    IFTOMM + " (geometry found, values recomputed with slender bars)",
    "motion alone: one constraint too many leaves the reactions open. bullet: the 20 mm that the reference gives "
    "a first-order engine; mujoco is held to 0.1 mm",
    """
rig: 1
name: Bricard
points:
  {p0: 0 0 0 m, p1: 1 0 0 m, p2: 1 -1 0 m, p3: 1 -1 1 m, p4: 0 -1 1 m, p5: 0 0 1 m}
bodies:
  base: {fixed: true}
  b1: {parts: [{slender: 1 kg, from: p0, to: p1}]}
  b2: {parts: [{slender: 1 kg, from: p1, to: p2}]}
  b3: {parts: [{slender: 1 kg, from: p2, to: p3}]}
  b4: {parts: [{slender: 1 kg, from: p3, to: p4}]}
  b5: {parts: [{slender: 1 kg, from: p4, to: p5}]}
joints:
  j0: {pin: [base, b1], at: p0, axis: y}
  j1: {pin: [b1, b2], at: p1, axis: z}
  j2: {pin: [b2, b3], at: p2, axis: x}
  j3: {pin: [b3, b4], at: p3, axis: y}
  j4: {pin: [b4, b5], at: p4, axis: z}
  j5: {pin: [b5, base], at: p5, axis: x}
run: {for: 10.04 s, gravity: 0 -9.81 0 m/s^2}
""",
    {"bullet": 1e-3, "mujoco": 1e-3},
    (),
)


def _corner(time: float, x: float, y: float, z: float) -> Quantity:
    def find(out: Outcome) -> float:
        # The far end of b2: its middle plus the way from its other end, which b1 carries.
        middle, arm = out.at(time, out.position("b2")), out.at(time, out.position("b1"))
        return float(np.linalg.norm(2 * middle - 2 * arm - (x, y, z)))

    return absolute(f"position error of a corner at {time:g} s", "m", 0.0, find, bullet=0.02, mujoco=1e-4)


BRICARD = Case(
    BRICARD.name,
    BRICARD.source,
    BRICARD.why,
    BRICARD.text,
    BRICARD.step,
    (
        _corner(1.0, 0.2733339158097, -0.886544000792, -0.4626442852341),
        _corner(5.0, 0.9998161187051, -0.9999999830969, -0.0001838643887703),
        _corner(10.0, 0.9992646100894, -0.9999997297996, -0.0007351195114291),
        absolute("largest error of the energy", "J", 0.0, energy_error, bullet=0.3, mujoco=1e-2),
    ),
)

CASES = (A02, A02_LONG, A03, BRICARD)
