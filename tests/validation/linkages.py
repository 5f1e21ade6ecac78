"""Textbook linkages: four-bars, slider-cranks, a quick return, and torques that hold."""

from __future__ import annotations

from collections.abc import Callable
from math import asin, atan2, cos, degrees, hypot, pi, radians, sin, sqrt

import numpy as np

from simprop.geometry.arrays import Array
from tests.rigs import fourbar
from tests.validation.harness import Case, Outcome, Quantity, absolute, relative

NORTON = "Norton, Design of Machinery (dimensions from memory), values recomputed"
NEWTON_EULER = (
    "recomputed with a Newton-Euler 9 x 9 system, absolute coordinates with multipliers, a general rigid-body "
    "library and a symbolic Lagrangian, agreeing to 1e-8"
)
HELD = "synchronous: {speed: %s, pull_out_torque: 200 N*m, run_up: 0 s, reverses: false}"
"""A drive that holds a constant speed whatever the load."""


def extreme(out: Outcome, values: Array, sign: float, after: float) -> tuple[float, float]:
    """Time and value of the first local top (sign 1) or bottom (-1) after a time, by a parabola through rows."""
    v = sign * values
    for i in range(max(2, int(np.searchsorted(out.time, after))), len(v) - 1):
        if v[i] >= v[i - 1] and v[i] > v[i + 1]:
            slope, bend = (v[i + 1] - v[i - 1]) / 2, v[i + 1] - 2 * v[i] + v[i - 1]
            share = -slope / bend
            h = out.recording.track.step
            return float(out.time[i] + share * h), float(sign * (v[i] - slope**2 / (2 * bend)))
    raise AssertionError("no turning point")


def swing_and_ratio(out: Outcome, joint: str) -> tuple[float, float]:
    """Swing of a coordinate, and time from top to bottom over time from bottom to top, at a constant drive."""
    values = out.coordinate(joint)
    first, top = extreme(out, values, 1.0, 0.02)
    second, bottom = extreme(out, values, -1.0, first)
    third, _ = extreme(out, values, 1.0, second)
    return top - bottom, (second - first) / (third - second)


# t s, crank angle deg, then force magnitudes at O2, A, B, O4 in N
TORQUE_RUN = (
    (0.05, 46.17990112551, 1.450814290758, 1.25276112483, 1.401778650326, 2.057037894068),
    (0.10, 62.31540198018, 1.359877191483, 1.154895929399, 1.137006338544, 1.799564970289),
    (0.15, 89.14237596815, 1.326827864206, 1.168904659172, 0.7508557110972, 1.352401661579),
    (0.20, 139.8889888728, 1.559623848085, 1.27754458845, 0.5586609652686, 0.2545095965719),
)
# The reference's own peaks are read on a grid of 0.1 ms; the pins' last digits are not.
PEAKS = {"O2": 30.30597530011, "A": 25.8999875358, "B": 4.50859164834, "O4": 2.780938309311}


def _angle(time: float, angle: float) -> Quantity:
    def find(out: Outcome) -> float:
        return 40 + degrees(float(out.at(time, out.coordinate("O2"))))

    return absolute(f"crank angle at {time:g} s", "deg", angle, find, bullet=5e-3, mujoco=1e-5)


def _size(joint: str, time: float, size: float) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.at(time, out.size(joint)))

    return relative(f"force in pin {joint} at {time:g} s", "N", size, find, bullet=1e-4, mujoco=1e-5)


def _peak(joint: str, size: float) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.size(joint)[out.until(0.25)].max())

    return relative(f"peak force in pin {joint} to 0.25 s", "N", size, find, bullet=5e-3, mujoco=1e-3)


FOUR_BAR_RUN = Case(
    "four-bar 40/120/80/100 under a constant torque",
    NEWTON_EULER,
    "goals 0.05 deg, 0.5 % of forces, peaks 1 % on bullet and 0.3 % on mujoco; held tighter. Peaks are read on rows "
    "0.25 ms apart, which clips 2e-4 of them",
    fourbar(run="for: 0.28 s"),
    {"bullet": 2.5e-4, "mujoco": 2.5e-4},
    (
        *(_angle(t, angle) for t, angle, *_ in TORQUE_RUN),
        *(
            _size(joint, t, size)
            for t, _, *sizes in TORQUE_RUN[:3]
            for joint, size in zip(("O2", "A", "B", "O4"), sizes, strict=True)
        ),
        *(_peak(joint, size) for joint, size in PEAKS.items()),
    ),
)

