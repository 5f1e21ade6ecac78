"""Members that bend, from rig files, against closed forms and recomputed values of beam theory.

Sources, from memory unless said: Blevins, Formulas for Natural Frequency and Mode Shape (frequency equations, roots
recomputed with scipy); Bisshopp and Drucker, Quarterly of Applied Mathematics 3 (1945) (elastica); Wright, Smith,
Thresher and Wang, Journal of Applied Mechanics 49 (1982) (rotating beams); Kane, Ryan and Banerjee, Journal of Guidance
10 (1987) (spin-up).
"""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.modes import frequencies
from simprop.geometry.arrays import Array
from simprop.geometry.turning import rotate
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.bending.rigs import LENGTH, MASS, PIPE, STIFF, mast

pytest.importorskip("exudyn")

UNIT = np.sqrt(STIFF / (MASS * LENGTH**3)) / (2 * np.pi)
"""Frequency of beta = 1, Hz."""


def ran(text: str, **options: object) -> Run:
    return simulate(parse_rig(text), settle=False, **options)  # type: ignore[arg-type]


def place(run: Run, body: str, drawn: tuple[float, float, float]) -> Array:
    """Where a drawn point of a body is at each step, (n, 3) m."""
    i = run.assembly.carrier(body, drawn)
    local = run.assembly.bodies[i].local(drawn)
    return run.track.position[:, i] + rotate(run.track.rotation[:, i], local)


def crossings(time: Array, values: Array) -> Array:
    """Instants at which values rise through zero, by straight lines between rows."""
    up = np.flatnonzero((values[:-1] < 0) & (values[1:] >= 0))
    return time[up] - values[up] * (time[up + 1] - time[up]) / (values[up + 1] - values[up])


@pytest.mark.parametrize(
    ("share", "first", "second"), [(0, 1.875104, 4.694091), (1, 1.247917, 4.031139), (5, 0.870021, 3.949980)]
)
def test_frequencies_of_a_cantilever_with_a_weight_at_its_end(
    share: int, first: float, second: float
) -> None:
    found = frequencies(assemble(parse_rig(mast(share * MASS))), 4)
    assert found[:2] == pytest.approx(first**2 * UNIT, rel=0.005)
    assert found[2:] == pytest.approx(second**2 * UNIT, rel=0.02)


def test_frequency_of_a_pipe_between_two_pins() -> None:
    text = mast(
        foot="{pin: [ground, mast], at: 0 0 0 mm, axis: y}",
        more="  head: {cylindrical: [ground, mast], at: 0 0 600 mm, along: z}\n",
    )
    # The head's guide would hold its direction: a ball on a slider leaves it free.
    text = text.replace(
        "  head: {cylindrical: [ground, mast], at: 0 0 600 mm, along: z}\n",
        "  head: {ball: [shoe, mast], at: 0 0 600 mm}\n  rail: {slider: [ground, shoe], at: 0 0 600 mm, along: z}\n",
    ).replace("  mast:\n", "  shoe: {parts: [{lump: 1 g, at: 0 0 600 mm}]}\n  mast:\n")
    found = frequencies(assemble(parse_rig(text)), 4)
    assert min(abs(found / (np.pi**2 * UNIT) - 1)) < 0.005


def test_a_mast_swings_as_its_frequency_says() -> None:
    run = ran(mast(0.5, bends="{damping: 0}", to="600 0 0 mm", run="{for: 2 s, step: 1 ms, begin: straight}"))
    tip = place(run, "mast", (0.6, 0.0, 0.0))[:, 2]
    at = crossings(run.track.time, tip - tip.mean())
    assert len(at) > 5
    # 3.5865 Hz: 1/2 in pipe of E 2760 MPa with 0.5 kg at its end, frequency equation
    assert (len(at) - 1) / (at[-1] - at[0]) == pytest.approx(3.586515 * np.sqrt(STIFF / 19.4435), rel=0.005)


def test_a_load_put_on_at_once_bends_twice_as_far_as_at_rest() -> None:
    run = ran(
        mast(
            5.0,
            bends="{damping: 0, pieces: 4}",
            to="100 0 0 mm",
            run="{for: 0.2 s, step: 0.2 ms, begin: straight}",
        )
    )
    weight = 5.0 * 9.80665 * 0.1**3 / (3 * STIFF) + MASS / 6 * 9.80665 * 0.1**3 / (8 * STIFF)
    assert -place(run, "mast", (0.1, 0.0, 0.0))[:, 2].min() == pytest.approx(2 * weight, rel=0.01)


def test_a_mast_begins_as_it_hangs_at_rest() -> None:
    run = ran(mast(0.5, bends="{damping: 0, pieces: 8}", to="600 0 0 mm", run="{for: 1 s, step: 1 ms}"))
    tip = -place(run, "mast", (0.6, 0.0, 0.0))[:, 2]
    sag = (0.5 / 3 + MASS / 8) * 9.80665 * 0.6**3 / STIFF  # P L^3 / 3 E I and w L^4 / 8 E I, any handbook
    assert tip.mean() == pytest.approx(sag, rel=0.01)
    assert np.ptp(tip) < 1e-3 * sag
    assert run.loads.joints[0][0].value == pytest.approx((0.5 + MASS) * 9.80665, rel=1e-3)


