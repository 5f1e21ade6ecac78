"""Friction, springs, stops, and what a rotating body does to its bearings."""

from __future__ import annotations

from math import atan, exp, log, pi, radians, sin, sqrt

import numpy as np

from tests.validation.harness import Case, Outcome, absolute, relative
from tests.validation.linkages import extreme

ROTOR_STOP = Case(
    "rotor stopped by dry friction",
    "Coulomb friction, elementary mechanics: t = J w / M, angle = J w^2 / (2 M)",
    "the stop is seen to the step of 1 ms; a constant brake is exact but for the step in which it stops",
    """
rig: 1
name: Rotor
bodies:
  post: {fixed: true}
  rotor: {parts: [{lump: 1 kg, at: 0 0 0 mm, inertia: [1e-3 kg*m^2, 1e-3 kg*m^2, 1e-3 kg*m^2]}]}
joints: {shaft: {pin: [post, rotor], at: 0 0 0 mm, axis: y, friction: 0.02 N*m}}
run: {for: 3 s, gravity: 9.81 m/s^2, start_speeds: {shaft: 50 rad/s}}
""",
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        absolute(
            "time to stop",
            "s",
            2.5,
            lambda o: float(o.time[np.argmax(o.rate("shaft") < 0.02)]),
            bullet=2e-3,
            mujoco=2e-3,
        ),
        relative(
            "angle to stop", "rad", 62.5, lambda o: float(o.coordinate("shaft")[-1]), bullet=1e-5, mujoco=1e-6
        ),
        absolute(
            "creep after the stop",
            "rad/s",
            0.0,
            lambda o: float(o.rate("shaft")[-1]),
            bullet=1e-6,
            mujoco=1e-9,
        ),
        relative(
            "friction while it turns",
            "N*m",
            -0.02,
            lambda o: float(o.at(1.0, o.applied("friction", "shaft"))),
            bullet=1e-6,
            mujoco=1e-6,
        ),
    ),
)

BLOCK = Case(
    "block stopped by dry friction",
    "Coulomb friction, elementary mechanics: s = v^2 / (2 mu g)",
    "as the rotor",
    """
rig: 1
name: Block
bodies:
  floor: {fixed: true}
  block: {parts: [{lump: 1 kg, at: 0 0 0 mm}]}
joints: {floor: {slider: [floor, block], at: 0 0 0 mm, along: x, friction: 2.943 N}}
run: {for: 1 s, gravity: 9.81 m/s^2, start_speeds: {floor: 2 m/s}}
""",
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        relative(
            "stopping distance",
            "m",
            0.67957866123,
            lambda o: float(o.coordinate("floor")[-1]),
            bullet=1e-5,
            mujoco=1e-5,
        ),
    ),
)

OSCILLATOR = Case(
    "mass on a spring with dry friction",
    "Coulomb friction, elementary mechanics: each half swing loses 2 F / k; it sticks after the tenth",
    "turning points by parabolas; the spot where it sticks shows every loss before it",
    """
rig: 1
name: Oscillator
points: {far: -200 0 0 mm}
bodies:
  floor: {fixed: true}
  block: {parts: [{lump: 0.25 kg, at: 0 0 0 mm}]}
joints: {floor: {slider: [floor, block], at: 0 0 0 mm, along: x, friction: 0.24525 N}}
springs: {s: {two_way: [floor, block], from: far, to: 0 0 0 mm, rate: 100 N/m, free_length: 150 mm}}
run: {for: 2 s, gravity: 9.81 m/s^2}
""",
    {"bullet": 2.5e-4, "mujoco": 2.5e-4},
    (
        absolute(
            "first turning point",
            "mm",
            -45.095,
            lambda o: 1e3 * extreme(o, _stretch(o), -1.0, 0.0)[1],
            bullet=0.002,
            mujoco=0.001,
        ),
        absolute(
            "sixth turning point",
            "mm",
            20.57,
            lambda o: 1e3 * extreme(o, _stretch(o), 1.0, 5.5 * pi / 20)[1],
            bullet=0.01,
            mujoco=0.01,
        ),
        absolute(
            "where it sticks", "mm", 0.95, lambda o: 1e3 * float(_stretch(o)[-1]), bullet=0.01, mujoco=0.01
        ),
    ),
)


def _stretch(out: Outcome) -> np.ndarray:
    return out.coordinate("floor") + 0.05


SPRING = """
rig: 1
name: Spring
bodies:
  ground: {{fixed: true}}
  bob: {{parts: [{{lump: 0.25 kg, at: 0 0 -100 mm}}]}}
joints: {{guide: {{slider: [ground, bob], at: 0 0 0 mm, along: z{damping}}}}}
springs:
  s: {{{kind}: [ground, bob], from: 0 0 0 mm, to: 0 0 -100 mm, rate: 100 N/m, free_length: 100 mm}}
run: {{for: {time}, gravity: 9.81 m/s^2}}
"""