FOUR_BAR_INSTANT = Case(
    "four-bar 40/120/80/100 at 40 deg, 25 rad/s, 15 rad/s^2",
    NORTON + "; forces " + NEWTON_EULER,
    "the drive torque of the reference is put on; speeds, accelerations and forces of the first instant must be "
    "those of the reference. bullet extrapolates half a step back: 1 %",
    fourbar(run="for: 0.04 s, start_speeds: {O2: 25 rad/s}", torque=0.1247177574503),
    {"bullet": 5e-5, "mujoco": 5e-5},
    (
        relative(
            "coupler speed",
            "rad/s",
            -4.120914415348,
            lambda o: -float(o.at(0.0, o.recording.track.spin[:, o.body("coupler")])[1]),
            bullet=5e-3,
            mujoco=1e-6,
        ),
        relative(
            "rocker speed",
            "rad/s",
            6.997985242177,
            lambda o: float(o.at(0.0, o.rate("O4"))),
            bullet=5e-3,
            mujoco=1e-6,
        ),
        # The small rest of large torques: a share of 1e-3 of them is 2 rad/s^2.
        absolute(
            "crank acceleration",
            "rad/s^2",
            15.0,
            lambda o: -float(o.at(0.0, o.recording.track.spin_acceleration[:, o.body("crank")])[1]),
            bullet=2.0,
            mujoco=1e-3,
        ),
        relative(
            "rocker acceleration",
            "rad/s^2",
            470.133530261,
            lambda o: -float(o.at(0.0, o.recording.track.spin_acceleration[:, o.body("rocker")])[1]),
            bullet=1e-2,
            mujoco=1e-6,
        ),
        *(
            relative(
                f"force in pin {joint}",
                "N",
                hypot(x, y),
                lambda o, joint=joint: float(o.at(0.0, o.size(joint))),  # type: ignore[misc]
                bullet=1e-2,
                mujoco=1e-5,
            )
            for joint, x, y in (
                ("O2", -6.827488930734, -1.457335072368),
                ("A", 6.436753257858, 1.537533800842),
                ("B", 3.238123857321, 2.798569139331),
                ("O4", 1.887175602714, 4.263661908041),
            )
        ),
    ),
)


def planar_four_bar(
    driver: float, coupler: float, follower: float, ground: float, angle: float, *, rest: str
) -> str:
    """A four-bar in mm with its driver at an angle in degrees, coupler pin on the left of the diagonal."""
    a = np.array([driver * cos(radians(angle)), driver * sin(radians(angle))])
    d = np.array([ground, 0.0]) - a
    length = float(np.hypot(*d))
    x = (coupler**2 - follower**2 + length**2) / (2 * length)
    b = a + x * d / length + sqrt(coupler**2 - x**2) * np.array([-d[1], d[0]]) / length
    return f"""
rig: 1
name: Four-bar
points:
  o2: 0 0 0 mm
  a: {a[0]:.15g} 0 {a[1]:.15g} mm
  b: {b[0]:.15g} 0 {b[1]:.15g} mm
  o4: {ground} 0 0 mm
bodies:
  ground: {{fixed: true}}
  driver: {{parts: [{{slender: 40 g, from: o2, to: a}}]}}
  coupler: {{parts: [{{slender: 40 g, from: a, to: b}}]}}
  follower: {{parts: [{{slender: 40 g, from: o4, to: b}}]}}
joints:
  O2: {{pin: [ground, driver], at: o2, axis: -y}}
  A: {{pin: [driver, coupler], at: a, axis: -y}}
  B: {{pin: [coupler, follower], at: b, axis: -y}}
  O4: {{pin: [ground, follower], at: o4, axis: -y}}
{rest}
"""


FOUR_BAR_LIMITS = Case(
    "limits of the four-bar 40/120/80/100",
    "Grashof condition and limit positions as in Norton, Design of Machinery (from memory); a scan of 200001 angles",
    "swing and time ratio by parabolas through the rows; the drive turns once a second",
    planar_four_bar(
        40,
        120,
        80,
        100,
        40,
        rest=f"motors: {{m: {{joint: O2, motor: {{{HELD % '60 rpm'}}}}}}}\n"
        "run: {for: 2.4 s, gravity: 0 m/s^2, start_speeds: {O2: 60 rpm}}",
    ),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        absolute(
            "rocker swing",
            "deg",
            73.78181964888,
            lambda o: degrees(swing_and_ratio(o, "O4")[0]),
            bullet=0.01,
            mujoco=1e-4,
        ),
        relative(
            "time ratio",
            "-",
            1.35557333029,
            lambda o: _slower(swing_and_ratio(o, "O4")[1]),
            bullet=1e-4,
            mujoco=1e-5,
        ),
    ),
)

