"""From a rig's motors, springs, stops and friction to laws on axes, and their evaluation."""

from __future__ import annotations

from math import inf, isnan, nan, pi

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.acting.actuator import Actuator, line_tension
from simprop.errors import RigError
from simprop.laws.dc import DcLine
from simprop.rig.load import parse_rig

WIPER = """{dc: {rated_voltage: 12 V, no_load_speed: 45 rpm, stall_torque: 15 N*m, no_load_current: 1.5 A,
  stall_current: 15 A%s}}"""


def prop(joint: str = "", rest: str = "") -> Actuation:
    rig = parse_rig(f"""
rig: 1
name: Arm
bodies:
  post: {{fixed: true}}
  arm: {{parts: [{{slender: 0.3 kg, from: 0 0 0 mm, to: 300 0 0 mm}}]}}
  tube: {{parts: [{{lump: 0.5 kg, at: 100 0 400 mm}}]}}
joints:
  hook: {{pin: [post, arm], at: 0 0 0 mm, axis: y{joint}}}
  guide: {{cylindrical: [post, tube], at: 100 0 400 mm, axis: z, friction: 2 N, turning_friction: 0.3 N*m,
    viscous: 5 N*s/m, turning_viscous: 0.1 N*m*s/rad}}
{rest}
run: {{for: 1 s}}
""")
    return actuate(assemble(rig))


def test_friction_of_joints_and_of_the_motor_add_up() -> None:
    laws = prop(
        ", friction: 0.2 N*m, viscous: 0.05 N*m*s/rad", f"motors: {{m: {{joint: hook, motor: {WIPER % ''}}}}}"
    )
    # kt I0 = 15 / 13.5 * 1.5 N*m.
    assert laws.friction == pytest.approx([0.2 + 1.5 * 15 / 13.5, 2.0, 0.3])
    assert laws.viscous == pytest.approx([0.05, 5.0, 0.1])


def test_motor_at_its_rated_voltage_with_an_assumed_rotor() -> None:
    laws = prop(rest=f"motors: {{m: {{joint: hook, motor: {WIPER % ''}}}}}")
    motor = laws.motors[0]
    assert isinstance(motor.law, DcLine)
    assert (motor.voltage, motor.current_limit, motor.windows) == (12.0, inf, None)
    # 20 ms * kt k / R, by hand: kt = 1.1111, k = 10.8 / 4.712, R = 0.8.
    assert motor.reflected_inertia == pytest.approx(0.02 * (15 / 13.5) * (10.8 / (45 * pi / 30)) / 0.8)
    assert sum("(assumed)" in note for note in laws.notes) == 2


def test_stated_rotor_is_seen_through_the_gear_squared() -> None:
    spec = WIPER % ", rotor_inertia: 2e-5 kg*m^2, gear_ratio: 50"
    motor = prop(
        rest=f"motors: {{m: {{joint: hook, supply: 5 V 2 A, reverse: true, motor: {spec}}}}}"
    ).motors[0]
    assert motor.reflected_inertia == pytest.approx(0.05)
    assert (motor.gear_ratio, motor.voltage, motor.current_limit, motor.sense) == (50.0, 5.0, 2.0, -1.0)


def test_stops_have_the_stiffness_of_their_pad_or_their_own() -> None:
    laws = prop(
        rest="""stops:
  soft: {pin_stop: hook, above: 60 deg}
  wood: {slide_stop: guide, below: -10 mm, of: wood}
  own: {slide_stop: guide, above: 10 mm, stiffness: 1000 N/m}
  both: {slide_stop: guide, above: 20 mm, stiffness: 1000 N/m, damping: 7 N*s/m}
"""
    )
    (axis, soft), (slide, wood), (_, own), (_, both) = laws.stops
    assert (axis, slide) == (0, 1)
    # Rubber 100 mm from the axis; inertia of the bar about its end m L^2 / 3 = 0.009 kg*m^2; loss 0.15.
    assert soft.stiffness == pytest.approx(0.1**2 * 4e4)
    assert soft.damping == pytest.approx(2 * 0.15 * np.sqrt(400 * 0.009))
    assert wood.damping == pytest.approx(2 * 0.10 * np.sqrt(wood.stiffness * 0.5))
    assert (own.stiffness, own.damping) == (1000.0, pytest.approx(2 * 0.15 * np.sqrt(1000 * 0.5)))
    assert (both.stiffness, both.damping) == (1000.0, 7.0)


