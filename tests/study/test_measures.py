"""Measures against what the mechanism says, and what is said of those that can't be."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import acos, degrees, pi, sqrt
from typing import Any

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
    assert value("swing(rocker_pivot)", "deg") == pytest.approx(high - low, rel=5e-5)
    assert value("swing(rocker_pivot)", "deg") == pytest.approx(73.7818, rel=5e-5)
    assert asked_of(four_bar(), "time_ratio(rocker_pivot)") == pytest.approx(1.355573, rel=5e-4)


def test_a_slow_start_is_left_out() -> None:
    """The crank takes a whole second to come to its speed: the later cycles tell the same swing and time ratio."""
    steady = "{speed: [0 s 0 rpm, 1 s 60 rpm, 4 s 60 rpm]}"
    text = four_bar().rig.source.text.replace(
        "motor: {synchronous: {speed: 60 rpm, pull_out_torque: 5 N*m}}", f"motor: {{given: {steady}}}"
    )
    run = simprop.simulate(simprop.parse_rig(text.replace("for: 3 s", "for: 3.2 s")), settle=False)
    assert asked_of(run, "time_ratio(rocker_pivot)") == pytest.approx(1.355573, rel=5e-4)
    assert asked_of(run, "swing(rocker_pivot) / 1 deg") == pytest.approx(73.7818, rel=5e-5)
    assert asked_of(run, "cycle_time(rocker_pivot) / 1 s") == pytest.approx(1.0, rel=1e-4)
    assert asked_of(run, "cycle_time(crank_pivot) / 1 s") == pytest.approx(1.0, rel=1e-4)


def test_transmission_angle_of_a_crank_rocker() -> None:
    """Least where crank and frame are in line: cos = (b^2 + c^2 - (d -+ a)^2) / (2 b c), any text on mechanisms."""
    angles = [
        degrees(acos((COUPLER**2 + ROCKER**2 - (GROUND + s * CRANK) ** 2) / (2 * COUPLER * ROCKER)))
        for s in (-1, 1)
    ]
    least = min(min(a, 180 - a) for a in angles)
    assert value("transmission(coupler, knuckle)", "deg") == pytest.approx(least, abs=0.01)


def test_motion_of_a_crank() -> None:
    assert value("travel(pin, x)", "mm") == pytest.approx(2 * CRANK, rel=1e-4)
    assert value("most(pin, z)", "mm") == pytest.approx(CRANK, rel=1e-4)
    assert value("least(pin, z)", "mm") == pytest.approx(-CRANK, rel=1e-4)
    assert value("cycles(crank_pivot)", "rpm") == pytest.approx(60.0, rel=2e-3)
    assert value("cycles(rocker_pivot)", "rpm") == pytest.approx(60.0, rel=2e-3)
    assert value("speed(crank.pin)", "m/s") == pytest.approx(2 * pi * 0.040, rel=2e-3)
    later = value("place(pin, z, 2.5 s)", "mm") - value("place(pin, z, 1.5 s)", "mm")
    assert later == pytest.approx(0.0, abs=0.1)
    assert value("acceleration(crank.pin)", "m/s^2") == pytest.approx(4 * pi**2 * 0.040, rel=2e-3)
    assert value("path_length(pin)", "mm") == pytest.approx(3 * 2 * pi * CRANK, rel=5e-3)
    turned = value("position(crank_pivot, 2.5 s)", "deg") - value("position(crank_pivot, 1.75 s)", "deg")
    assert abs(turned) == pytest.approx(270.0, abs=0.05)


def test_a_point_passes_by_a_place() -> None:
    """The crank's pin goes round a circle of 40 mm: its ways to both ends of a diameter are square (Thales)."""
    up, down = (f'miss(pin, "0 0 {z} mm", 2.37 s)' for z in (40, -40))
    assert np.hypot(value(up, "mm"), value(down, "mm")) == pytest.approx(2 * CRANK, rel=1e-5)
    x, z = (value(f"place(pin, {axis}, 2.37 s)", "mm") for axis in "xz")
    assert value(up, "mm") == pytest.approx(np.hypot(x, z - 40), rel=1e-6)
    assert value(f"max({up}, {down})", "mm") == max(value(up, "mm"), value(down, "mm"))
    assert value("nearest(pin, '0 30 100 mm')", "mm") == pytest.approx(sqrt(60**2 + 30**2), rel=1e-6)
    assert value("nearest(pin, rocker_shaft)", "mm") == pytest.approx(GROUND - CRANK, rel=1e-4)