TOGGLE = Case(
    "toggle of the non-Grashof four-bar 80/70/60/120",
    "toggle formula as in Norton, Design of Machinery (from memory): law of cosines with 70 + 60 mm in line",
    "the driver, thrown against its limit, stops at the toggle; coupler and follower go through it",
    planar_four_bar(
        80, 70, 60, 120, 60, rest="run: {for: 4 s, gravity: 0 m/s^2, start_speeds: {O2: 2 rad/s}}"
    ),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        absolute(
            "largest driver angle",
            "deg",
            78.28023969421,
            lambda o: 60 + degrees(extreme(o, o.coordinate("O2"), 1.0, 0.0)[1]),
            bullet=0.01,
            mujoco=1e-4,
        ),
        absolute(
            "driver angle of the mirrored toggle",
            "deg",
            -78.28023969421,
            lambda o: 60 + degrees(extreme(o, o.coordinate("O2"), -1.0, 0.05)[1]),
            bullet=0.01,
            mujoco=1e-3,
        ),
    ),
)


def slider_crank(crank: float, rod: float, offset: float, angle: float, *, parts: str, rest: str) -> str:
    """A slider-crank in mm with the slide along x at height `offset`, crank at an angle in degrees."""
    a = (crank * cos(radians(angle)), crank * sin(radians(angle)))
    w = a[0] + sqrt(rod**2 - (a[1] - offset) ** 2)
    return f"""
rig: 1
name: Slider-crank
points: {{o: 0 0 0 mm, a: {a[0]!r} 0 {a[1]!r} mm, w: {w!r} 0 {offset} mm}}
bodies:
  ground: {{fixed: true}}
{parts}
joints:
  o: {{pin: [ground, crank], at: o, axis: -y}}
  a: {{pin: [crank, rod], at: a, axis: -y}}
  w: {{pin: [rod, block], at: w, axis: -y}}
  guide: {{slider: [ground, block], at: w, along: x}}
{rest}
"""


LIGHT = """\
  crank: {parts: [{slender: 10 g, from: o, to: a}]}
  rod: {parts: [{slender: 10 g, from: a, to: w}]}
  block: {parts: [{lump: 10 g, at: w}]}"""

OFFSET = Case(
    "offset slider-crank 40/120/-20",
    NORTON,
    "stroke and time ratio by parabolas through rows 1 ms apart at one turn a second",
    slider_crank(
        40,
        120,
        -20,
        60,
        parts=LIGHT,
        rest=f"motors: {{m: {{joint: o, motor: {{{HELD % '60 rpm'}}}}}}}\n"
        "run: {for: 2.4 s, gravity: 0 m/s^2, start_speeds: {o: 60 rpm}}",
    ),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        absolute(
            "slider at 60 deg",
            "mm",
            126.8380051945,
            lambda o: 1e3 * float(o.at(0.0, o.position("block"))[0]),
            bullet=0.05,
            mujoco=1e-4,
        ),
        absolute(
            "stroke",
            "mm",
            81.28541173973,
            lambda o: 1e3 * swing_and_ratio(o, "guide")[0],
            bullet=0.01,
            mujoco=1e-4,
        ),
        # With the offset below the shaft and the crank turning left, the slower way is the way out.
        relative(
            "time ratio",
            "-",
            1.084500513743,
            lambda o: _slower(swing_and_ratio(o, "guide")[1]),
            bullet=1e-4,
            mujoco=1e-5,
        ),
    ),
)


def _slower(ratio: float) -> float:
    return max(ratio, 1 / ratio)


# crank angle deg, crankpin force N, wrist force N, crank torque N*m
INLINE_ROWS = (
    (30, 309.8909601, hypot(-235.6892986, 41.00895301), 8.650010964),
    (60, 123.4021585, hypot(-88.85286676, 34.74957818), 5.357421777),
    (90, 83.75785745, hypot(61.15970157, -4.386490845), -3.567649258),
    (120, 201.7806273, hypot(148.0176389, -26.53532249), -6.814194006),
)
_SPEED = 125.6637061436


def _inline(name: str, degree: int, value: float, series: Callable[[Outcome], Array], unit: str) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.at(radians(degree) / _SPEED, series(out)))

    return relative(f"{name} at {degree} deg", unit, value, find, bullet=1e-4, mujoco=2e-5)


