"""Runs that are very short, very long, or in which hardly anything can move: a right answer, or one clear error."""

from __future__ import annotations

import math

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import EngineError, RigError
from simprop.rig.load import parse_rig
from simprop.run.once import MOST_BYTES, most_steps, stiffest
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.robust.guarded import guarded

G = 9.80665
ROD = "{parts: [{slender: 1 kg, from: 0 0 0 mm, to: 300 0 0 mm}]}"


def rig(bodies: str, rest: str, run: str = "for: 0.2 s") -> str:
    return f"rig: 1\nname: Odd\nbodies: {{f: {{fixed: true}}, {bodies}}}\n{rest}\nrun: {{{run}}}\n"


def run(text: str, settle: bool = True) -> Run:
    return simulate(parse_rig(text), "mujoco", settle=settle)


def peak(found: Run, joint: str) -> float:
    return next(force.value for force, _ in found.loads.joints if force.name == joint)


def test_a_millisecond() -> None:
    """A level rod let go bears m g / 4 at its pin (uniform rod about its end, textbook)."""
    found = run(rig(f"a: {ROD}", "joints: {h: {pin: [f, a], at: 0 0 0 mm, axis: y}}", "for: 1 ms"))
    assert peak(found, "h") == pytest.approx(G / 4, rel=1e-3)


def test_nothing_moves() -> None:
    text = rig(
        "a: {parts: [{slender: 1 kg, from: 0 0 0 mm, to: 0 0 -300 mm}]}",
        "joints: {h: {pin: [f, a], at: 0 0 0 mm, axis: y}}",
    )
    found = run(text)
    assert peak(found, "h") == pytest.approx(G, rel=1e-9)
    assert found.loads.energy.share is None  # nothing was exchanged: not computed, and not 0


def test_all_is_fixed() -> None:
    found = run(
        "rig: 1\nname: Post\nbodies: {f: {fixed: true, parts: [{lump: 1 kg, at: 0 0 0 mm}]}}\nrun: {for: 0.1 s}\n"
    )
    assert found.loads.worst is None
    assert found.loads.joints == ()


def test_fastened_together() -> None:
    found = run(rig(f"a: {ROD}", "joints: {h: {fixed: [f, a], at: 0 0 0 mm}}"))
    force, moment = found.loads.joints[0]
    assert (force.value, moment.value) == pytest.approx((G, G * 0.15), rel=1e-6)


def test_locked_by_two_pins() -> None:
    """Each pin at an end of a level rod bears half of its weight (beam on two supports, textbook)."""
    joints = "joints: {h: {pin: [f, a], at: 0 0 0 mm, axis: y}, k: {pin: [f, a], at: 300 0 0 mm, axis: y}}"
    assert assemble(parse_rig(rig(f"a: {ROD}", joints))).mobility == 0
    found = run(rig(f"a: {ROD}", joints))
    assert (peak(found, "h"), peak(found, "k")) == pytest.approx((G / 2, G / 2), rel=1e-3)


def test_jammed() -> None:
    """A weight 0.3 m beside a guide of 20 mm: it locks where mu > b / 2e = 0.033 (drawer rule)."""
    body = "a: {parts: [{lump: 2 kg, at: 300 0 0 mm}]}"
    found = run(
        rig(body, "joints: {h: {slider: [f, a], at: 0 0 0 mm, along: z, bearing: 20 mm, friction: 0.9}}")
    )
    assert float(np.abs(found.track.coordinate).max()) < 1e-4
    assert any("BINDS" in w or "locks" in w for w in map(str, found.cautions)) or found.binding[0].margin < 1


def test_it_falls_for_ever() -> None:
    found = run(rig("a: {parts: [{lump: 1 kg, at: 0 0 1000 mm}]}", "", "for: 5 s"), settle=False)
    place, time = found.track.position[:, 1, 2], found.track.time
    assert place[-1] == pytest.approx(1.0 - G * time[-1] ** 2 / 2, rel=1e-6)
    assert any("falls for ever" in note for note in found.assembly.notes)