SPRING_MASS = Case(
    "spring and mass",
    "elementary vibration theory",
    "bullet: phase error of the second order in (w h) = 0.02",
    SPRING.format(damping="", kind="extension", time="2 s"),
    {"bullet": 1e-3, "mujoco": 1e-3},
    (
        relative(
            "period",
            "s",
            0.314159265359,
            lambda o: (
                (
                    extreme(o, o.coordinate("guide"), -1.0, 1.3)[0]
                    - extreme(o, o.coordinate("guide"), -1.0, 0.01)[0]
                )
                / 4
            ),
            bullet=1e-4,
            mujoco=1e-6,
        ),
        relative(
            "stretch when let go",
            "m",
            0.04905,
            lambda o: -o.coordinate("guide").min(),
            bullet=1e-3,
            mujoco=1e-4,
        ),
        relative(
            "largest pull", "N", 4.905, lambda o: o.recording.track.line_force.max(), bullet=1e-3, mujoco=1e-4
        ),
    ),
)


def _decrement(out: Outcome) -> float:
    away = out.coordinate("guide") + 0.024525
    first, low = extreme(out, away, -1.0, 0.01)
    _, next_low = extreme(out, away, -1.0, first + 0.05)
    return log(low / next_low)


DAMPED = Case(
    "damped spring and mass",
    "elementary vibration theory: z = c / (2 sqrt(k m)) = 0.1, log decrement 2 pi z / sqrt(1 - z^2)",
    "damping in the guide; turning points by parabolas; after 5 s the swing has died down to 5e-5",
    SPRING.format(damping=", viscous: 1 N*s/m", kind="two_way", time="5 s"),
    {"bullet": 5e-4, "mujoco": 1e-3},
    (
        relative("log decrement", "-", 0.6314838833997, _decrement, bullet=1e-3, mujoco=1e-5),
        relative(
            "static stretch", "m", 0.024525, lambda o: -o.coordinate("guide")[-1], bullet=1e-4, mujoco=1e-4
        ),
    ),
)


# Schwager and Poeschel: a mass on a spring and damper that may not pull leaves with a share of its speed.
_M, _K, _C, _V = 0.5, 5e4, 40.0, 1.0
_BETA, _OMEGA = _C / (2 * _M), sqrt(_K / _M - (_C / (2 * _M)) ** 2)
_RESTITUTION = exp(-_BETA / _OMEGA * (pi - atan(2 * _BETA * _OMEGA / (_OMEGA**2 - _BETA**2))))


def _bounce_peak() -> float:
    t = np.linspace(0.0, pi / _OMEGA, 200_001)
    depth = _V / _OMEGA * np.exp(-_BETA * t) * np.sin(_OMEGA * t)
    speed = _V * np.exp(-_BETA * t) * (np.cos(_OMEGA * t) - _BETA / _OMEGA * np.sin(_OMEGA * t))
    return float((_K * depth + _C * speed).max())


BOUNCE = Case(
    "bounce on a springy stop with a loss",
    "Schwager and Poeschel, Granular Matter 9 (2007) 465 (from memory): linear spring and damper that never pulls; "
    "peak from the closed form of the damped spring",
    "the contact lasts 10 ms; its damper sets in at once, which costs any integrator part of a step of 0.05 ms: 0.2 %",
    f"""
rig: 1
name: Bounce
bodies:
  floor: {{fixed: true}}
  block: {{parts: [{{lump: {_M} kg, at: 0 0 0 mm}}]}}
joints: {{floor: {{slider: [floor, block], at: 0 0 0 mm, along: x}}}}
stops: {{wall: {{slide_stop: floor, above: 50 mm, stiffness: {_K} N/m, damping: {_C} N*s/m}}}}
run: {{for: 0.12 s, gravity: 9.81 m/s^2, start_speeds: {{floor: {_V} m/s}}}}
""",
    {"bullet": 5e-5, "mujoco": 5e-5},
    (
        relative(
            "rebound speed",
            "m/s",
            -_RESTITUTION * _V,
            lambda o: float(o.rate("floor")[-1]),
            bullet=2e-3,
            mujoco=2e-3,
        ),
        relative(
            "peak force",
            "N",
            _bounce_peak(),
            lambda o: -o.applied("stop", "floor").min(),
            bullet=2e-3,
            mujoco=2e-3,
        ),
    ),
)

