"""Measures against what the mechanism says, and what is said of those that can't be."""

from __future__ import annotations

from functools import cache
from math import acos, degrees, pi, sqrt

import numpy as np
import pytest
from typer.testing import CliRunner

import simprop
from simprop.cli import app
from simprop.errors import SimpropError
from simprop.run.run import Run
from simprop.study.ask.measure import MEASURES, asked_of

FOUR_BAR = """
rig: 1
name: Crank and rocker
points:
  crank_shaft: 0 0 0 mm
  pin: 0 0 40 mm
  rocker_shaft: 100 0 0 mm
  knuckle: X 0 Z mm
bodies:
  frame: {fixed: true}
  crank: {parts: [{bar: 12 x 3 mm, of: steel, from: crank_shaft, to: pin}]}
  coupler: {parts: [{bar: 12 x 3 mm, of: steel, from: pin, to: knuckle}]}
  rocker: {parts: [{bar: 12 x 3 mm, of: steel, from: rocker_shaft, to: knuckle}]}
joints:
  crank_pivot: {pin: [frame, crank], at: crank_shaft, axis: y}
  pin: {pin: [crank, coupler], at: pin, axis: y}
  knuckle: {pin: [coupler, rocker], at: knuckle, axis: y}
  rocker_pivot: {pin: [frame, rocker], at: rocker_shaft, axis: y}
motors: {drive: {joint: crank_pivot, motor: {synchronous: {speed: 60 rpm, pull_out_torque: 5 N*m}}}}
run: {for: 3 s, step: 1 ms}
"""
CRANK, COUPLER, ROCKER, GROUND = 40.0, 120.0, 80.0, 100.0


@cache
def four_bar() -> Run:
    """A four-bar of 40, 120, 80, 100 mm that turns once a second."""
    # where circles of 120 mm about the pin and of 80 mm about the rocker's shaft meet
    far = sqrt(GROUND**2 + CRANK**2)
    along = (COUPLER**2 - ROCKER**2 + far**2) / (2 * far)
    off = sqrt(COUPLER**2 - along**2)
    way, across = np.array([GROUND, -CRANK]) / far, np.array([CRANK, GROUND]) / far
    x, z = np.array([0.0, CRANK]) + along * way + off * across
    text = FOUR_BAR.replace("X 0 Z", f"{x:.9g} 0 {z:.9g}")
    return simprop.simulate(simprop.parse_rig(text), settle=False)


def value(text: str, unit: str) -> float:
    found = asked_of(four_bar(), text)
    return float(found.to(unit).magnitude)  # type: ignore[union-attr]


def limits() -> tuple[float, float]:
    """Angles of the rocker where crank and coupler are in line: law of cosines, any text on mechanisms."""
    return tuple(
        degrees(acos((ROCKER**2 + GROUND**2 - d**2) / (2 * ROCKER * GROUND)))
        for d in (COUPLER - CRANK, COUPLER + CRANK)
    )  # type: ignore[return-value]


def test_swing_and_time_ratio_of_a_crank_rocker() -> None:
    """73.78 deg and 1.3556, published with this four-bar: see the table of validation in DEVELOPERS.md."""
    low, high = limits()
    assert value("swing(rocker_pivot)", "deg") == pytest.approx(high - low, rel=1e-3)
    assert value("swing(rocker_pivot)", "deg") == pytest.approx(73.7818, rel=1e-3)
    assert asked_of(four_bar(), "time_ratio(rocker_pivot)") == pytest.approx(1.35557, rel=4e-3)


def test_transmission_angle_of_a_crank_rocker() -> None:
    """Least where crank and frame are in line: cos = (b^2 + c^2 - (d -+ a)^2) / (2 b c), any text on mechanisms."""
    angles = [
        degrees(acos((COUPLER**2 + ROCKER**2 - (GROUND + s * CRANK) ** 2) / (2 * COUPLER * ROCKER)))
        for s in (-1, 1)
    ]
    least = min(min(a, 180 - a) for a in angles)
    assert value("transmission(coupler, knuckle)", "deg") == pytest.approx(least, abs=0.3)


