"""Whether rigid will do: how a body rings as held, and how far a motion swings it, by closed forms and by runs."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.loads.joints import all_peaks
from simprop.loads.ringing import RIGID, Ringing, likely, ringing
from simprop.report.ringing import judged, ringing_line
from simprop.rig.load import load_rig, parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.bending.rigs import STIFF, mast

RIGS = Path(__file__).parents[2] / "rigs"
TURNED = """
rig: 1
name: Turned mast
bodies:
  ground: {{fixed: true}}
  mast:
    {bends}
    parts:
      - {{pipe: 1/2 in PVC, from: 0 0 0 mm, to: {length} 0 0 mm}}
      - {{lump: 0.3 kg, at: {length} 0 0 mm}}
joints: {{foot: {{pin: [ground, mast], at: 0 0 0 mm, axis: z}}}}
motors:
  drive:
    joint: foot
    supply: 12 V
    motor: {{dc: {{rated_voltage: 12 V, no_load_speed: {speed} rpm, stall_torque: {torque} N*m, stall_current: 100 A,
      no_load_current: 0 A, rotor_inertia: {rotor} kg*m^2, gear_ratio: 1}}}}
run: {{for: 1.5 s, gravity: 0 m/s^2}}
"""


@cache
def rig_run(name: str, sets: tuple[tuple[str, str], ...] = ()) -> Run:
    return simulate(load_rig(RIGS / f"{name}.yaml", sets=dict(sets)), "exudyn", settle=False, step=5e-4)


def one(found: tuple[Ringing, ...], body: str) -> Ringing:
    return next(r for r in found if r.body == body)


def test_the_lowest_frequency_is_that_of_the_mast() -> None:
    assembly = assemble(parse_rig(mast(0.5, bends="false")))
    found = likely(assembly, actuate(assembly))
    # 3.5865 Hz with E I = 19.4435 N*m^2: frequency equation of a cantilever with a mass at its end, any text
    assert one(found, "mast").frequency == pytest.approx(3.586515 * np.sqrt(STIFF / 19.4435), rel=0.005)
    assert not one(found, "mast").rings


def test_a_torque_that_fades_swings_as_the_closed_form_says() -> None:
    """A heavy rotor is turned up by a straight line: its acceleration falls off as exp(-t / T)."""
    text = TURNED.format(bends="", length=700, speed=60, torque=40, rotor=1.0)
    run = simulate(parse_rig(text), "mujoco", settle=False)
    found = one(ringing(run.recording, run.loads.starting), "mast")
    rotor_and_mast = 1.0 + 0.3 * 0.7**2 + 0.157 * 0.7**2 / 3
    lasting = rotor_and_mast * (2 * np.pi) / 40.0
    omega = 2 * np.pi * found.frequency
    t = np.linspace(0.0, 4 / found.frequency, 20_000)
    rate, zeta = 1 / (omega * lasting), found.damping
    # x'' + 2 z w x' + w^2 x = w^2 exp(-t / T) from rest: particular part and the swing that meets the start
    steady = 1.0 / (1.0 + rate**2 - 2 * zeta * rate)
    damped = omega * np.sqrt(1 - zeta**2)
    swing = np.exp(-zeta * omega * t) * (
        np.cos(damped * t) + (zeta * omega - 1 / lasting) / damped * np.sin(damped * t)
    )
    exact = np.abs(steady * (np.exp(-t / lasting) - swing)).max()
    assert found.ratio == pytest.approx(exact, rel=0.03)


@pytest.mark.parametrize(
    ("body", "peak"), [("crank", "joint.crankpin.force"), ("rod", "joint.crankpin.force")]
)
def test_what_is_told_of_a_start_comes_true_when_the_body_bends(body: str, peak: str) -> None:
    rigid, bent = rig_run("gate_ghost"), rig_run("gate_ghost", ((f"bodies.{body}.bends", "true"),))
    told = one(ringing(rigid.recording, rigid.loads.starting), body)
    tops = [max(p.value for p in all_peaks(r.loads) if p.key.startswith(peak)) for r in (rigid, bent)]
    assert told.rings
    assert tops[1] / tops[0] == pytest.approx(told.ratio or 0.0, rel=0.10)
    before = one(likely(rigid.assembly, rigid.laws), body)
    assert before.ratio == pytest.approx(told.ratio, rel=0.05)


def test_where_rigid_will_do_bending_changes_little() -> None:
    rigid, bent = rig_run("wall_peeper"), rig_run("wall_peeper", (("bodies.mast.bends", "true"),))
    assert not one(ringing(rigid.recording, rigid.loads.starting), "mast").rings
    own = {p.key: p.value for p in all_peaks(bent.loads)}
    for pair in rigid.loads.joints:
        assert own[pair[0].key] == pytest.approx(pair[0].value, rel=RIGID)


def test_a_mast_that_is_turned_too_near_to_its_own_pace_rings() -> None:
    """The arm of the light ghost swings at 1.2 Hz while its crank turns at 0.75/s and more."""
    rigid, bent = (
        rig_run("gate_ghost_too_light"),
        rig_run("gate_ghost_too_light", (("bodies.arm.bends", "true"),)),
    )
    told = one(ringing(rigid.recording, rigid.loads.starting), "arm")
    assert told.rings
    assert told.frequency < 10 * told.turns
    pivots = [next(f.value for f, _ in r.loads.joints if f.name == "pivot") for r in (rigid, bent)]
    assert abs(pivots[1] / pivots[0] - 1) > RIGID


def test_what_bends_in_a_run_isn_t_judged() -> None:
    assert rig_run("wall_peeper", (("bodies.mast.bends", "true"),)).ringing == ()


def test_in_words() -> None:
    ring = Ringing("arm", 12.0, 0.02, 1.3, 0.5, "a start at 0.100 s")
    assert judged(ring).startswith("RINGS: a start at 0.100 s bends it 1.30 times")
    assert "arm (12.0 Hz)" in ringing_line([ring, replace(ring, body="leg", ratio=1.05)])
    assert "leg" not in ringing_line([ring, replace(ring, body="leg", ratio=1.05)])


def test_what_rings_only_while_a_motor_starts_is_told_apart() -> None:
    crank = Ringing("crank", 335.0, 0.02, 2.17, 0.75, "the start of drive")
    mast = Ringing("mast", 4.0, 0.02, 1.3, 0.75, "the motion at 1 s")
    assert ringing_line([crank]).startswith(
        "Rigid will do once the motors run; some ring only while one starts"
    )
    assert "crank (335 Hz) 2.2" in ringing_line([crank])
    both = ringing_line([crank, mast])
    assert both.startswith("Taken as rigid, but it rings: mast (4.00 Hz); for its loads")
    assert ". These ring only while one starts" in both
