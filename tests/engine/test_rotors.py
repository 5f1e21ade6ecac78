"""Rotors of motors on both engines against Lagrange's equations, also in a body that is lighter than its rotor.

Source: Lagrange's equations of two bodies and a geared rotor on one axis, as in the validation table:
(J1 + J2) a1 + (J2 + N Jr) q'' = 0 and (J2 + N Jr) a1 + (J2 + N^2 Jr) q'' = T, J1 with the rotor at rest in it.
"""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.engine.acting.rotors import rotors
from simprop.engine.choose import engine as choose
from simprop.loads.joints import joint_loads
from simprop.recording import Recording
from simprop.rig.load import parse_rig

STALL = 0.3
JR, N, J2 = 4e-5, 5.0, 2e-3
engines = pytest.mark.parametrize("engine", ["mujoco", "bullet"])


def two(own, pair="one, two", first="one: {parts: [%s]}", speeds="", run="for: 0.05 s, gravity: 0 m/s^2"):
    moments = ", ".join([f"{own} kg*m^2"] * 3)
    lump = f"{{lump: 10 g, at: 0 0 0 mm, inertia: [{moments}]}}"
    return assemble(
        parse_rig(f"""
rig: 1
name: Carried
bodies:
  post: {{fixed: true}}
  {first % lump}
  two: {{parts: [{{lump: 1 kg, at: 0 0 0 mm, inertia: [{J2} kg*m^2, {J2} kg*m^2, {J2} kg*m^2]}}]}}
joints:
  base: {{pin: [post, one], at: 0 0 0 mm, axis: y}}
  driven: {{pin: [{pair}], at: 0 0 0 mm, axis: y}}
motors:
  m:
    joint: driven
    motor:
      dc: {{rated_voltage: 12 V, no_load_speed: 240 rad/s, stall_torque: {STALL} N*m, no_load_current: 0 A,
        stall_current: 6 A, rotor_inertia: {JR} kg*m^2, gear_ratio: {N:g}}}
run: {{{run}{speeds}}}
""")
    )


def ran(prop, engine, step=1e-5, steps=20):
    return choose(engine).run(prop, actuate(prop), step, steps)


def accelerations(track):
    """Of both bodies about y at time 0, from the first rows."""
    values = track.spin_acceleration[:, 1:, 1]
    line = np.polyfit(track.time, values, 1)
    return line[1]


@engines
@pytest.mark.parametrize(("own", "whole"), [(3e-3, 3e-3), (1e-4, 1e-4), (1e-5, 1e-5 + JR), (1e-9, 1e-9 + JR)])
def test_a_carrier_heavier_and_lighter_than_its_rotor(engine, own, whole):
    a1, q = np.linalg.solve([[whole + J2, J2 + N * JR], [J2 + N * JR, J2 + N**2 * JR]], [0.0, STALL])
    found = accelerations(ran(two(own), engine, step=1e-6))
    assert found == pytest.approx([a1, a1 + q], rel=1e-4)


@engines
def test_a_rotor_in_the_outer_body(engine):
    """The joint named the other way round: the motor sits in the second body and drives against the first."""
    own = 3e-3
    # The carrier is body two with J2 (its rotor in it), turning at a2; the axis counts one against two.
    a2, q = np.linalg.solve([[J2 + own, own + N * JR], [own + N * JR, own + N**2 * JR]], [0.0, STALL])
    found = accelerations(ran(two(own, pair="two, one"), engine, step=1e-6))
    assert found == pytest.approx([a2 + q, a2], rel=1e-4)


@engines
@pytest.mark.parametrize("own", [3e-3, 1e-5])
def test_energy_and_loads_agree_with_the_rotor(engine, own):
    prop = two(own)
    track = ran(prop, engine, step=1e-5, steps=3000)
    loads = joint_loads(Recording(prop, actuate(prop), engine, track))
    assert loads.energy.share is not None
    assert loads.energy.share < 2e-4
    assert loads.motors[0].difference < 1e-3  # what the motion tells of the motor is what its law gave


def test_engines_agree_on_a_light_body():
    """A motor of 4e-5 kg*m^2 on a body of 1e-5: the turn after 50 ms."""
    ends = [float(ran(two(1e-5), e, step=1e-4, steps=500).coordinate[-1, 1]) for e in ("mujoco", "bullet")]
    rates = [float(ran(two(1e-5), e, step=1e-4, steps=500).rate[-1, 1]) for e in ("mujoco", "bullet")]
    assert ends[1] == pytest.approx(
        ends[0] + 0.5e-4 * rates[0], rel=1e-3
    )  # bullet's rows lie half a step later


def test_what_is_taken_out_is_never_more_than_there_is():
    for own in (3e-3, JR, 1e-5):
        prop = two(own)
        found = rotors(prop, actuate(prop).motors)
        assert float(np.linalg.eigvalsh(found.bare[1])[0]) >= -1e-12
        assert (found.whole[1] - found.bare[1])[1, 1] == pytest.approx(JR)
