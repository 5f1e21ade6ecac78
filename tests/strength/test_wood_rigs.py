"""Screws and bolts in wood from rig files: the load's angle to the grain, the thread's length, every yield mode."""

from __future__ import annotations

import pytest

import simprop
from simprop.rig.load import parse_rig

HEAD = """
rig: 1
name: Hanger
bodies:
  beam: {{fixed: true, parts: [{beam}]}}
  hanger:
    parts:
      - {hanger}
      - {{lump: {mass} kg, at: 0 0 -100 mm}}
joints:
  eye: {{{joint}}}
stand: {{anchored: true}}
run: {{for: 0.2 s}}
"""
WEIGHT = 9.80665


def _use(mass: float, beam: str, hanger: str, joint: str, name: str) -> float:
    """Share of its allowable load that the fastener bears."""
    rig = parse_rig(HEAD.format(beam=beam, hanger=hanger, mass=mass, joint=joint))
    found = simprop.simulate(rig, settle=False).strength
    check = next(c for c in found.checks if name in c.name and c.place == "eye")
    assert check.demand is not None
    return float(check.demand)


PLATE = "{bar: 50 x 3.4 mm, of: steel, from: 0 -1.7 -40 mm, to: 0 -1.7 40 mm, thin: y, mass: 1 g}"
LAG = (
    'fixed: [beam, hanger], at: 0 0 0 mm, held_by: {screw: "3/8 in lag", into: spruce-pine-fir, length: 4 in, '
    "through: 3.4 mm, along: y}"
)


@pytest.mark.parametrize(
    ("beam", "allowed"),
    [
        # level beam, load across the grain: 128 lbf by the yield mode IIIs (table 12K: 130)
        ("{bar: 140 x 38 mm, of: spruce-pine-fir, from: -400 19 0 mm, to: 400 19 0 mm, thin: y}", 569.0),
        # post, load along the grain: 200 lbf by the same mode, worked by hand
        ("{bar: 140 x 38 mm, of: spruce-pine-fir, from: 0 19 -400 mm, to: 0 19 400 mm, thin: y}", 889.0),
    ],
)
def test_a_lag_bears_less_across_the_grain(beam: str, allowed: float) -> None:
    assert _use(20, beam, PLATE, LAG, "lag") == pytest.approx((20.001 * WEIGHT) / allowed, rel=0.01)


@pytest.mark.parametrize(
    ("screw", "length", "mass", "allowed"),
    # lbf per inch (173 and 96) x inches of thread (1.84 and 1), AWC NDS appendix L
    [("1/4 in lag", "3 in", 50, 1421.0), ("#10 wood", "1-1/2 in", 10, 425.0)],
)
def test_only_the_thread_holds(screw: str, length: str, mass: float, allowed: float) -> None:
    beam = "{bar: 89 x 89 mm, of: spruce-pine-fir, from: -400 0 44.5 mm, to: 400 0 44.5 mm}"
    hanger = "{bar: 50 x 3.2 mm, of: steel, from: -40 0 -1.6 mm, to: 40 0 -1.6 mm, thin: z, mass: 1 g}"
    held = f'held_by: {{screw: "{screw}", into: spruce-pine-fir, length: {length}, along: z}}'
    joint = f"fixed: [beam, hanger], at: 0 0 0 mm, {held}"
    assert _use(mass, beam, hanger, joint, screw) == pytest.approx(mass * WEIGHT / allowed, rel=0.01)


@pytest.mark.parametrize(
    ("turned", "allowed"),
    [(False, 838.0), (True, 1608.0)],  # mode II, both boards across the grain, both along
)
def test_a_bolt_through_two_boards(turned: bool, allowed: float) -> None:
    if turned:
        beam = "{bar: 140 x 38 mm, of: douglas fir, from: 0 19 -400 mm, to: 0 19 400 mm, thin: y}"
        board = (
            "{bar: 89 x 38 mm, of: douglas fir, from: 0 -19 -200 mm, to: 0 -19 300 mm, thin: y, mass: 1 g}"
        )
    else:
        beam = "{bar: 140 x 38 mm, of: douglas fir, from: -400 19 0 mm, to: 400 19 0 mm, thin: y}"
        board = (
            "{bar: 89 x 38 mm, of: douglas fir, from: -200 -19 0 mm, to: 300 -19 0 mm, thin: y, mass: 1 g}"
        )
    joint = (
        "pin: [beam, hanger], at: 0 0 0 mm, axis: y, friction: 10 N*m, held_by: {bolt: 3/8-16, grade: 2, "
        "nut: nylon insert, shear: single, edge: 100 mm, sleeve: true}"
    )
    assert _use(20, beam, board, joint, "in wood") == pytest.approx(20.001 * WEIGHT / allowed, rel=0.01)
