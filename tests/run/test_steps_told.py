"""A long run is told before it is begun, with who makes it long and what would make it short enough."""

from __future__ import annotations

import re

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.engine.choose import engine
from simprop.errors import EngineError
from simprop.report.check import steps_lines
from simprop.rig.load import parse_rig
from simprop.run.once import COARSEST, asking, first_substeps, most_steps, once, steps_of

BOB = """
rig: 1
name: Bob
bodies:
  post: {{fixed: true}}
  bob: {{parts: [{{ball: 60 mm, mass: 1 kg, at: 0 0 400 mm}}]}}
joints: {{guide: {{slider: [post, bob], at: 0 0 400 mm, along: z}}}}
springs: {{s: {{two_way: [post, bob], from: 0 0 0 mm, to: 0 0 400 mm, rate: {rate} kN/m, free_length: 400 mm}}}}
run: {{for: {seconds} s}}
"""


def test_who_asks_for_short_steps_is_named() -> None:
    """A tenth of 1/w with w = sqrt(k/m): an explicit step of a twentieth of that would still hold, any text on it."""
    assembly = assemble(parse_rig(BOB.format(rate=40000, seconds=2)))
    found = asking(assembly, actuate(assembly))
    assert found.what == "spring 's'"
    assert found.step == pytest.approx(0.1 / np.sqrt(4e7 / 1.0), rel=1e-6)
    slack = assemble(parse_rig(BOB.format(rate=0.1, seconds=2)))
    assert asking(slack, actuate(slack)).step == COARSEST
    assert steps_lines(slack, actuate(slack)) == []


def test_a_run_of_minutes_is_told_of_by_check() -> None:
    assembly = assemble(parse_rig(BOB.format(rate=40000, seconds=4)))
    (line,) = steps_lines(assembly, actuate(assembly))
    assert re.match(r"Steps: 25\d,\d{3} of 0\.016 ms for 4 s, as spring 's' asks, and 2 to 8 times", line)


@pytest.mark.parametrize("seconds", [14, 40])
def test_what_is_said_to_make_a_run_short_enough_does(seconds: int) -> None:
    assembly = assemble(parse_rig(BOB.format(rate=40000, seconds=seconds)))
    laws = actuate(assembly)
    (line,) = steps_lines(assembly, laws)
    most = most_steps(assembly, laws)
    wanted = most if seconds == 40 else most // 2  # the shorter one fits, but can't be halved
    assert (" are the most: " in line) is (seconds == 40)
    short, soft = re.search(r"to ([\d.]+) s, or soften .* to ([\d.]+) of", line).groups()  # type: ignore[union-attr]
    for text in (
        BOB.format(rate=40000, seconds=float(short)),
        BOB.format(rate=40000 * float(soft), seconds=seconds),
    ):
        changed = assemble(parse_rig(text))
        steps = steps_of(changed, first_substeps(changed, actuate(changed)))
        assert 0.7 * wanted < steps <= wanted


def test_a_run_that_is_too_long_says_the_same() -> None:
    assembly = assemble(parse_rig(BOB.format(rate=40000, seconds=40)))
    laws = actuate(assembly)
    with pytest.raises(
        EngineError, match=r"are the most of this prop; shorten it to [\d.]+ s, or soften spring 's'"
    ):
        once(assembly, engine("mujoco"), laws, first_substeps(assembly, laws))
