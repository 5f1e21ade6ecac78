"""Holes: where joints drill the parts, what is left behind them, and which parts are drilled alike."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.making.holes import holes, left_behind, pattern
from simprop.making.numbers import part_numbers
from simprop.rig.load import load_rig, parse_rig

RIGS = Path(__file__).parents[2] / "rigs"


def shapes(assembly: Assembly) -> dict[tuple[str, int], object]:
    return {(b.name, i): s for b in assembly.drawn for i, s in enumerate(b.shapes)}


def test_a_crank_is_drilled_for_its_shaft_and_its_pin() -> None:
    """By the rig: a bar from shaft to pin, 50 mm apart; a 10 mm shaft, and a 1/4 in bolt (6.35 mm)."""
    assembly = assemble(load_rig(RIGS / "wall_peeper.yaml"))
    shaft, pin = holes(assembly)["crank", 0]
    assert (shaft.diameter, pin.diameter) == (pytest.approx(0.010), pytest.approx(0.00635))
    assert np.linalg.norm(shaft.at - pin.at) == pytest.approx(0.050, abs=1e-9)
    assert abs(float(pin.way @ np.array([0.0, 1.0, 0.0]))) == pytest.approx(1.0)
    assert ("stand", 0) not in holes(assembly)
    # Two diameters behind a hole in steel, three in PVC (common practice of design texts).
    assert left_behind(shapes(assembly)["crank", 0], (shaft, pin)) == pytest.approx((0.020, 0.0127))  # type: ignore[arg-type]
    rod = left_behind(shapes(assembly)["rod", 0], holes(assembly)["rod", 0])  # type: ignore[arg-type]
    assert rod == pytest.approx((0.01905, 0.01905))


FRAME = """
rig: 1
name: Two arms
bodies:
  post:
    fixed: true
    parts:
      - {bar: 40 x 18 mm, of: pine, from: 0 20 0 mm, to: 0 20 800 mm}
      - sheet: 6 mm
        of: plywood
        outline: [0 60 0 mm, 300 60 0 mm, 0 60 200 mm]
        holes: [{at: 50 60 50 mm, diameter: 20 mm}]
  one: {parts: [{bar: 30 x 12 mm, of: pine, from: 0 0 700 mm, to: 0 0 500 mm}]}
  two: {parts: [{bar: 30 x 12 mm, of: pine, from: 0 0 100 mm, to: 0 0 300 mm}]}
  box: {parts: [{bar: 30 x 12 mm, of: pine, from: 200 0 0 mm, to: 200 0 200 mm}]}
  rod: {parts: [{rod: 6 mm, of: steel, from: 200 0 100 mm, to: 400 0 100 mm}]}
joints:
  upper: {pin: [post, one], at: 0 0 660 mm, axis: y, held_by: {bolt: M6}}
  lower: {pin: [post, two], at: 0 0 PLACE mm, axis: y, held_by: {bolt: M6}}
  held: {fixed: [post, box], at: 200 0 100 mm, held_by: {bolt: M5, count: 2, spacing: 80 mm, along: y}}
  eye: {pin: [box, rod], at: 200 0 100 mm, axis: y, held_by: {bolt: M6}}
run: {for: 1 s}
"""


@pytest.mark.parametrize(("place", "alike"), [("140", True), ("260", True), ("150", False)])
def test_parts_are_alike_only_where_their_holes_are(place: str, alike: bool) -> None:
    """40 mm from one end is 40 mm from the other, turned round; 50 mm is not."""
    assembly = assemble(parse_rig(FRAME.replace("PLACE", place)))
    found, parts = holes(assembly), shapes(assembly)
    one, two = (pattern(parts[key, 0], found[key, 0]) for key in ("one", "two"))  # type: ignore[arg-type]
    assert (one == two) is alike
    numbers = part_numbers(assembly).of
    assert (numbers["one", 0] == numbers["two", 0]) is alike
    assert numbers["one", 0] != numbers["box", 0]  # the same bar, drilled otherwise


def test_rows_sheets_and_eyes() -> None:
    assembly = assemble(parse_rig(FRAME.replace("PLACE", "140")))
    found = holes(assembly)
    row = [h for h in found["box", 0] if h.joint == "held"]
    assert np.linalg.norm(row[0].at - row[1].at) == pytest.approx(0.080)
    (bored,) = found["post", 1]
    assert bored.diameter == pytest.approx(0.020)
    assert ("rod", 0) not in found  # a 6 mm bolt makes no hole in a 6 mm rod: it has an eye
    assert left_behind(shapes(assembly)["one", 0], found["one", 0]) == (0.0, 0.0)  # type: ignore[arg-type]  # 40 mm are there
