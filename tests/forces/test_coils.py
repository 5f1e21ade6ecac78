"""Springs of stated wire: rate, weight, stress; against worked examples of a machine-design textbook and closed forms.

The examples (a compression spring of 0.037 in music wire, an extension spring of 0.035 in hard-drawn wire): Shigley,
Mechanical Engineering Design, chapter on mechanical springs, from memory.
"""

from __future__ import annotations

from math import pi, sqrt, tan

import numpy as np
import pytest
from scipy.optimize import brentq

import simprop
from simprop.assembly.assemble import assemble
from simprop.catalog.spring_wires import wire
from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.rules import coils

INCH, LBF, PSI, G = 0.0254, 4.4482216, 6894.757, 9.80665

HUNG = """
rig: 1
name: Hung
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 20 mm, of: pine, at: 0 0 1000 mm}]}
  bob: {parts: [{lump: MASS, at: 0 0 400 mm}]}
joints: {slide: {slider: [post, bob], at: 0 0 400 mm, along: z}}
springs:
  it: {extension: [post, bob], from: 0 0 990 mm, to: 0 0 400 mm, free_length: 300 mm, coil: {COIL}}
run: {for: 3 s, step: 1 ms}
"""
COIL = "wire: 2 mm, mean: 30 mm, coils: 60"


def hung(coil: str = COIL, mass: str = "1 kg") -> simprop.Rig:
    return parse_rig(HUNG.replace("COIL", coil).replace("MASS", mass))


def test_a_textbook_compression_spring() -> None:
    """0.037 in wire, 0.4 in coil, 10.5 active: 4.13 lbf/in; K 1.124; 6.46 lbf yields it at 146 kpsi of 324 kpsi."""
    music = wire("music wire")
    assert coils.rate(11.85e6 * PSI, 0.037 * INCH, 0.4 * INCH, 10.5) == pytest.approx(
        4.13 * LBF / INCH, rel=2e-3
    )
    assert music.ultimate(0.037 * INCH) == pytest.approx(324e3 * PSI, rel=0.005)
    assert coils.shear_stress(6.46 * LBF, 0.037 * INCH, 0.4 * INCH) == pytest.approx(146e3 * PSI, rel=5e-3)
    assert music.torsion * music.ultimate(0.037 * INCH) == pytest.approx(146e3 * PSI, rel=5e-3)


def test_bergstraesser_stays_near_wahl() -> None:
    """(4 C - 1) / (4 C - 4) + 0.615 / C, within 1.6 % from C = 3 to 20."""
    for index in (3.0, 4.0, 6.0, 12.0, 20.0):
        wahl = (4 * index - 1) / (4 * index - 4) + 0.615 / index
        plain = 8 * index / pi  # 8 F D / (pi d^3) of 1 N on 1 m
        assert coils.shear_stress(1.0, 1.0, index) / plain == pytest.approx(wahl, rel=0.016)


def test_a_textbook_hook() -> None:
    """0.035 in wire, 0.213 in coil, 5.25 lbf: 156.9 kpsi in the hook."""
    assert coils.hook_stress(5.25 * LBF, 0.035 * INCH, 0.213 * INCH) == pytest.approx(156.9e3 * PSI, rel=0.01)


def test_rate_and_weight_come_of_the_coil() -> None:
    """G d^4 / (8 D^3 n); wire of 62 coils with its two hooks, pi D each."""
    rig = hung()
    assert rig.springs["it"].line().law.rate == pytest.approx(81e9 * 0.002**4 / (8 * 0.03**3 * 60))
    weight = 7850 * pi / 4 * 0.002**2 * pi * 0.03 * 62
    bodies = {b.name: b.mass for b in assemble(rig).bodies}
    assert bodies["bob"] - 1.0 == pytest.approx(weight / 3)
    bare = parse_rig(HUNG.replace("coil: {COIL}", "rate: 100 N/m").replace("MASS", "1 kg"))
    post = next(b.mass for b in assemble(bare).bodies if b.name == "post")
    assert bodies["post"] - post == pytest.approx(2 * weight / 3)
    assert any("a third at the end that moves" in words for words in rig.told)


def test_between_two_bodies_that_move_each_end_takes_a_half() -> None:
    text = (
        HUNG.replace("COIL", COIL)
        .replace("MASS", "1 kg")
        .replace("joints: {", "joints: {low: {slider: [post, other], at: 0 0 700 mm, along: z}, ")
    )
    text = text.replace("  bob:", "  other: {parts: [{lump: 1 kg, at: 0 0 700 mm}]}\n  bob:")
    text = text.replace(
        "extension: [post, bob], from: 0 0 990 mm", "extension: [other, bob], from: 0 0 700 mm"
    )
    masses = {b.name: b.mass for b in assemble(parse_rig(text)).bodies}
    weight = 7850 * pi / 4 * 0.002**2 * pi * 0.03 * 62
    assert masses["bob"] - 1 == pytest.approx(weight / 2)
    assert masses["other"] - 1 == pytest.approx(weight / 2)