IN_LINE = """rig: 1
name: Parallelogram in line
bodies:
  f: {fixed: true}
  a: {parts: [{slender: 0.1 kg, from: 0 0 0 mm, to: 50 0 0 mm}]}
  b: {parts: [{slender: 0.3 kg, from: 50 0 0 mm, to: 250 0 0 mm}]}
  c: {parts: [{slender: 0.1 kg, from: 200 0 0 mm, to: 250 0 0 mm}]}
joints:
  o: {pin: [f, a], at: 0 0 0 mm, axis: y}
  p: {pin: [a, b], at: 50 0 0 mm, axis: y}
  q: {pin: [b, c], at: 250 0 0 mm, axis: y}
  r: {pin: [f, c], at: 200 0 0 mm, axis: y}
motors: {m: {joint: o, motor: {steady: {torque: 0.3 N*m}}}}
run: {for: 0.3 s}
"""


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_in_line_at_the_start(engine: str) -> None:
    """Where it may go on either way it ends soon, with loads or with an error that names the time."""
    if engine == "bullet":
        pytest.importorskip("pybullet")

    def case() -> str:
        try:
            found = simulate(parse_rig(IN_LINE), engine)
        except EngineError as error:
            return f"refused: {error}"
        return f"peak {max(force.value for force, _ in found.loads.joints):.3g} N"

    (outcome,) = guarded([case])
    assert outcome.ended == "well", outcome
    assert str(outcome.value).startswith(("peak", "refused")), outcome


BALL = "a: {{parts: [{{ball: 100 mm, of: rubber, mass: 1 kg, at: 0 0 {height} mm}}]}}"
FLOOR = (
    "contacts: {{c: {{ball: a, at: 0 0 {height} mm, diameter: 100 mm, friction: 0.3, stiffness: {rate}}}}}"
)


def test_a_contact_that_starts_inside_the_floor_is_refused() -> None:
    text = rig(BALL.format(height=30), FLOOR.format(height=30, rate="30 kN/m"))
    with pytest.raises(RigError, match="20 mm inside what it touches") as caught:
        actuate(assemble(parse_rig(text)))
    assert [(f.field, f.line is not None) for f in caught.value.faults] == [("contacts.c", True)]


def test_a_contact_that_carries_its_weight_at_the_start_stands() -> None:
    height = 50 - 1000 * G / 30e3
    found = run(rig(BALL.format(height=height), FLOOR.format(height=height, rate="30 kN/m")))
    assert found.loads.contacts[0].value == pytest.approx(G, rel=1e-6)


PIN = "joints: {h: {pin: [f, a], at: 0 0 0 mm, axis: y}}"
STIFF = "springs: {s: {two_way: [f, a], from: 0 0 900 mm, to: 0 0 0 mm, rate: 1e12 N/m, free_length: 900 mm}}"
LONG = {
    "a day": rig(f"a: {ROD}", PIN, "for: 86400 s"),
    "fine steps": rig(f"a: {ROD}", PIN, "for: 9 s, step: 0.1 us"),
    "stiff": rig(f"a: {ROD}", STIFF, "for: 9 s"),
}


@pytest.mark.parametrize("name", LONG)
@pytest.mark.parametrize("settle", [True, False])
def test_more_steps_than_can_be_held_are_refused_at_once(name: str, settle: bool) -> None:
    with pytest.raises(EngineError, match=r"run\.for: .* steps") as caught:
        run(LONG[name], settle)
    assert name != "fine steps" or "lengthen run.step" in str(caught.value)
    assert name != "stiff" or "soften spring 's', which asks" in str(caught.value)


def test_the_record_of_a_run_stays_below_its_limit() -> None:
    found = run(
        rig(f"a: {ROD}", "joints: {h: {pin: [f, a], at: 0 0 0 mm, axis: y}}", "for: 0.5 s"), settle=False
    )
    track = found.track
    held = sum(v.nbytes for v in vars(track).values() if isinstance(v, np.ndarray)) / len(track.time)
    steps = most_steps(found.assembly, found.recording.laws)
    assert steps * held <= 1.05 * MOST_BYTES


def test_a_spring_at_the_end_of_a_hinged_rod_moves_a_third_of_its_mass() -> None:
    """m / 3 at the end of a uniform rod about its other end (I = m L^2 / 3, textbook), not m."""
    text = rig(
        f"a: {ROD}",
        "joints: {h: {pin: [f, a], at: 0 0 0 mm, axis: y}}\n"
        "springs: {s: {two_way: [f, a], from: 300 0 400 mm, to: 300 0 0 mm, rate: 300 N/m, free_length: 400 mm}}",
    )
    assembly = assemble(parse_rig(text))
    assert stiffest(assembly, actuate(assembly)) == pytest.approx(math.sqrt(300 / (1 / 3)), rel=1e-6)
