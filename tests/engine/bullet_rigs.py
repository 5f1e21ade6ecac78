"""Props that the engine tests run, as rig text; planar ones can be turned in space and moved along their pins."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial.transform import Rotation

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.bullet.engine import BulletEngine
from simprop.engine.world import Trajectory
from simprop.rig.load import parse_rig

UPRIGHT = Rotation.identity()


def run(prop: str | Assembly, step: float, duration: float) -> tuple[Assembly, Actuation, Trajectory]:
    """Assemble and run."""
    assembly = assemble(parse_rig(prop)) if isinstance(prop, str) else prop
    actuation = actuate(assembly)
    return assembly, actuation, BulletEngine().run(assembly, actuation, step, round(duration / step))


def axis_of(assembly: Assembly, joint: str, motion: str = "turn") -> int:
    """Index of an axis."""
    return next(
        i
        for i, a in enumerate(assembly.axes)
        if assembly.joints[a.joint].name == joint and a.motion == motion
    )


def point(place: Sequence[float] | np.ndarray) -> str:
    """A point as rig text."""
    return " ".join(f"{v:.15g}" for v in place) + " m"


def direction(unit: Sequence[float] | np.ndarray) -> str:
    """A direction as rig text."""
    return " ".join(f"{v:.15g}" for v in unit)


# Four-bar 40/120/80/100 mm at crank angle 40 deg: coupler and rocker angle of the open branch, rad (Norton, Design of
# Machinery, dimensions from memory; angles recomputed).
CRANK, COUPLER, ROCKER, GROUND = 0.04, 0.12, 0.08, 0.10
CRANK_ANGLE, COUPLER_ANGLE = np.radians(40.0), 0.3542648858379


def four_bar(
    turned: Rotation = UPRIGHT,
    moved: Sequence[float] = (0.0, 0.0, 0.0),
    along: Sequence[float] = (0.0, 0.0, 0.0, 0.0),
    torque: float = 0.05,
    friction: Mapping[str, float] | None = None,
    extra: str = "",
) -> str:
    """Slender bars of 40, 120 and 80 g, pins O2, A, B, O4; x along the ground, gravity 9.81 down the sheet."""
    sheet = [
        np.zeros(3),
        CRANK * np.array([np.cos(CRANK_ANGLE), 0.0, np.sin(CRANK_ANGLE)]),
        np.zeros(3),
        np.array([GROUND, 0.0, 0.0]),
    ]
    sheet[2] = sheet[1] + COUPLER * np.array([np.cos(COUPLER_ANGLE), 0.0, np.sin(COUPLER_ANGLE)])
    ends = [turned.apply(p) + moved for p in sheet]
    pins = [turned.apply(p + np.array([0.0, off, 0.0])) + moved for p, off in zip(sheet, along, strict=True)]
    axis, down = direction(turned.apply([0.0, -1.0, 0.0])), turned.apply([0.0, 0.0, -9.81])
    bodies = {"O2": "stand, crank", "A": "crank, coupler", "B": "coupler, rocker", "O4": "stand, rocker"}
    joints = "\n".join(
        f"  {name}: {{pin: [{pair}], at: {point(p)}, axis: {axis}, friction: {(friction or {}).get(name, 0)} N*m}}"
        for (name, pair), p in zip(bodies.items(), pins, strict=True)
    )
    return f"""
rig: 1
name: Four-bar
bodies:
  stand: {{fixed: true}}
  crank: {{parts: [{{slender: 40 g, from: {point(ends[0])}, to: {point(ends[1])}}}]}}
  coupler: {{parts: [{{slender: 120 g, from: {point(ends[1])}, to: {point(ends[2])}}}]}}
  rocker: {{parts: [{{slender: 80 g, from: {point(ends[2])}, to: {point(ends[3])}}}]}}
joints:
{joints}
motors: {{drive: {{joint: O2, motor: {{steady: {{torque: {torque} N*m}}}}}}}}
{extra}
run: {{for: 1 s, gravity: [{down[0]:.15g} m/s^2, {down[1]:.15g} m/s^2, {down[2]:.15g} m/s^2]}}
"""


def wheel(inertia: float, joint: str = "", motors: str = "{}", run: str = "{for: 1 s}") -> str:
    """A wheel on a level shaft."""
    moments = ", ".join([f"{inertia} kg*m^2"] * 3)
    return f"""
rig: 1
name: Wheel
bodies:
  stand: {{fixed: true}}
  wheel: {{parts: [{{lump: 0.1 kg, at: 0 0 0 mm, inertia: [{moments}]}}]}}
joints: {{shaft: {{pin: [stand, wheel], at: 0 0 0 mm, axis: y{joint}}}}}
motors: {motors}
run: {run}
"""


def slider_crank(turned: Rotation = UPRIGHT) -> str:
    """Crank 50 mm, rod 200 mm and 0.1 kg, slider 0.3 kg, at 1200 rpm without gravity, from its outer dead centre."""
    o, a, w = (point(turned.apply(p)) for p in ([0, 0, 0], [0.05, 0, 0], [0.25, 0, 0]))
    pin, along = direction(turned.apply([0, -1, 0])), direction(turned.apply([1, 0, 0]))
    lump = "inertia: [1e-4 kg*m^2, 1e-4 kg*m^2, 1e-4 kg*m^2]"
    drive = "{synchronous: {speed: 1200 rpm, pull_out_torque: 1000 N*m, run_up: 0 s, reverses: false}}"
    return f"""
rig: 1
name: Slider-crank
bodies:
  stand: {{fixed: true}}
  crank: {{parts: [{{lump: 0.2 kg, at: {o}, {lump}}}]}}
  rod: {{parts: [{{slender: 0.1 kg, from: {a}, to: {w}}}]}}
  slider: {{parts: [{{lump: 0.3 kg, at: {w}, {lump}}}]}}
joints:
  shaft: {{pin: [stand, crank], at: {o}, axis: {pin}}}
  crankpin: {{pin: [crank, rod], at: {a}, axis: {pin}}}
  wrist: {{pin: [rod, slider], at: {w}, axis: {pin}}}
  guide: {{slider: [stand, slider], at: {w}, along: {along}}}
motors: {{drive: {{joint: shaft, motor: {drive}}}}}
run: {{for: 0.1 s, gravity: 0 m/s^2, start_speeds: {{shaft: 1200 rpm}}}}
"""