ARM_ON_STOP = Case(
    "arm falls on a springy stop",
    "elementary mechanics: m g r sin(1.2 rad + d) = k d^2 / 2; pin force recomputed by integration",
    "a natural frequency of 89 rad/s, 700 steps a period: 1e-4",
    """
rig: 1
name: Arm
bodies:
  post: {fixed: true}
  arm: {parts: [{lump: 1 kg, at: 500 0 0 mm}]}
joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
stops: {bump: {pin_stop: hook, above: 1.2 rad, stiffness: 2000 N*m/rad, damping: 0 N*m*s/rad}}
run: {for: 0.6 s, gravity: 9.81 m/s^2}
""",
    {"bullet": 1e-4, "mujoco": 1e-4},
    (
        relative(
            "peak torque in the stop",
            "N*m",
            136.8567765641,
            lambda o: -o.applied("stop", "hook").min(),
            bullet=1e-4,
            mujoco=1e-4,
        ),
        relative(
            "peak force in the pin",
            "N",
            273.8737196351,
            lambda o: o.size("hook").max(),
            bullet=1e-4,
            mujoco=1e-4,
        ),
    ),
)

_TILT = radians(20)
_DISC = 0.5 * 0.08**2 / 4
SKEW = Case(
    "skew disc on a shaft",
    "Euler's equations: bearing moment w^2 (Ia - It) sin b cos b, and m w^2 e at the bearing for an offset e",
    "a thin disc of 0.5 kg, 80 mm radius, tilted by 20 deg and 2 mm off the shaft, at 50 rad/s without gravity",
    f"""
rig: 1
name: Skew disc
bodies:
  post: {{fixed: true}}
  disc:
    parts:
      - {{disc: 160 mm, thick: 0.01 mm, of: steel, mass: 0.5 kg, at: 0 2 0 mm,
         axis: {sin(_TILT)!r} 0 {sqrt(1 - sin(_TILT) ** 2)!r}}}
joints: {{shaft: {{pin: [post, disc], at: 0 0 0 mm, axis: z}}}}
run: {{for: 1 s, gravity: 0 m/s^2, start_speeds: {{shaft: 50 rad/s}}}}
""",
    {"bullet": 1e-4, "mujoco": 1e-3},
    (
        # The disc's centre lies in the shaft's cross plane, so the offset adds a force but no moment.
        relative(
            "bearing moment",
            "N*m",
            50**2 * _DISC * sin(2 * _TILT) / 2,
            lambda o: float(np.linalg.norm(o.moment("shaft"), axis=1).max()),
            bullet=1e-3,
            mujoco=1e-5,
        ),
        relative(
            "bearing force",
            "N",
            0.5 * 50**2 * 0.002,
            lambda o: o.size("shaft").max(),
            bullet=1e-3,
            mujoco=1e-5,
        ),
        relative(
            "moment about x at the start",
            "N*m",
            50**2 * _DISC * sin(2 * _TILT) / 2,
            lambda o: abs(float(o.at(0.0, o.moment("shaft"))[1])),
            bullet=1e-3,
            mujoco=1e-5,
        ),
    ),
)

GYRO = Case(
    "spinning wheel on a turning arm",
    "Euler's equations: a wheel of spin angular momentum H carried round at W puts H W across both axes on its pin",
    "W is held by the drive; the wheel spins about x on an arm that turns about z",
    """
rig: 1
name: Gyroscope
points: {o: 0 0 0 mm, hub: 100 0 0 mm}
bodies:
  post: {fixed: true}
  arm: {parts: [{slender: 0.1 kg, from: o, to: hub}]}
  wheel: {parts: [{lump: 0.2 kg, at: hub, inertia: [2e-4 kg*m^2, 1e-4 kg*m^2, 1e-4 kg*m^2]}]}
joints:
  o: {pin: [post, arm], at: o, axis: z}
  hub: {pin: [arm, wheel], at: hub, axis: x}
motors: {m: {joint: o, motor: {synchronous: {speed: 5 rad/s, pull_out_torque: 50 N*m, run_up: 0 s, reverses: false}}}}
run: {for: 0.4 s, gravity: 0 m/s^2, start_speeds: {o: 5 rad/s, hub: 300 rad/s}}
""",
    {"bullet": 1e-4, "mujoco": 1e-3},
    (
        relative(
            "gyroscopic moment on the wheel",
            "N*m",
            2e-4 * 300 * 5,
            lambda o: float(np.linalg.norm(o.at(0.2, o.moment("hub")))),
            bullet=1e-3,
            mujoco=1e-5,
        ),
        relative(
            "pull of the hub on the wheel",
            "N",
            0.2 * 25 * 0.1,
            lambda o: float(o.at(0.2, o.size("hub"))),
            bullet=1e-3,
            mujoco=1e-5,
        ),
    ),
)

CASES = (ROTOR_STOP, BLOCK, OSCILLATOR, SPRING_MASS, DAMPED, BOUNCE, ARM_ON_STOP, SKEW, GYRO)