def test_a_swing_dies_down_at_the_stated_ratio() -> None:
    run = ran(
        mast(0.5, bends="{damping: 0.03}", to="600 0 0 mm", run="{for: 4 s, step: 1 ms, begin: straight}")
    )
    tip = place(run, "mast", (0.6, 0.0, 0.0))[:, 2]
    rest = tip[-500:].mean()
    swing = np.abs(tip - rest)
    tops = [i for i in range(1, len(swing) - 1) if swing[i - 1] < swing[i] >= swing[i + 1]]
    half = np.log(swing[tops[0]] / swing[tops[10]]) / 10  # each half swing
    assert half / np.sqrt(np.pi**2 + half**2) == pytest.approx(0.03, rel=0.05)


def test_a_head_that_drops_onto_a_light_end_bends_it_by_its_energy() -> None:
    # A 2 g steel rod of 6 mm, 300 mm long, k = 3 E I / L^3; the head's weight sags it by 2 mm; it drops 50 mm.
    # largest = static (1 + sqrt(1 + 2 h / static)) = 8.1414 static: energy, any text on strength of materials.
    stiff = 200e9 * np.pi / 64 * 0.006**4
    weight = 2e-3 * 3 * stiff / 0.3**3
    text = f"""
rig: 1
name: Drop
bodies:
  ground: {{fixed: true}}
  rod:
    bends: {{damping: 0, pieces: 4}}
    parts: [{{rod: 6 mm, of: steel, from: 0 0 0 mm, to: 300 0 0 mm, mass: 2 g}}]
  head: {{parts: [{{ball: 20 mm, mass: {weight / 9.80665} kg, at: 300 0 63 mm}}]}}
joints:
  foot: {{fixed: [ground, rod], at: 0 0 0 mm}}
  guide: {{slider: [ground, head], at: 300 0 63 mm, along: z}}
contacts:
  blow: {{ball: head, at: 300 0 63 mm, diameter: 20 mm, on: {{face: rod, at: 300 0 3 mm, normal: z}},
    stiffness: 1e6 N/m, loss: 0.3, friction: 0}}
run: {{for: 0.16 s, step: 0.05 ms}}
"""
    run = ran(text)
    e = 200e9  # the catalogue's steel
    from simprop.catalog.load import material

    static = 2e-3 * e / (material("steel").modulus or e)
    most = -place(run, "rod", (0.3, 0.0, 0.0))[:, 2].min()
    assert most == pytest.approx(static * (1 + np.sqrt(1 + 0.1 / static)), rel=0.03)


ARM = f"""
rig: 1
name: Arm
bodies:
  post: {{fixed: true}}
  arm:
    bends: {{damping: 0}}
    parts:
      - {{{PIPE}, from: 0 0 0 mm, to: 657.785 0 239.414 mm}}
      - {{lump: 0.2 kg, at: 657.785 0 239.414 mm}}
joints: {{hinge: {{pin: [post, arm], at: 0 0 0 mm, axis: y}}}}
stops: {{pad: {{pin_stop: hinge, above: 20 deg, stiffness: 400 N*m/rad, damping: 0.6 N*m*s/rad}}}}
run: {{for: 0.5 s, step: 0.25 ms}}
"""
"""A 700 mm arm that falls 20 deg onto a stop."""


def test_an_arm_that_falls_on_a_stop() -> None:
    run = ran(ARM)
    # a chain of links with bending springs, Lagrange, stiff integrator, extrapolated from 8, 16 and 24 links
    assert run.loads.stops[0].value == pytest.approx(12.1, rel=0.02)
    assert run.loads.worst_joint is not None
    assert run.loads.worst_joint.value == pytest.approx(21.2, rel=0.02)
    tip = place(run, "arm", (0.657785, 0.0, 0.239414))
    assert tip[:, 2].min() == pytest.approx(-0.1145, rel=0.02)


def test_the_same_arm_stiff_is_twice_as_hard_on_its_stop() -> None:
    run = ran(ARM.replace("bends: {damping: 0}", "bends: false"), engine="exudyn")
    assert run.loads.stops[0].value == pytest.approx(23.34, rel=0.005)
    assert run.loads.stops[0].time == pytest.approx(0.2442, abs=5e-4)


