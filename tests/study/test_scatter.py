"""Scatter against linear propagation of uncertainty, and what is off in a rig as built."""

from __future__ import annotations

from math import acos, pi, sqrt

import numpy as np
import pytest

import simprop
from simprop.assembly.assemble import assemble
from simprop.catalog.motors import motors
from simprop.drives.base import MOTORS, PUSHERS
from simprop.drives.kinds import figures_of
from simprop.errors import RigError
from simprop.reading.text import read_text
from simprop.rig.load import parse_rig
from simprop.study.trial.tried import tried
from simprop.study.types import Level, Study
from simprop.study.vary.scatter import draws, scattered
from simprop.study.vary.within import withins_of
from tests.study.test_measures import FOUR_BAR

ARM = """
rig: 1
name: Arm
params: {reach: 300 mm}
points: {wall: 0 0 0 mm, end: [reach, 0 mm, 0 mm]}
bodies: {post: {fixed: true}, arm: {parts: [{lump: 2 kg, at: end}]}}
joints: {held: {fixed: [post, arm], at: wall}}
run: {for: 2 ms, step: 1 ms}
"""
WHEEL = """
rig: 1
name: Wheel
bodies: {post: {fixed: true}, wheel: {parts: [{disc: 100 mm, thick: 10 mm, of: steel, at: 0 0 0 mm, axis: y}]}}
points: {rim: 50 0 0 mm}
joints: {shaft: {pin: [post, wheel], at: 0 0 0 mm, axis: y, friction: 0.3 N*m}}
motors:
  turn:
    joint: shaft
    motor: {dc: {rated_voltage: 12 V, no_load_speed: 60 rpm, stall_torque: 2 N*m, stall_current: 2 A}}
    supply: 9 V
watch: [rim]
run: {for: 150 ms, step: 1 ms}
"""


def spread(
    text: str, ask: str, unit: float, withins: list[str], n: int, level: Level = "draft"
) -> tuple[float, float]:
    """Mean and standard deviation of an answer over n builds, in a unit of SI."""
    study = Study(text, "rig.yaml", asks=(ask,))
    rig = parse_rig(text)
    outcomes = [tried(study, one, level) for one in draws(rig, withins_of(rig, withins), n, 3)]
    values = [o.answers[0].value for o in outcomes if o.answers[0] is not None]
    assert len(values) == n, [o.reason or o.unknown for o in outcomes][:2]
    return float(np.mean(values)) / unit, float(np.std(values, ddof=1)) / unit


def test_moment_of_a_held_arm() -> None:
    """M = m g L with m, L and the wall's hole off: JCGM 100:2008 (GUM) 5.1.2, and 4.3.7 for an even distribution."""
    m, g, reach = 2.0, 9.80665, 0.3
    mean, off = spread(
        ARM,
        "peak(held, moment)",
        1.0,
        ["points.wall=4 mm", "params.reach=2 %", "bodies.arm.parts.0.lump=3 %"],
        49,
    )
    expected = sqrt((m * g * 0.004) ** 2 + (m * g * 0.02 * reach) ** 2 + (g * reach * 0.03 * m) ** 2) / sqrt(
        3
    )
    assert mean == pytest.approx(m * g * reach, rel=0.003)
    assert off == pytest.approx(expected, rel=0.05)


def test_speed_of_a_motor_against_friction() -> None:
    """w = w0 (V / Vr - M / Ms) with torque and speed of the motor, its supply and the friction off; GUM as above."""
    free, stall, volts, rub = 60 * 2 * pi / 60, 2.0, 9.0 / 12.0, 0.3
    sag = rub / stall
    mean, off = spread(WHEEL, "speed(rim)", 0.05, ["motors=10 %", "supplies=5 %", "friction=30 %"], 49)
    parts = [0.1 * (volts - sag), 0.1 * sag, 0.05 * volts, 0.3 * sag]
    assert mean == pytest.approx(free * (volts - sag), rel=0.01)
    assert off == pytest.approx(free * sqrt(sum(p**2 for p in parts) / 3), rel=0.05)


