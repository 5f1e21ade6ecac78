"""Motors: run-up, load points, a hoist, energies, and a rotor carried along by what it turns in."""

from __future__ import annotations

from math import exp

import numpy as np

from simprop.drives.base import RUN_UP
from simprop.laws import actuator
from tests.validation.harness import Case, Outcome, Quantity, absolute, relative

LINEAR = "linear DC motor model (any text on electrical machines), closed form"
MOTOR = (
    "dc: {rated_voltage: 12 V, no_load_speed: 240 rad/s, stall_torque: 0.3 N*m, no_load_current: 0 A, "
    "stall_current: 6 A, rotor_inertia: %s kg*m^2, gear_ratio: %s}"
)


def bench(inertia: float, motors: str, run: str) -> str:
    """A wheel on a post with motors."""
    moments = ", ".join([f"{inertia!r} kg*m^2"] * 3)
    return f"""
rig: 1
name: Bench
bodies:
  post: {{fixed: true}}
  wheel: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [{moments}]}}]}}
joints: {{shaft: {{pin: [post, wheel], at: 0 0 0 mm, axis: y}}}}
motors: {{{motors}}}
run: {{{run}, gravity: 9.81 m/s^2}}
"""


def _speed(constants: int) -> Quantity:
    def find(out: Outcome) -> float:
        return float(out.at(0.16 * constants, out.rate("shaft")))

    reference = 240 * (1 - exp(-constants))
    name = f"speed after {constants} time constants"
    return relative(name, "rad/s", reference, find, bullet=1e-4, mujoco=1e-6)


def _electric(out: Outcome, heat: bool) -> float:
    current, voltage = out.recording.track.current[:, 0], out.recording.track.voltage[:, 0]
    power = current**2 * 2.0 if heat else current * voltage
    return float(np.trapezoid(power, out.time))


RUN_UP_CASE = Case(
    "DC motor run-up",
    LINEAR,
    "160 steps a time constant: 1e-4 on bullet, 1e-6 on mujoco. Half of the inertia is the rotor's own behind a "
    "gear of 2. "
    "Energies by trapezes over 12 time constants; bullet's rows begin half a step late: 1 %.",
    bench(1e-4, f"m: {{joint: shaft, motor: {{{MOTOR % ('2.5e-5', '2')}}}}}", "for: 2 s"),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        *(_speed(k) for k in (1, 2, 3, 5)),
        relative(
            "angle after 5 time constants",
            "rad",
            153.8587371648,
            lambda o: float(o.at(0.8, o.coordinate("shaft"))),
            bullet=1e-4,
            mujoco=1e-6,
        ),
        relative("heat of the run-up", "J", 5.76, lambda o: _electric(o, True), bullet=1e-2, mujoco=1e-4),
        relative("electrical energy", "J", 11.52, lambda o: _electric(o, False), bullet=1e-2, mujoco=1e-4),
    ),
)

LOADED = Case(
    "DC motor under load",
    LINEAR,
    "after 12 time constants the speed stands to 1e-5",
    bench(
        2e-4,
        f"m: {{joint: shaft, motor: {{{MOTOR % ('1e-12', '1')}}}}}, "
        "load: {joint: shaft, motor: {steady: {torque: 0.06 N*m}}, reverse: true}",
        "for: 2 s",
    ),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        relative("speed", "rad/s", 192.0, lambda o: o.rate("shaft")[-1], bullet=1e-3, mujoco=1e-4),
        relative("current", "A", 1.2, lambda o: o.recording.track.current[-1, 0], bullet=2e-3, mujoco=1e-4),
    ),
)

_GEARED = (
    "dc: {rated_voltage: 12 V, no_load_speed: 24 rad/s, stall_torque: 3 N*m, no_load_current: 0 A, "
    "stall_current: 6 A, rotor_inertia: 2e-4 kg*m^2, gear_ratio: 10}"
)
HOIST = Case(
    "hoist: DC motor, gear of 10, drum of 20 mm, 0.5 kg",
    LINEAR + " and statics; the weight on its drum as a steady torque m g r and an inertia m r^2",
    "speed after 12 time constants of the motor with its load",
    bench(
        0.5 * 0.02**2,
        f"m: {{joint: shaft, motor: {{{_GEARED}}}}}, w: {{joint: shaft, motor: {{steady: "
        "{torque: 0.0981 N*m}}, reverse: true}",
        "for: 2 s",
    ),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        relative(
            "motor speed", "rad/s", 232.152, lambda o: 10 * o.rate("shaft")[-1], bullet=1e-3, mujoco=1e-4
        ),
        relative(
            "lift speed", "m/s", 0.464304, lambda o: 0.02 * o.rate("shaft")[-1], bullet=1e-3, mujoco=1e-4
        ),
    ),
)

DRUM = Case(
    "weight on a cord around a drum",
    "elementary mechanics: a = m g r^2 / (J + m r^2), cord m (g - a); the weight as torque and inertia at the drum",
    "a constant acceleration, exact for any integrator; mujoco's inertias are raised by a billionth",
    bench(1e-3 + 0.5 * 0.02**2, "w: {joint: shaft, motor: {steady: {torque: 0.0981 N*m}}}", "for: 0.4 s"),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        relative(
            "acceleration",
            "m/s^2",
            1.635,
            lambda o: 0.02 * float(o.recording.track.spin_acceleration[-1, o.body("wheel"), 1]),
            bullet=1e-8,
            mujoco=1e-8,
        ),
        relative(
            "force in the cord",
            "N",
            4.0875,
            lambda o: (
                0.5 * (9.81 - 0.02 * float(o.recording.track.spin_acceleration[-1, o.body("wheel"), 1]))
            ),
            bullet=1e-8,
            mujoco=1e-8,
        ),
    ),
)