INLINE = Case(
    "in-line slider-crank at 1200 rpm",
    "method as in Norton, Design of Machinery, ch. 11; Uicker, Pennock, Shigley; torque checked by power",
    "goal 0.5 %; held to 1e-4. The drive holds the speed to a millionth, so angle is speed times time.",
    slider_crank(
        50,
        200,
        0,
        0,
        parts="""\
  crank: {parts: [{lump: 0.2 kg, at: o, inertia: [1e-3 kg*m^2, 1e-3 kg*m^2, 1e-3 kg*m^2]}]}
  rod: {parts: [{slender: 0.1 kg, from: a, to: w}]}
  block: {parts: [{lump: 0.3 kg, at: w}]}""",
        rest=f"motors: {{m: {{joint: o, motor: {{{HELD % '1200 rpm'}}}}}}}\n"
        "run: {for: 0.04 s, gravity: 0 m/s^2, start_speeds: {o: 1200 rpm}}",
    ),
    {"bullet": 2e-5, "mujoco": 1e-4},
    tuple(
        quantity
        for degree, pin, wrist, torque in INLINE_ROWS
        for quantity in (
            _inline("crankpin force", degree, pin, lambda o: o.size("a"), "N"),
            _inline("wrist force", degree, wrist, lambda o: o.size("w"), "N"),
            _inline("crank torque", degree, torque, lambda o: o.applied("motor", "o"), "N*m"),
        )
    ),
)

_LEVER = asin(0.4)
QUICK_RETURN = Case(
    "quick return by a pinned slider",
    "swinging-block linkage: swing 2 asin(r / d), time ratio (pi + 2 asin(r / d)) / (pi - 2 asin(r / d)), rod angle "
    "atan2(r sin q, d + r cos q); any text on mechanisms",
    "as for the other limits; the rod slides in a tee that turns on a pin",
    f"""
rig: 1
name: Quick return
points: {{o: 0 0 0 mm, a: 40 0 0 mm, t: -100 0 0 mm}}
bodies:
  ground: {{fixed: true}}
  crank: {{parts: [{{slender: 30 g, from: o, to: a}}]}}
  rod: {{parts: [{{slender: 60 g, from: a, to: -160 0 0 mm}}]}}
  tee: {{parts: [{{lump: 20 g, at: t, inertia: [1e-5 kg*m^2, 1e-5 kg*m^2, 1e-5 kg*m^2]}}]}}
joints:
  o: {{pin: [ground, crank], at: o, axis: -y}}
  a: {{pin: [crank, rod], at: a, axis: -y}}
  slide: {{slider: [tee, rod], at: t, along: x}}
  t: {{pin: [ground, tee], at: t, axis: -y}}
motors: {{m: {{joint: o, motor: {{{HELD % "60 rpm"}}}}}}}
run: {{for: 2.4 s, gravity: 0 m/s^2, start_speeds: {{o: 60 rpm}}}}
""",
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        absolute(
            "rod swing",
            "deg",
            degrees(2 * _LEVER),
            lambda o: degrees(swing_and_ratio(o, "t")[0]),
            bullet=0.01,
            mujoco=1e-4,
        ),
        relative(
            "time ratio",
            "-",
            (pi + 2 * _LEVER) / (pi - 2 * _LEVER),
            lambda o: _slower(swing_and_ratio(o, "t")[1]),
            bullet=1e-4,
            mujoco=1e-5,
        ),
        absolute(
            "rod angle at 100 deg",
            "deg",
            degrees(atan2(40 * sin(radians(100)), 100 + 40 * cos(radians(100)))),
            lambda o: degrees(float(o.at(100 / 360, o.coordinate("t")))),
            bullet=0.01,
            mujoco=1e-4,
        ),
    ),
)


def lift_torque(degree: float, crank: float = 0.0, rod: float = 0.0) -> float:
    """Torque that holds a slider-crank 50/200 mm with 5 kg straight above, N*m, by virtual work.

    Args:
        degree: crank angle from top dead centre.
        crank: mass of the crank, kg, at its middle.
        rod: mass of the rod, kg, at its middle.
    """
    q, r, g = radians(degree), 0.05, 9.81
    load = r * sin(q) * (1 + cos(q) / sqrt(16 - sin(q) ** 2))
    pin = r * sin(q)
    return g * (5 * load + crank * pin / 2 + rod * (pin + load) / 2)


