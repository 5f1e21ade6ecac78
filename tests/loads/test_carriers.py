"""Everything that carries load has a peak and a band, ranked with the joints, against closed forms."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from simprop.loads.agreement import side_by_side
from simprop.picture.chart.plots import plot_loads
from simprop.report.comparison import rows
from simprop.report.loads import LOADS, headline
from simprop.report.writers import as_json, markdown
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

G = 9.81
MASS, RATE, FALL = 2.0, 5000.0, 0.2
DROP = """
rig: 1
name: Mass falls until its rope is taut
bodies: {frame: {fixed: true}, load: {parts: [{lump: 2 kg, at: 0 0 -100 mm}]}}
joints: {guide: {slider: [frame, load], at: 0 0 0 mm, along: z}}
springs:
  rope: {extension: [frame, load], from: 0 0 0 mm, to: 0 0 -100 mm, rate: 5000 N/m, free_length: 100 mm, slack: 200 mm}
run: {for: 0.4 s, gravity: 9.81 m/s^2}
"""
# m g (h + x) = k x^2 / 2: the impact factor of any text on strength of materials
TAUT = MASS * G * (1 + math.sqrt(1 + 2 * RATE * FALL / (MASS * G)))
TWIST = """
rig: 1
name: Lid held by a torsion spring
bodies: {box: {fixed: true}, lid: {parts: [{slender: 2 kg, from: 0 0 0 mm, to: 300 0 0 mm}]}}
joints: {hinge: {pin: [box, lid], at: 0 0 0 mm, axis: y}}
springs: {coil: {torsion: hinge, rate: 20 N*m/rad}}
run: {for: 0.5 s, gravity: 9.81 m/s^2}
"""
HANG = """
rig: 1
name: Sled on a gas strut and a linear actuator
points: {low: 0 0 200 mm, high: 0 0 500 mm}
bodies: {post: {fixed: true}, sled: {parts: [{lump: 2 kg, at: high}]}}
joints: {rail: {slider: [post, sled], at: high, along: z}}
pulls: {strut: {gas_spring: [post, sled], from: low, to: high, force: 60 N, longest: 400 mm, stroke: 150 mm}}
pushers: {ram: {between: [post, sled], from: low, to: high, motor: linear 330, extension: 20 mm}}
run: {for: 0.2 s}
"""


@pytest.fixture(scope="module", params=["mujoco", "bullet"])
def drop(request: pytest.FixtureRequest) -> Run:
    if request.param == "bullet":
        pytest.importorskip("pybullet")
    return simulate(parse_rig(DROP), request.param)


def test_a_rope_that_catches_a_falling_mass_heads_the_report(drop: Run) -> None:
    worst = drop.loads.worst
    assert worst is not None
    assert (worst.sort, worst.name) == ("spring", "rope")
    assert worst.band is not None
    assert worst.band.settled
    assert abs(worst.value - TAUT) <= worst.band.change
    assert worst.value == pytest.approx(TAUT, rel=0.01)
    assert headline(drop.loads).startswith("Highest load: spring rope, 219")


def test_every_report_and_picture_tells_of_the_rope(drop: Run, tmp_path: Path) -> None:
    report = LOADS.of(drop)
    text = markdown(report)
    assert text.index("| spring rope | 219") < text.index("| joint guide | 0 |")
    assert "both of its ends" in text
    told = json.loads(as_json(report))
    assert told["highest"] == "rope"
    assert told["springs"]["rope"]["value"] == pytest.approx(TAUT, rel=0.01)
    assert told["springs"]["rope"]["settled"] is True
    row = next(r for r in rows([drop, drop]) if r.quantity == "spring rope: peak load")
    assert row.unit == "N"
    assert row.values[0] == pytest.approx(TAUT, rel=0.01)
    assert "spring.rope.load" in {p.key for p in side_by_side(drop.loads, drop.loads)}
    plot = plot_loads(drop.loads, tmp_path / "loads.svg")
    assert plot.stat().st_size > 1000
    assert drop.loads.history(drop.loads.lines[0]).max() == drop.loads.lines[0].value


def test_a_torsion_spring_has_its_moment() -> None:
    run = simulate(parse_rig(TWIST))
    (coil,) = run.loads.lines
    # swings about its rest at -tau = m g l / 2 cos(angle) to where the energies are equal: k a^2 / 2 = m g l / 2 sin a
    angle = 0.0
    for _ in range(100):
        angle = math.sqrt(2 * 2.0 * G * 0.15 * math.sin(angle or 0.2) / 20.0)
    assert (coil.key, coil.kind) == ("spring.coil.load", "moment")
    assert coil.value == pytest.approx(20.0 * angle, rel=2e-3)
    assert run.loads.ranked[-1][1] is coil


def test_struts_and_actuators_have_peaks_of_their_own() -> None:
    run = simulate(parse_rig(HANG), settle=False)
    assert {p.key for p in run.loads.lines} == {"pusher.ram.load", "pull.strut.load"}
    assert all(p.value > 10.0 for p in run.loads.lines)
    assert {"pushers", "pulls"} <= json.loads(as_json(LOADS.of(run))).keys()