def swing_of(points: np.ndarray) -> float:
    """Swing of a crank-rocker by its four points from shaft to shaft, (4, 2) mm, in rad: law of cosines at its two
    limits, any text on mechanisms."""
    crank, coupler, rocker, ground = (
        np.hypot(*(points[a] - points[b])) for a, b in ((0, 1), (1, 2), (2, 3), (3, 0))
    )
    ends = [
        acos((rocker**2 + ground**2 - d**2) / (2 * rocker * ground))
        for d in (coupler - crank, coupler + crank)
    ]
    return ends[1] - ends[0]


def test_swing_of_a_four_bar() -> None:
    """Each of four places off by 0.4 mm in x and z: GUM as above, the derivatives of the closed form."""
    far, knuckle = sqrt(100.0**2 + 40.0**2), np.zeros(2)
    along = (120.0**2 - 80.0**2 + far**2) / (2 * far)
    way, across = np.array([100.0, -40.0]) / far, np.array([40.0, 100.0]) / far
    knuckle = np.array([0.0, 40.0]) + along * way + sqrt(120.0**2 - along**2) * across
    points = np.array([[0.0, 0.0], [0.0, 40.0], knuckle, [100.0, 0.0]])
    slopes = [
        (swing_of(points + d) - swing_of(points - d)) / 2e-3
        for d in (np.eye(8)[k].reshape(4, 2) * 1e-3 for k in range(8))
    ]
    text = FOUR_BAR.replace("X 0 Z", f"{knuckle[0]:.9g} 0 {knuckle[1]:.9g}")
    mean, off = spread(text, "swing(rocker_pivot)", 1.0, ["lengths=0.4 mm"], 49, "swept")
    assert mean == pytest.approx(swing_of(points), rel=2e-3)
    assert off == pytest.approx(0.4 * sqrt(sum(v**2 for v in slopes) / 3), rel=0.05)


def test_a_place_goes_for_all_that_uses_it_and_no_axis_is_missed() -> None:
    """The four-bar of the README's measures, and a lid on two hinges: they still go together and still move."""
    lid = """
rig: 1
name: Lid
bodies: {box: {fixed: true}, lid: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
joints:
  left: {pin: [box, lid], at: 0 -200 0 mm, axis: y, friction: 0.2 N*m}
  right: {pin: [box, lid], at: 0 200 0 mm, axis: y, friction: 0.1 N*m}
run: {for: 1 s}
"""
    rig = parse_rig(lid)
    (build,) = draws(
        rig, withins_of(rig, ["lengths=2 mm", "friction=10 %", "joints.right.friction=50 %"]), 1, 8
    )
    off = dict(build.scatter)
    assert list(off) == [
        "joints.left.at.x",
        "joints.left.at.z",
        "joints.left.friction",
        "joints.right.friction",
    ]
    one = scattered(rig, build.scatter)
    left, right = one.joints["left"], one.joints["right"]
    assert left.on("lid") == (off["joints.left.at.x"], -0.2, off["joints.left.at.z"], None)
    assert right.on("lid")[:3] == (off["joints.left.at.x"], 0.2, off["joints.left.at.z"])
    assert left.friction == pytest.approx(0.2 * (1 + off["joints.left.friction"]))  # type: ignore[attr-defined]
    assert assemble(one).mobility == assemble(rig).mobility == 1


def test_held_lengths_named_values_and_supplies() -> None:
    rig = simprop.load_rig("rigs/wall_peeper.yaml", {"throw": "60 mm"})
    withins = withins_of(rig, ["lengths=1 mm", "supplies=5 %", "params.throw=3 mm", "points.neck=2 mm"])
    sizes = {key: w.size for w in withins for key in w.keys}
    assert sizes["bodies.rod.hold.length"] == pytest.approx(1 / 206.155)
    assert sizes["params.throw"] == pytest.approx(0.05)
    assert sizes["points.neck.y"] == 0.002
    one = scattered(rig, [("params.throw", 0.05), ("bodies.rod.hold.length", 0.01), ("points.pin.x", 0.001)])
    assert one.points["pin"].x == pytest.approx(0.064)
    assert one.bodies["rod"].hold.length == pytest.approx(0.20821655)  # type: ignore[union-attr]
    assert one.bodies["crank"].parts[0].end.x == pytest.approx(0.064)  # type: ignore[attr-defined]
    weak = scattered(rig, [("motors.drive.supply.voltage", -0.05), ("motors.drive.torque", 0.1)])
    assert weak.motors["drive"].source.voltage == pytest.approx(11.4)
    assert weak.motors["drive"].figures.able().stall == pytest.approx(
        1.1 * rig.motors["drive"].figures.able().stall
    )