LIFT = Case(
    "crank that lifts straight up",
    "statics: T = F r sin q (1 + cos q / sqrt((l / r)^2 - sin^2 q)), any text on machines; links by virtual work",
    "the crank turns at 3 deg/s: inertia is 1e-6 of the weight",
    """
rig: 1
name: Lift
points: {o: 0 0 0 mm, a: 40.957602214 0 28.678821818 mm, w: 0 0 224.43994 mm}
bodies:
  ground: {fixed: true}
  crank: {hold: {from: o, to: a, length: 50 mm}, parts: [{slender: 100 g, from: o, to: a}]}
  rod: {hold: {from: a, to: w, length: 200 mm}, parts: [{slender: 100 g, from: a, to: w}]}
  load: {parts: [{lump: 5 kg, at: w}]}
joints:
  o: {pin: [ground, crank], at: o, axis: y}
  a: {pin: [crank, rod], at: a, axis: y}
  w: {pin: [rod, load], at: w, axis: y}
  guide: {slider: [ground, load], at: w, along: z}
motors: {m: {joint: o, motor: {synchronous: {speed: 0.5 rpm, pull_out_torque: 20 N*m, run_up: 0 s, reverses: false}}}}
run: {for: 14 s, gravity: 9.81 m/s^2, start_speeds: {o: 0.5 rpm}}
""",
    {"bullet": 2e-3, "mujoco": 2e-3},
    (
        relative(
            "torque at 60 deg",
            "N*m",
            lift_torque(60, 0.1, 0.1),
            lambda o: _lifting(o, 60),
            bullet=2e-3,
            mujoco=1e-5,
        ),
        relative(
            "torque at 90 deg",
            "N*m",
            lift_torque(90, 0.1, 0.1),
            lambda o: _lifting(o, 90),
            bullet=2e-3,
            mujoco=1e-5,
        ),
        relative(
            "greatest torque",
            "N*m",
            max(lift_torque(x, 0.1, 0.1) for x in np.arange(70, 85, 0.001)),
            lambda o: np.abs(o.applied("motor", "o")[o.time > 1.0]).max(),
            bullet=2e-3,
            mujoco=1e-5,
        ),
    ),
)


def _lifting(out: Outcome, degree: float) -> float:
    """Torque of the drive at a crank angle from top dead centre, from the motion's own angle."""
    middle = out.position("crank")
    angle = np.degrees(np.arctan2(middle[:, 0], middle[:, 2]))
    settled = out.time > 0.5
    return float(np.abs(np.interp(degree, angle[settled], out.applied("motor", "o")[settled])))


ARMS = Case(
    "torques that hold a level arm",
    "statics: m g l and m g l / 2",
    "held by a stop of known stiffness: after its swing has died down the stop carries the torque",
    """
rig: 1
name: Arms
points: {o: 0 0 0 mm, p: 0 500 0 mm}
bodies:
  ground: {fixed: true}
  point: {parts: [{lump: 2 kg, at: 500 0 0 mm}]}
  bar: {parts: [{slender: 1 kg, from: p, to: 600 500 0 mm}]}
joints:
  o: {pin: [ground, point], at: o, axis: y}
  p: {pin: [ground, bar], at: p, axis: y}
stops:
  so: {pin_stop: o, above: 1e-9 rad, stiffness: 1e5 N*m/rad, damping: 400 N*m*s/rad}
  sp: {pin_stop: p, above: 1e-9 rad, stiffness: 1e5 N*m/rad, damping: 220 N*m*s/rad}
run: {for: 0.4 s, gravity: 9.81 m/s^2}
""",
    {"bullet": 1e-4, "mujoco": 2e-4},
    (
        relative(
            "weight of 2 kg at 0.5 m",
            "N*m",
            9.81,
            lambda o: -o.applied("stop", "o")[-1],
            bullet=1e-3,
            mujoco=1e-5,
        ),
        relative(
            "bar of 1 kg, 0.6 m",
            "N*m",
            2.943,
            lambda o: -o.applied("stop", "p")[-1],
            bullet=1e-3,
            mujoco=1e-5,
        ),
        relative(
            "force in the pin of the bar", "N", 9.81, lambda o: o.size("p")[-1], bullet=1e-3, mujoco=1e-5
        ),
    ),
)

CASES = (FOUR_BAR_RUN, FOUR_BAR_INSTANT, FOUR_BAR_LIMITS, TOGGLE, OFFSET, INLINE, QUICK_RETURN, LIFT, ARMS)