_J1, _J2, _JR, _N = 3e-3, 2e-3, 4e-5, 5
_MOVED = np.linalg.solve([[_J1 + _J2, _J2 + _N * _JR], [_J2 + _N * _JR, _J2 + _N**2 * _JR]], [0.0, 0.3])
CARRIED = Case(
    "rotor of a motor that itself moves",
    "Lagrange's equations of two bodies and a geared rotor on one axis: (J1 + J2) a1 + (J2 + N Jr) q'' = 0, "
    "(J2 + N Jr) a1 + (J2 + N^2 Jr) q'' = T; the rotor's N Jr cross term is what a diagonal armature leaves out",
    "accelerations of the first instant, half a step late on bullet: 1e-4; the ratio of the speeds later is the "
    "conservation of angular momentum",
    f"""
rig: 1
name: Carried
bodies:
  post: {{fixed: true}}
  one: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [{", ".join([f"{_J1} kg*m^2"] * 3)}]}}]}}
  two: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [{", ".join([f"{_J2} kg*m^2"] * 3)}]}}]}}
joints:
  base: {{pin: [post, one], at: 0 0 0 mm, axis: y}}
  driven: {{pin: [one, two], at: 0 0 0 mm, axis: y}}
motors: {{m: {{joint: driven, motor: {{{MOTOR % (_JR, _N)}}}}}}}
run: {{for: 0.04 s, gravity: 9.81 m/s^2}}
""",
    {"bullet": 1e-4, "mujoco": 1e-4},
    (
        relative(
            "acceleration of the carrier",
            "rad/s^2",
            float(_MOVED[0]),
            lambda o: float(o.at(0.0, o.recording.track.spin_acceleration[:, o.body("one")])[1]),
            bullet=1e-4,
            mujoco=1e-6,
        ),
        relative(
            "speed of the carrier over that of the joint",
            "-",
            -(_J2 + _N * _JR) / (_J1 + _J2),
            lambda o: float(o.at(0.03, o.rate("base")) / o.at(0.03, o.rate("driven"))),
            bullet=1e-4,
            mujoco=1e-6,
        ),
        relative(
            "acceleration of the driven body",
            "rad/s^2",
            float(_MOVED.sum()),
            lambda o: float(o.at(0.0, o.recording.track.spin_acceleration[:, o.body("two")])[1]),
            bullet=1e-4,
            mujoco=1e-6,
        ),
    ),
)

# A lead screw for 300 N at 22.5 mm/s that runs 30 mm/s free, 0.9 A idle and 4 A at 300 N, switched off under 12 kg.
_SCREW_LINE = actuator.line(actuator.LinearActuator(12.0, 300.0, 0.03, 0.0225, 0.9, 4.0, 0.2))
_RUBS = 0.9 * 300.0 / 3.1
_ROTOR = RUN_UP * _SCREW_LINE.torque_constant * _SCREW_LINE.speed_constant / _SCREW_LINE.resistance
_STIFF = 1e5


def screw(locks: str) -> str:
    """12 kg on a rail, standing on a lead screw that is switched off."""
    return f"""
rig: 1
name: Screw
points: {{low: 0 0 0 mm, high: 0 0 400 mm}}
bodies:
  post: {{fixed: true}}
  sled: {{parts: [{{lump: 12 kg, at: high}}]}}
joints: {{rail: {{slider: [post, sled], at: high, along: z}}}}
pushers:
  p:
    between: [post, sled]
    from: low
    to: high
    motor:
      linear:
        {{rated_voltage: 12 V, force: 300 N, no_load_speed: 30 mm/s, loaded_speed: 22.5 mm/s, idle_current: 0.9 A,
        full_load_current: 4 A, stroke: 200 mm, self_locking: {locks}, stiffness: {_STIFF} N/m}}
    supply: 12 V 20 A
    extension: 100 mm
    on: [5 s to 6 s]
run: {{for: 1.04 s, gravity: 9.81 m/s^2}}
"""


SELF_LOCKING = Case(
    "overhauling load on a self-locking screw",
    "statics: it stands, sunk by the give of the screw's brackets, m g / k",
    "the swing of the start has died down",
    screw("true"),
    {"bullet": 2.5e-4, "mujoco": 2.5e-4},
    (
        relative(
            "sag", "m", 12 * 9.81 / _STIFF, lambda o: -o.coordinate("rail")[-1], bullet=1e-6, mujoco=1e-6
        ),
        absolute("speed", "m/s", 0.0, lambda o: o.rate("rail")[-1], bullet=1e-9, mujoco=1e-9),
    ),
)

RUNS_BACK = Case(
    "overhauling load on a screw that doesn't lock",
    "Newton's second law: a = (m g - F) / (m + M), with the screw's own friction F (its idle current) and rotor M",
    "the mean over 0.5 s, after the swing of the start has died down",
    screw("false"),
    {"bullet": 2.5e-4, "mujoco": 2.5e-4},
    (
        relative(
            "acceleration",
            "m/s^2",
            (12 * 9.81 - _RUBS) / (12 + _ROTOR),
            lambda o: float(o.at(0.5, o.rate("rail")) - o.at(1.0, o.rate("rail"))) / 0.5,
            bullet=1e-6,
            mujoco=1e-6,
        ),
    ),
)

CASES = (RUN_UP_CASE, LOADED, HOIST, DRUM, CARRIED, SELF_LOCKING, RUNS_BACK)