LID = """
rig: 1
name: Lid
bodies:
  box: {fixed: true}
  lid: {parts: [{lump: 4 kg, at: 300 0 0 mm, inertia: 0.1 0.1 0.1 kg*m^2}]}
joints: {hinge: {pin: [box, lid], at: 0 0 0 mm, axis: -y}}
HELD
motors: {hand: {joint: hinge, motor: {given: {swing: 80 deg, pace: 0.5 Hz}}}}
run: {for: 1 s, step: 1 ms}
"""
WEIGHT = 4 * 9.80665 * 0.3
"""Moment of the lid that lies flat, N*m."""


def drawn(high: float, q: Any) -> Any:
    """Distance from a place over (or under) the hinge to the lid 150 mm from it, m: the law of cosines."""
    return np.sqrt(high**2 + 0.15**2 - 2 * high * 0.15 * np.sin(q))


@pytest.mark.parametrize(
    ("held", "moment"),
    [
        ("", lambda q: 0 * q),
        (  # without free length k = m g r / (a b) holds it at every angle: any text on counterbalances
            "springs: {lift: {extension: [box, lid], from: 0 0 400 mm, to: 150 0 0 mm, free_length: 1e-6 mm, "
            f"rate: {WEIGHT / (0.4 * 0.15)} N/m}}}}",
            lambda q: WEIGHT * np.cos(q),
        ),
        (
            f"springs: {{lift: {{torsion: hinge, rate: 5 N*m/rad, free_angle: {WEIGHT / 5} rad}}}}",
            lambda q: WEIGHT - 5 * q,
        ),
        (
            "pulls: {hung: {counterweight: [box, lid], from: 0 0 400 mm, to: 150 0 0 mm, mass: 4 kg}}",
            lambda q: 4 * 9.80665 * 0.4 * 0.15 * np.cos(q) / drawn(0.4, q),
        ),
        (  # gas at one temperature: F1 / (1 - (1 - 1 / ratio) s / stroke), s pressed in from the longest length
            "pulls: {strut: {gas_spring: [box, lid], from: 0 0 -250 mm, to: 150 0 0 mm, force: 100 N, "
            "longest: 0.5 m, stroke: 0.3 m, friction: 30 N}}",
            lambda q: (
                100
                / (1 - (0.3 / 1.3) * (0.5 - drawn(-0.25, q)) / 0.3)
                * 0.25
                * 0.15
                * np.cos(q)
                / drawn(-0.25, q)
            ),
        ),
    ],
)
def test_what_springs_leave_of_a_weight(held: str, moment: Callable[[Any], Any]) -> None:
    """Force times arm at each angle, by hand; the friction of a strut balances nothing."""
    run = simprop.simulate(simprop.parse_rig(LID.replace("HELD", held)), settle=False)
    q = np.radians(np.linspace(0.1, 79.9, 2000))
    wanted = float(np.abs(moment(q) - WEIGHT * np.cos(q)).max()) / WEIGHT
    assert asked_of(run, "imbalance(hinge)") == pytest.approx(wanted, abs=2e-3)
    assert asked_of(run, "weight_moment(hinge) / 1 N / 1 m") == pytest.approx(WEIGHT, rel=2e-3)


def test_how_long_it_dwells() -> None:
    """A sine stays within a hundredth of its way for 2 acos(0.98) of its phase at each end."""
    text = LID.replace("HELD", "").replace("pace: 0.5 Hz", "pace: 2 Hz")
    run = simprop.simulate(simprop.parse_rig(text), settle=False)
    assert asked_of(run, "dwell(hinge) / 1 s") == pytest.approx(2 * acos(0.98) / (4 * pi), rel=1e-3)


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
        ('nearest(pin, "0 0 mm")', "'0 0 mm' is not a place: 3 numbers and one unit are wanted"),
        ('nearest(pin, "0 0 1 kg")', "'0 0 1 kg' is not a place"),
        ("nearest(pin, rocker_shft)", "no such place for nearest.*did you mean 'rocker_shaft'"),
        ('travel("pin", "x") + "x"', "units don't go together"),
        ("'x' * 'x'", "not a value with its unit, nor an expression"),
        ("imbalance(crank)", "no such joint for imbalance"),
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
