"""The same run with something changed: stops of other stiffness, and nothing that bends."""

from __future__ import annotations

from math import sqrt

import pytest

from simprop.report.loads import LOADS
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.bending.rigs import mast

G = 9.80665
DROPPED = """
rig: 1
name: Dropped
bodies: {post: {fixed: true}, block: {parts: [{lump: 2 kg, at: 0 0 100 mm, inertia: 0.01 0.01 0.01 kg*m^2}]}}
joints: {rail: {slider: [post, block], at: 0 0 100 mm, along: z}}
stops: {floor: {slide_stop: rail, below: -80 mm, stiffness: 20000 N/m, damping: 0 N*s/m}}
run: {for: 0.3 s, step: 0.05 ms}
"""


def test_a_stop_of_half_and_double_stiffness() -> None:
    """A block that falls h on a spring: F = m g + sqrt((m g)^2 + 2 k m g h), by energy."""
    run = simulate(parse_rig(DROPPED), settle=False)
    weight = 2.0 * G
    wanted = [weight + sqrt(weight**2 + 2 * k * weight * 0.08) for k in (1e4, 2e4, 4e4)]
    assert run.other_stops is not None
    softer, stiffer = run.other_stops
    found = [loads.stops[0].value for loads in (softer, run.loads, stiffer)]
    assert found == pytest.approx(wanted, rel=1e-3)
    assert "with stops of half their stiffness" in str(LOADS.of(run))


def test_a_stop_that_nothing_meets_is_not_told() -> None:
    run = simulate(parse_rig(DROPPED.replace("0.3 s", "0.05 s")), settle=False)
    assert run.other_stops is None
    assert run.rigid is None


def test_the_factor_against_rigid_of_a_weight_that_comes_on_at_once() -> None:
    text = mast(
        5.0,
        bends="{damping: 0, pieces: 4}",
        to="100 0 0 mm",
        run="{for: 0.2 s, step: 0.2 ms, begin: straight}",
    )
    run = simulate(parse_rig(text), settle=False)
    assert run.rigid is not None
    bent, rigid = (loads.joints[0][1].value for loads in (run.loads, run.rigid))
    assert bent / rigid == pytest.approx(2.0, rel=0.02)  # sudden load, any handbook
    assert "Bending against rigid" in str(LOADS.of(run))