def test_a_shared_supply_is_off_for_all_that_it_feeds() -> None:
    rig = simprop.load_rig("rigs/barn_owl.yaml")
    (name,) = rig.supplies
    one = scattered(rig, [(f"supplies.{name}.voltage", 0.1)])
    fed = [m for m in rig.motors if rig.motors[m].supply.shared == name]  # type: ignore[union-attr]
    assert len(fed) > 1
    for motor in fed:
        assert one.motors[motor].source.voltage == pytest.approx(1.1 * rig.motors[motor].source.voltage)


SPINDLE = """{spindle: {rated_voltage: 12 V, spindle_speed: 300 rpm, stall_torque: 2 N*m, idle_current: 0.5 A,
  stall_current: 8 A, lead: 3 mm, diameter: 12 mm, force: 500 N, stroke: 100 mm}}"""


def test_another_piece_is_as_strong_as_said_and_still_possible() -> None:
    """Of every class: torque or force as said, and the checks of its figures still hold (efficiency as before)."""
    stock = [figures_of(row.name) for row in motors()]
    stock.append(PUSHERS.read(read_text(SPINDLE).data))
    for figures in stock:
        word = figures.varied[0]
        piece = figures.piece(dict.fromkeys(figures.varied, 0.1))
        told = {n: getattr(piece, n) for n in type(piece).model_fields if n != "kind"}
        kinds = MOTORS if figures.turns else PUSHERS
        again = kinds[figures.kind].model_construct(**told)
        for check in type(again).__pydantic_decorators__.model_validators.values():
            check.func(again)
        strengths = [getattr(f, "most", f.able().stall) for f in (figures, figures.piece({word: 0.1}))]
        assert strengths[1] == pytest.approx(1.1 * strengths[0]), figures
        one, other = figures.line(), piece.line()
        if one is not None and other is not None:
            ratio = other.torque_constant / other.speed_constant
            assert ratio == pytest.approx(one.torque_constant / one.speed_constant), figures
        assert figures.piece({}) == figures


def test_draws_are_even_and_repeat() -> None:
    rig = parse_rig(ARM)
    withins = withins_of(rig, ["lengths=1 mm", "params.reach=10 %"])
    rows = [dict(v.scatter) for v in draws(rig, withins, 40, 5)]
    values = np.array([list(row.values()) for row in rows]) / [1e-3, 1e-3, 1e-3, 0.1]
    for column in values.T:  # a build in each fortieth of the range
        assert sorted(np.floor((column + 1) / 2 * 40).astype(int)) == list(range(40))
    assert np.abs(np.corrcoef(values.T) - np.eye(4)).max() < 0.1
    assert [dict(v.scatter) for v in draws(rig, withins, 40, 5)] == rows
    assert [dict(v.scatter) for v in draws(rig, withins, 40, 6)] != rows


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("length=1 mm", "did you mean 'lengths'?"),
        ("lengths=1 kg", "gram|kilogram|kg"),
        ("lengths=10 %", "length needs a unit|not a unit of length|% is not"),
        ("friction=1 mm", "without a unit"),
        ("friction=200 %", "0 to 95 %"),
        ("friction=-10 %", "0 to 95 %"),
        ("params.reach=1 N", "dimension|convert"),
        ("joints.held.friction=1 N", "nothing of that name"),
        ("lengths", "lengths=1 mm"),
    ],
)
def test_what_cannot_be_off_is_said(text: str, said: str) -> None:
    with pytest.raises(RigError, match=said) as caught:
        withins_of(parse_rig(ARM), [text])
    assert "--within" in str(caught.value)