@pytest.mark.parametrize("engine", ["mujoco", "bullet", "exudyn"])
def test_a_heavy_spring_swings_slower(engine: str) -> None:
    """A spring half as heavy as its weight: b tan b = m / M with b = w sqrt(m / k) (any text on vibration); a third of
    it at the end is 0.5 % off that, none of it 8 %."""
    weight = 7850 * pi / 4 * 0.002**2 * pi * 0.03 * 62
    text = HUNG.replace("COIL", COIL).replace("MASS", f"{2 * weight * 1e3:.9g} g")
    rig = parse_rig(text.replace("free_length: 300 mm", "free_length: 565 mm"))  # it doesn't go slack
    run = simprop.simulate(rig, engine, settle=False)
    at = run.track.coordinate[:, 0]
    middle = at - (at.max() + at.min()) / 2
    crossing = np.flatnonzero((middle[:-1] < 0) != (middle[1:] < 0))
    time = run.track.time[crossing] - middle[crossing] * run.track.step / np.diff(middle)[crossing]
    period = 2 * float(np.mean(np.diff(time)))
    rate = rig.springs["it"].stiff
    b = brentq(lambda x: x * tan(x) - 0.5, 0.01, 1.5)
    assert period == pytest.approx(2 * pi / (b * sqrt(rate / weight)), rel=0.01)


def test_wire_and_hook_are_checked() -> None:
    run = simprop.simulate(hung(), settle=False)
    most = float(np.abs(run.track.line_force).max())
    found = {c.name: c for c in run.strength.checks if c.place == "spring it"}
    strength = 2211e6 / 2**0.145
    assert found["wire in torsion"].demand == pytest.approx(coils.shear_stress(most, 0.002, 0.03))
    assert found["wire in torsion"].capacity == pytest.approx(0.45 * strength)
    assert found["hook in bending"].capacity == pytest.approx(0.75 * strength)


def test_a_compression_spring_closes_up_on_its_coils() -> None:
    """20 coils of 2 mm are 40 mm; 18 of them give."""
    text = HUNG.replace(
        "extension: [post, bob], from: 0 0 990 mm", "compression: [post, bob], from: 0 0 330 mm"
    )
    text = text.replace("free_length: 300 mm", "free_length: 90 mm").replace("MASS", "3 kg")
    run = simprop.simulate(
        parse_rig(
            text.replace("COIL", "wire: 2 mm, mean: 20 mm, coils: 20").replace("for: 3 s", "for: 0.5 s")
        ),
        settle=False,
    )
    assert run.rig.springs["it"].stiff == pytest.approx(81e9 * 0.002**4 / (8 * 0.02**3 * 18))
    found = next(c for c in run.strength.checks if c.name == "coils close up")
    lengths = np.linalg.norm(run.track.line_end[:, 0] - run.track.line_start[:, 0], axis=1)
    assert (found.demand, found.capacity) == pytest.approx((0.04, float(lengths.min())))


def test_an_actuator_weighs_on_its_ends() -> None:
    text = HUNG.replace("COIL", COIL).replace("MASS", "1 kg")
    ram = "between: [post, bob], from: 50 0 990 mm, to: 50 0 700 mm, motor: linear 330, weighs: true"
    pusher = f"pushers: {{ram: {{{ram}}}}}\n"
    with_it = {b.name: b.mass for b in assemble(parse_rig(text + pusher)).bodies}
    without = {b.name: b.mass for b in assemble(parse_rig(text)).bodies}
    assert with_it["bob"] - without["bob"] == pytest.approx(1.2 / 2)
    assert with_it["post"] - without["post"] == pytest.approx(1.2 / 2)


@pytest.mark.parametrize(
    ("coil", "words"),
    [
        ("wire: 2 mm, mean: 5 mm, coils: 20", "a coil of 2.5 wire diameters"),
        ("wire: 2 mm, mean: 30 mm, coils: 20, active: 30", "more coils give than there are"),
        ("wire: 2 mm, mean: 30 mm, coils: 20, of: musik wire", "did you mean 'music wire'"),
        ("wire: 2 mm, mean: 30 mm", "this key is missing"),
    ],
)
def test_a_coil_that_cannot_be_is_one_fault(coil: str, words: str) -> None:
    with pytest.raises(RigError) as caught:
        hung(coil)
    assert len(caught.value.faults) == 1
    assert words in str(caught.value)
    assert caught.value.faults[0].line == 9


def test_without_rate_or_coil_it_is_not_known() -> None:
    with pytest.raises(RigError, match="how stiff it is isn't known"):
        parse_rig(HUNG.replace(", coil: {COIL}", "").replace("MASS", "1 kg"))
