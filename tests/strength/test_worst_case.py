"""Joints that share a load: by what part of it each one's fastener is judged, from rig files."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import simprop
from simprop.checking.check import Remedy, judge, not_computed
from simprop.checking.harder import harder
from simprop.report.strength import STRENGTH
from simprop.report.writers import markdown
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.strength.checks.falls import fall_of

G = 9.80665
RIG = """
rig: 1
name: A lid that hangs down from two hinges
bodies:
  frame: {{fixed: true, parts: [
    {{bar: 40 x 40 mm, of: pine, from: -500 0 0 mm, to: -500 0 {up} mm}},
    {{bar: 40 x 40 mm, of: pine, from: -500 0 {up} mm, to: 500 0 {up} mm}}]}}
  lid: {{parts: [{{bar: 200 x 20 mm, of: pine, from: -400 0 {low} mm, to: 400 0 {low} mm, thin: z, mass: {mass}}}]}}
joints:
  left: {{pin: [frame, lid], at: -300 0 {up} mm, axis: x, held_by: {hold}}}
  right: {{pin: [frame, lid], at: 300 0 {up} mm, axis: x, held_by: {hold}}}
{more}
run: {{for: 0.05 s}}
"""
BOLT = "{bolt: M6, nut: nylon insert}"
SCREW = "{screw: '#8 wood', into: pine, length: 50 mm, through: 20 mm, along: z, count: 2, spacing: 40 mm}"


def _run(up: float, hold: str = BOLT, mass: str = "2 kg", more: str = "") -> Run:
    text = RIG.format(up=up, low=up - 30, hold=hold, mass=mass, more=more)
    return simprop.simulate(parse_rig(text), settle=False)


@pytest.mark.parametrize("hold", [BOLT, SCREW])
def test_a_hinge_overhead_must_hold_the_whole_lid(hold: str) -> None:
    """Each of two hinges bears half of the lid; overhead each one's fastener is judged as if it held it alone.

    Closed form: the demand of a check that goes with the force is twice that of the share at least.
    """
    high, low = _run(2200, hold), _run(300, hold)
    for name in ("left", "right"):
        worst, share = (
            [c for c in r.strength.checks if c.place == name and c.unit.startswith("of ")]
            for r in (high, low)
        )
        assert [c.name for c in worst] == [c.name for c in share] != []
        for one, other in zip(worst, share, strict=True):
            assert (one.demand or 0.0) >= 1.9 * (other.demand or 0.0) > 0


def test_the_demand_is_that_of_the_whole_weight() -> None:
    """A rod end's load is the force itself: m g overhead; near the floor m g / 2, and its share of the side push."""
    for up in (2200, 300):
        run = _run(up, "{rod_end: M6}")
        (found,) = (c.demand for c in run.strength.checks if c.place == "left" and c.unit == "N")
        share = float(np.linalg.norm(run.loads.wrenches.force[:, 0], axis=1).max())
        assert G <= share < 1.05 * G
        assert found == pytest.approx(2 * G if up == 2200 else share, rel=1e-3)


def test_the_report_says_which_was_taken_and_why() -> None:
    high, low = (markdown(STRENGTH.of(_run(up))) for up in (2200, 300))
    assert "lid (2 kg, up to 2.17 m up) hangs there and could come down on somebody" in high
    assert "bears all that it can of what it shares" in high
    assert "lid (2 kg, up to 0.27 m up) hangs there, under 1 m" in low
    assert "bears all that it can of what it shares" not in low


def test_people_beneath_make_any_weight_count() -> None:
    light = {"mass": "100 g"}
    assert not fall_of(_run(2200, **light).loads, 0).feared
    assert fall_of(_run(2200, **light, more="visitors: {overhead: true}").loads, 0).feared
    assert not fall_of(_run(300, **light, more="visitors: {overhead: true}").loads, 0).feared


def test_what_hangs_further_out_falls_too() -> None:
    """A flap of 3 kg on one pin of the lid: 5 kg hang on the lid's hinges, 3 kg on the flap's, which shares nothing."""
    text = RIG.format(up=2200, low=2170, hold=BOLT, mass="2 kg", more="")
    text = text.replace(
        "joints:\n",
        "  flap: {parts: [{lump: 3 kg, at: 0 0 2000 mm}]}\n"
        "joints:\n  hook: {pin: [lid, flap], at: 0 0 2170 mm, axis: y}\n",
    )
    run = simprop.simulate(parse_rig(text), settle=False)
    at = {j.name: fall_of(run.loads, k) for k, j in enumerate(run.assembly.joints)}
    assert at["left"].bodies == at["right"].bodies == ("lid", "flap")
    assert at["left"].mass == pytest.approx(5.0)
    assert at["hook"].bodies == ("flap",)


def test_what_cannot_be_computed_in_the_worst_case_is_no_pass() -> None:
    share = judge("fastener", "2 screws", "left", 1.0, 2.0, unit="N", factor=1.0)
    alone = not_computed("fastener", "2 screws", "left", "one screw can't stop the parts from turning")
    (found,) = harder([share], [alone], "it bears all")
    assert (found.verdict, found.reason) == ("not computed", f"{alone.reason} (it bears all)")


def test_a_change_is_told_with_the_least_it_gives_under_all_loads() -> None:
    """The pull fails in the calm, the twist in the wind: the larger bolt is enough for one of them only."""
    fails = judge("fastener", "pull", "left", 2.0, 1.0, unit="N", factor=1.0)
    twist = judge("fastener", "twist", "left", 3.0, 1.0, unit="N*m", factor=1.0)
    calm = replace(fails, remedies=(Remedy("a larger bolt", 1.2),))
    windy = replace(twist, remedies=(Remedy("a larger bolt", 0.8),))
    assert {r.margin for c in harder([calm], [windy], "in the wind") for r in c.remedies} == {0.8}