def test_motion_of_a_crank() -> None:
    assert value("travel(pin, x)", "mm") == pytest.approx(2 * CRANK, rel=1e-4)
    assert value("most(pin, z)", "mm") == pytest.approx(CRANK, rel=1e-4)
    assert value("least(pin, z)", "mm") == pytest.approx(-CRANK, rel=1e-4)
    assert value("cycles(crank_pivot)", "rpm") == pytest.approx(60.0, rel=2e-3)
    assert value("cycles(rocker_pivot)", "rpm") == pytest.approx(60.0, rel=2e-3)
    assert value("speed(crank.pin)", "m/s") == pytest.approx(2 * pi * 0.040, rel=2e-3)
    later = value("place(pin, z, 2.5 s)", "mm") - value("place(pin, z, 1.5 s)", "mm")
    assert later == pytest.approx(0.0, abs=0.1)


def test_loads_are_those_of_the_report() -> None:
    run = four_bar()
    force, moment = next(pair for pair in run.loads.joints if pair[0].name == "knuckle")
    assert value("peak(knuckle)", "N") == force.value
    assert value("peak(knuckle, moment)", "N*m") == moment.value
    history = run.loads.history(force)
    assert value("mean(knuckle)", "N") == pytest.approx(float(history.mean()), rel=1e-12)
    assert value("rms(knuckle)", "N") == pytest.approx(float(np.sqrt((history**2).mean())), rel=1e-12)
    moving = sum(b.mass for b in run.assembly.bodies if not b.fixed)
    assert value("mass()", "kg") == pytest.approx(moving, rel=1e-12)
    did = value("asked(drive)", "N*m")
    assert asked_of(run, "stall_margin(drive)") == pytest.approx(5.0 / did, rel=1e-6)
    assert asked_of(run, "strength(member)") == min(
        c.margin for c in run.strength.checks if c.group == "member" and c.margin is not None
    )


def test_arithmetic_keeps_units() -> None:
    assert value("(travel(pin, x) + 20 mm) / 2", "mm") == pytest.approx(50.0, rel=1e-4)
    assert value("peak(knuckle) * travel(pin, x)", "N*m") > 0
    assert value("max(peak(knuckle), peak(pin))", "N") == max(
        value("peak(knuckle)", "N"), value("peak(pin)", "N")
    )


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("travle(pin, x)", "'travle' is not a measure; did you mean 'travel'"),
        ("travel(pni, x)", r"'pni': no such point for travel\(point, axis\); did you mean 'pin'"),
        ("travel(pin)", r"travel\(point, axis\) takes 2, not 1"),
        ("travel(pin, up)", r"'up': no such axis .*allowed: x, y, z"),
        ("travel(pin, x) + peak(pin)", "units don't go together"),
        ("place(pin, z, 3)", "time of place.* is a value with its unit"),
        ("place(pin, z, 30 s)", "place is not computed in this run"),
        ("heat(drive)", "heat is not computed in this run"),
        ("time_ratio(crank_pivot)", "time_ratio is not computed in this run"),
        ("travel(pin, x) and 3", "not a value with its unit, nor an expression"),
        ("__import__('os')", "not a measure"),
    ],
)
def test_what_cannot_be_asked_is_told_with_what_can(text: str, told: str) -> None:
    with pytest.raises(SimpropError, match=told):
        asked_of(four_bar(), text)


def test_every_measure_has_a_definition_and_a_unit_that_exists() -> None:
    for one in MEASURES.values():
        assert one.about.endswith("."), one.name
        assert one.written.startswith(f"{one.name}(")
    assert len(MEASURES) >= 20


def test_the_command_lists_measures_and_answers(tmp_path) -> None:
    listed = CliRunner().invoke(app, ["measure"]).output
    assert all(one.written in " ".join(listed.split()) for one in MEASURES.values())
    rig = tmp_path / "bar.yaml"
    rig.write_text(four_bar().rig.source.text)
    words = ["measure", str(rig), "travel(pin, x)", "swing(rocker_pivot)", "--one-step"]
    result = CliRunner().invoke(app, words)
    assert result.output.splitlines() == ["travel(pin, x) = 80 mm", "swing(rocker_pivot) = 73.78 deg"]
    inside = CliRunner().invoke(app, ["measure", str(rig), "--one-step"]).output
    assert "drive: drive" in inside
    assert max(map(len, inside.splitlines())) <= 80