def test_points_of_a_spring_are_in_their_bodies() -> None:
    coil = "{extension: [post, arm], from: 0 0 500 mm, to: 300 0 0 mm, rate: 100 N/m, free_length: 300 mm}"
    laws = prop(rest=f"springs: {{s: {coil}}}")
    line = laws.lines[0]
    assert line.second_point == pytest.approx([0.15, 0.0, 0.0])
    assert line_tension(laws, 0, 0.4, 0.0) == pytest.approx(10.0)


def test_unknown_names_and_double_drives() -> None:
    with pytest.raises(RigError, match=r"stops\.s\.of: .*did you mean 'rubber'"):
        prop(rest="stops: {s: {pin_stop: hook, above: 10 deg, of: ruber}}")
    drive = "{joint: hook, motor: {synchronous: {speed: 5 rpm, pull_out_torque: 1 N*m}}}"
    with pytest.raises(RigError, match="two synchronous motors"):
        prop(rest=f"motors: {{a: {drive}, b: {drive}}}")


def test_evaluation_of_torques() -> None:
    laws = prop(
        ", viscous: 0.05 N*m*s/rad",
        f"""motors: {{m: {{joint: hook, supply: 12 V 5 A, reverse: true, on: [0 s to 1 s], motor: {WIPER % ""}}}}}
springs: {{t: {{torsion: hook, rate: 2 N*m/rad, damping: 0.1 N*m*s/rad}}}}
stops: {{s: {{pin_stop: hook, above: 0.5 rad, stiffness: 100 N*m/rad, damping: 0 N*m*s/rad}}}}
""",
    )
    actuator = Actuator(laws)
    actuator.evaluate(0.5, [0.6, 0.0, 0.0], [0.4, 0.0, 0.0])
    # 5 A at 15 / 13.5 N*m/A, the other way; the supply folds its 12 V back to I R + k w.
    assert actuator.motor[0] == pytest.approx(-5 * 15 / 13.5)
    assert actuator.current == [5.0]
    assert actuator.voltage == pytest.approx([5 * 0.8 - 10.8 / (45 * pi / 30) * 0.4])
    assert (actuator.spring[0], actuator.stop[0]) == pytest.approx((-1.24, -10.0))
    assert actuator.damping[0] == pytest.approx(-0.02)
    actuator.evaluate(1.5, [0.0, 0.0, 0.0], [0.4, 0.0, 0.0])
    assert (actuator.motor[0], actuator.stop[0], actuator.current) == (0.0, 0.0, [0.0])
    # Open terminals show the voltage that the turning motor makes.
    assert actuator.voltage == pytest.approx([-10.8 / (45 * pi / 30) * 0.4])


def test_synchronous_motor_is_a_drive_that_turns_back_and_starts_anew() -> None:
    drive = "{synchronous: {speed: 0.5 rad/s, pull_out_torque: 3 N*m, current: 0.1 A}}"
    actuator = Actuator(
        prop(rest=f"motors: {{m: {{joint: hook, on: [0 s to 1 s, 2 s to 3 s], motor: {drive}}}}}")
    )
    directions = {}
    for n in range(300):
        actuator.evaluate(0.01 * n, [0.0] * 3, [0.0] * 3)
        directions[n] = actuator.held.get(0)
    assert directions[0] == (0.5, 3.0)
    assert directions[10] == (-0.5, 3.0)
    assert directions[150] is None
    assert directions[201] == (0.5, 3.0)
    assert actuator.current == [0.1]
    assert isnan(actuator.voltage[0])


def test_a_current_that_is_not_stated_is_not_zero() -> None:
    drive = "{synchronous: {speed: 0.5 rad/s, pull_out_torque: 3 N*m}}"
    actuator = Actuator(prop(rest=f"motors: {{m: {{joint: hook, motor: {drive}}}}}"))
    actuator.evaluate(0.0, [0.0] * 3, [0.0] * 3)
    assert np.array(actuator.current) == pytest.approx([nan], nan_ok=True)
