"""How hard a mechanism is to move where a spring hooks in, against textbook cases."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import EngineError
from simprop.rig.load import parse_rig
from simprop.run.once import stiffest
from simprop.run.simulate import simulate

SPRING = (
    "springs: {s: {two_way: [%s], from: %s, to: %s, rate: 900 N/m, free_length: 100 mm}}\nrun: {for: 1 s}"
)
ARM = (
    """
rig: 1
name: Rod on a pin, spring at its end
bodies:
  post: {fixed: true}
  arm: {parts: [{slender: 0.3 kg, from: 0 0 0 mm, to: 400 0 0 mm}]}
joints: {hook: {pin: [post, arm], at: 0 0 0 mm, axis: y}}
"""
    + SPRING % ("post, arm", "400 0 100 mm", "400 0 0 mm")
)
TWO = (
    """
rig: 1
name: Two blocks on one rail with a spring between
bodies:
  post: {fixed: true}
  one: {parts: [{lump: 1 kg, at: 0 0 0 mm}]}
  two: {parts: [{lump: 3 kg, at: 100 0 0 mm}]}
joints:
  left: {slider: [post, one], at: 0 0 0 mm, along: x}
  right: {slider: [post, two], at: 100 0 0 mm, along: x}
"""
    + SPRING % ("one, two", "0 0 0 mm", "100 0 0 mm")
)
DAMPED = """
rig: 1
name: Damper too strong for its sleeve
bodies:
  post: {fixed: true}
  sleeve: {parts: [{ball: 40 mm, mass: 3 kg, at: 0 0 0 mm}]}
  feather: {parts: [{slender: 2 g, from: 0 0 0 mm, to: 300 0 0 mm}]}
joints:
  guide: {slider: [post, sleeve], at: 0 0 0 mm, along: z}
  tip: {pin: [sleeve, feather], at: 0 0 0 mm, axis: y}
springs:
  dashpot: {two_way: [post, sleeve], from: 0 0 500 mm, to: 0 0 0 mm, rate: 100 N/m, free_length: 500 mm,
    damping: 4e4 N*s/m}
run: {for: 0.3 s}
"""


def _stiffest(text: str) -> float:
    assembly = assemble(parse_rig(text))
    return stiffest(assembly, actuate(assembly))


@pytest.mark.parametrize(
    ("text", "mass"),
    [(ARM, 0.3 / 3), (TWO, 1.0 * 3.0 / (1.0 + 3.0))],
    ids=["rod about its end: m/3", "two masses: their reduced mass"],
)
def test_a_spring_swings_against_the_effective_mass_at_its_hooks(text: str, mass: float) -> None:
    assert _stiffest(text) == pytest.approx(np.sqrt(900.0 / mass), rel=1e-9)


def test_a_spring_that_hooks_in_at_a_pivot_moves_nothing() -> None:
    assert _stiffest(ARM.replace("to: 400 0 0 mm, rate", "to: 0 0 0 mm, rate")) == 0.0


def test_a_runaway_names_the_damper_that_is_too_strong_for_the_step() -> None:
    with pytest.raises(EngineError, match=r"too coarse for the damping of the spring 'dashpot'"):
        simulate(parse_rig(DAMPED), "mujoco", settle=False, step=1e-3)


def test_the_first_step_is_fine_enough_for_a_strong_damper() -> None:
    assert simulate(parse_rig(DAMPED), "mujoco", settle=False).track.step < 2 * 3.0 / 4e4
