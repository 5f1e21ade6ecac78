"""A linear actuator by its screw against the closed forms of power screws (Shigley)."""

from __future__ import annotations

from math import atan, cos, pi, radians, tan

import pytest

from simprop.drives.kinds import PUSHERS
from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

SPINDLE = (
    "spindle: {rated_voltage: 12 V, spindle_speed: 600 rpm, stall_torque: 0.8 N*m, idle_current: 0.5 A, "
    "stall_current: 8 A, lead: LEAD mm, diameter: 10 mm, starts: STARTS, friction: 0.15, force: 120 N, stroke: 150 mm}"
)
LIFT = """
rig: 1
name: Lift
bodies:
  frame: {fixed: true}
  load: {parts: [{lump: 10 kg, at: 0 0 500 mm, inertia: 1e-2 1e-2 1e-2 kg*m^2}]}
joints: {rail: {slider: [frame, load], at: 0 0 500 mm, along: z}}
pushers:
  ram:
    between: [frame, load]
    from: 0 0 0 mm
    to: 0 0 500 mm
    extension: 50 mm
    supply: 12 V 20 A
    on: [0 s to 1 s]
    motor: {MOTOR}
run: {for: 1.5 s}
"""


def rig(lead, starts):
    motor = SPINDLE.replace("LEAD", str(lead)).replace("STARTS", str(starts))
    return parse_rig(LIFT.replace("MOTOR", motor))


def levers(lead, starts):
    mean = (10 - 0.5 * lead / starts) * 1e-3
    angle = atan(lead * 1e-3 / (pi * mean))
    flank = cos(atan(tan(radians(15)) * cos(angle)))
    return mean / 2 * (flank * tan(angle) + 0.15) / (flank - 0.15 * tan(angle)), flank * tan(angle) > 0.15


@pytest.mark.parametrize(("lead", "starts"), [(2, 1), (8, 4), (20, 8)])
def test_force_speed_and_holding_follow_from_the_screw(lead, starts):
    """F = T / (r (mu sec a + tan l) / (1 - mu tan l sec a)); v = n lead; it holds where tan l cos a < mu."""
    spec = rig(lead, starts).pushers["ram"].figures
    up, runs_back = levers(lead, starts)
    assert spec.most == pytest.approx(0.8 / up, rel=1e-9)
    assert spec.able().speed == pytest.approx(10 * lead * 1e-3, rel=1e-9)
    assert spec.locks == (not runs_back)


@pytest.mark.parametrize("engine", ["mujoco", "exudyn"])
def test_it_lifts_at_the_speed_of_its_line(engine):
    """Under m g the spindle turns at n0 (1 - m g up / T0); switched off the fine screw stands."""
    pytest.importorskip(engine)
    up, _ = levers(2, 1)
    run = simulate(rig(2, 1), engine, settle=False, step=5e-4)
    track = run.track
    late = (track.time > 0.5) & (track.time < 0.95)
    pace = track.velocity[late, 1, 2].mean()
    assert pace == pytest.approx(10 * 2e-3 * (1 - 10 * 9.80665 * up / 0.8), rel=5e-3)
    assert abs(track.velocity[-1, 1, 2]) < 1e-4
    assert "holds by itself" in " ".join(run.laws.notes)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("force: 120 N", "force: 2000 N", "its motor stalls at"),
        ("lead: 2 mm", "lead: 30 mm", "doesn't fit"),
        ("stall_current: 8 A", "stall_current: 0.2 A", "more current"),
    ],
)
def test_what_can_t_be_a_spindle(old, new, said):
    text = LIFT.replace("MOTOR", SPINDLE.replace("LEAD", "2").replace("STARTS", "1"))
    assert old in text
    with pytest.raises(RigError) as caught:
        parse_rig(text.replace(old, new))
    assert said in str(caught.value)
    assert "pushers.ram" in str(caught.value)


def test_it_is_a_kind_of_pusher():
    assert "spindle" in PUSHERS.names