@pytest.mark.parametrize(("load", "down", "back"), [(1, 0.30172, 0.05643), (10, 0.81061, 0.55500)])
def test_large_deflection(load: int, down: float, back: float) -> None:
    # A light cantilever with a weight at its end, lowered to rest by strong damping: the elastica.
    weight = load * STIFF / LENGTH**2 / 9.80665
    light = PIPE.replace("of: PVC}", "of: PVC}, mass: 0.1 g")
    text = mast(
        weight,
        bends="{damping: 0.7, pieces: 16}",
        to="600 0 0 mm",
        run="{for: 6 s, step: 4 ms, begin: straight}",
    )
    lowered = ran(text.replace(PIPE, light))
    tip = place(lowered, "mast", (0.6, 0.0, 0.0))[-1]
    assert -tip[2] / LENGTH == pytest.approx(down, rel=0.005)
    assert 1 - tip[0] / LENGTH == pytest.approx(back, rel=0.01)


def test_it_begins_as_the_elastica_hangs() -> None:
    weight = STIFF / LENGTH**2 / 9.80665
    light = PIPE.replace("of: PVC}", "of: PVC}, mass: 0.1 g")
    text = mast(weight, bends="{damping: 0.7, pieces: 16}", to="600 0 0 mm", run="{for: 10 ms, step: 1 ms}")
    tip = place(ran(text.replace(PIPE, light)), "mast", (0.6, 0.0, 0.0))[0]
    assert -tip[2] / LENGTH == pytest.approx(0.30172, rel=0.002)  # P L^2 / E I = 1
    assert 1 - tip[0] / LENGTH == pytest.approx(0.05643, rel=0.01)


@pytest.mark.parametrize(("speed", "first"), [(0, 3.51602), (3, 4.79728), (12, 13.17094)])
def test_a_turning_beam_flaps_faster(speed: int, first: float) -> None:
    # Turning about its root with a heavy hub that keeps its speed; a little weight lets it flap.
    pace = np.sqrt(STIFF / (MASS * LENGTH**3))
    text = f"""
rig: 1
name: Rotor
bodies:
  post: {{fixed: true}}
  hub: {{parts: [{{disc: 400 mm, thick: 50 mm, of: steel, at: 0 0 -30 mm, axis: z}}]}}
  blade:
    bends: {{damping: 0.003, pieces: 12}}
    parts: [{{{PIPE}, from: 0 0 0 mm, to: 600 0 0 mm}}]
joints:
  shaft: {{pin: [post, hub], at: 0 0 0 mm, axis: z}}
  root: {{fixed: [hub, blade], at: 0 0 0 mm}}
run:
  for: {16 / (first * pace / 2 / np.pi):.4f} s
  step: {1 / (first * pace / 2 / np.pi) / 150:.7f} s
  gravity: 20 m/s^2
  start_speeds: {{shaft: {speed * pace} rad/s}}
"""
    run = ran(text)
    tip = place(run, "blade", (0.6, 0.0, 0.0))[:, 2]
    late = len(tip) // 3  # what rings higher has died down by then
    at = crossings(run.track.time[late:], (tip - tip[late:].mean())[late:])
    found = (len(at) - 1) / (at[-1] - at[0]) * 2 * np.pi / pace
    assert found == pytest.approx(first, rel=0.01)


@pytest.mark.parametrize(("share", "stands"), [(0.97, True), (1.03, False)])
def test_a_column_gives_way_at_the_load_of_euler(share: float, stands: bool) -> None:
    # Pinned at both ends, pressed by a weight on a guide; a breath of side load starts it.
    weight = share * np.pi**2 * STIFF / LENGTH**2 / 9.80665
    text = f"""
rig: 1
name: Column
bodies:
  ground: {{fixed: true}}
  column:
    bends: {{damping: 0.5, pieces: 12}}
    parts: [{{{PIPE}, mass: 1 g, from: 0 0 0 mm, to: 0 0 600 mm}}]
  head: {{parts: [{{lump: {weight} kg, at: 0 0 600 mm}}]}}
joints:
  foot: {{pin: [ground, column], at: 0 0 0 mm, axis: y}}
  top: {{pin: [head, column], at: 0 0 600 mm, axis: y}}
  rail: {{slider: [ground, head], at: 0 0 600 mm, along: z}}
springs:
  breath: {{two_way: [ground, column], from: 500 0 300 mm, to: 0 0 300 mm, rate: 0.0001 N/m, free_length: 1 m}}
run: {{for: 12 s, step: 5 ms}}
"""
    run = ran(text)
    out = np.abs(place(run, "column", (0.0, 0.0, 0.3))[:, 0])
    assert bool(out.max() < 0.01) == stands


def test_stiffer_goes_to_rigid() -> None:
    rigid = ran(ARM.replace("bends: {damping: 0}", "bends: false"), engine="exudyn").loads.stops[0].value
    off = []
    for size in (21.3, 67.4):  # E I 1 and about 100 times, the mass kept
        wall = 2.75 if size < 30 else 8.7
        pipe = f"pipe: {{outside: {size} mm, wall: {wall} mm, of: PVC}}, mass: 157 g"
        text = ARM.replace(PIPE, pipe).replace("damping: 0}", "damping: 0, pieces: 6}")
        off.append(abs(ran(text).loads.stops[0].value / rigid - 1))
    assert off[0] > 0.3
    assert off[1] < 0.02
