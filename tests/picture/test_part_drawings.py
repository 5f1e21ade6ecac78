"""The drawings of the build notes: sizes add up, holes are where the joints are, nothing lies over anything else."""

from __future__ import annotations

import re
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.making.numbers import part_numbers
from simprop.picture.chart.arrangement import arrangements
from simprop.picture.chart.drawn import Drawing, words_box
from simprop.picture.chart.labels import shared
from simprop.picture.chart.part_drawings import PartDrawing, part_drawing
from simprop.rig.load import load_rig, parse_rig

RIGS = sorted((Path(__file__).parent.parent.parent / "rigs").glob("*.yaml"))
SOME = [r for r in RIGS if r.stem in ("lantern_grabber", "two_head", "night_watch", "well_ghost", "flap_owl")]


def rig(name: str) -> Assembly:
    return assemble(load_rig(next(r for r in RIGS if r.stem == name)))


def of_parts(assembly: Assembly) -> dict[str, PartDrawing]:
    """Drawings of the cut parts of a prop, by their names."""
    rows = [(part, part.pieces[0]) for part in part_numbers(assembly).parts]
    return {f"{part.number} {part.name}": part_drawing(piece) for part, piece in rows if piece.cut_from}


def numbers_in(drawing: Drawing) -> list[float]:
    return [float(w.text) for w in drawing.words if re.fullmatch(r"[0-9.]+", w.text)]


def inside(drawing: Drawing) -> None:
    wide, tall = drawing.size
    for left, low, right, high in [*(p.box for p in drawing.labels), *map(words_box, drawing.words)]:
        assert left > -0.2
        assert low > -0.2
        assert right < wide + 0.2
        assert high < tall + 0.2
    for line in drawing.lines:
        assert (line.points >= -0.1).all()
        assert (line.points <= np.array(drawing.size) + 0.1).all()


@pytest.mark.parametrize("path", SOME, ids=lambda p: p.stem)
def test_no_label_lies_over_another_or_leaves_its_sheet(path: Path) -> None:
    assembly = assemble(load_rig(path))
    sheets = [v.drawing for v in arrangements(assembly, None, part_numbers(assembly))]
    sheets += [d.drawing for d in of_parts(assembly).values()]
    for sheet in sheets:
        inside(sheet)
        for one, two in combinations([p.box for p in sheet.labels], 2):
            assert shared(one, two) == 0
        for one, two in combinations(map(words_box, sheet.words), 2):
            assert shared(one, two) < 0.2
        assert sheet.size[0] <= 180.0


def test_a_crank_has_its_holes_as_far_apart_as_its_pivots() -> None:
    """By the rig: 50 mm from shaft to pin in a bar of 25 x 3 mm, with 20 and 12.7 mm behind them."""
    sheet = next(d for name, d in of_parts(rig("wall_peeper")).items() if "crank" in name).drawing
    said = [w.text for w in sheet.words]
    assert {"20", "50", "12.7", "82.7", "25", "3"} == set(said)
    assert {p.label.text for p in sheet.labels} == {"Ø10 shaft", "Ø6.35 crankpin"}


SWING = """
rig: 1
name: Slots and sheets
bodies:
  post:
    fixed: true
    parts:
      - {sheet: 6 mm, of: plywood, outline: [0 0 0 mm, 300 0 0 mm, 300 0 80 mm, 0 0 200 mm], holes: [{at: 60 0 50 mm, diameter: 20 mm}]}
  arm: {parts: [{bar: 40 x 9 mm, of: pine, from: 100 0 400 mm, to: 100 0 40 mm}]}
  pin: {parts: [{rod: 10 mm, of: steel, from: 100 -40 150 mm, to: 100 40 150 mm}]}
joints:
  hip: {pin: [post, arm], at: 100 0 380 mm, axis: y, held_by: {bolt: M8}}
  stud: {pin_in_slot: [arm, pin], at: 100 0 150 mm, axis: y, from: 100 0 100 mm, to: 100 0 200 mm, diameter: 6 mm}
run: {for: 1 s}
"""  # noqa: E501


def test_slots_outlines_and_holes_are_measured() -> None:
    found = of_parts(assemble(parse_rig(SWING)))
    sheet, arm = (next(d.drawing for name, d in found.items() if word in name) for word in ("sheet", "arm"))
    # The hole: 60 mm from the left corner, 50 mm up; corners at 80 and 200 mm, on a base of 300 mm.
    assert {60.0, 240.0, 300.0, 50.0, 6.0} <= set(numbers_in(sheet))
    # The slot's ends 60 and 160 mm from the low end, the bolt 20 mm (less than its 24) from the upper one.
    assert {60.0, 100.0, 180.0, 360.0} <= set(numbers_in(arm))
    assert "slot 6 x 106 stud" in {p.label.text for p in arm.labels}


def test_places_of_joints_are_those_of_the_rig() -> None:
    """Of the lantern grabber: its shoulder 900 mm up, 87 mm to the right of its shaft, which is 620 mm up."""
    assembly = rig("lantern_grabber")
    front, side, _ = arrangements(assembly, None, part_numbers(assembly))
    assert front.datum == "shaft"
    said = [w.text for w in front.drawing.words]
    assert {"900", "620", "950", "87", "0", "925", "1218"} <= set(said)
    assert (front.view, side.view) == ("Front", "Side, from the right")


@pytest.mark.parametrize("path", SOME, ids=lambda p: p.stem)
def test_each_part_has_its_number_in_one_view(path: Path) -> None:
    assembly = assemble(load_rig(path))
    numbers = part_numbers(assembly)
    texts = [p.label.text for v in arrangements(assembly, None, numbers) for p in v.drawing.labels]
    assert sorted(t for t in texts if t.isdigit()) == sorted(str(n) for n in numbers.of.values())


def test_lines_are_of_few_widths_and_dark_enough_to_print_grey() -> None:
    """Two widths, 1 : 2 as ISO 128-2 has them (from memory); joints are the only marks with a colour."""
    assembly = rig("wall_peeper")
    for view in arrangements(assembly, None, part_numbers(assembly)):
        assert {line.width for line in view.drawing.lines} - {0.0, 0.35, 0.8, 0.9, 1.1} == set()
    for part in of_parts(assembly).values():
        assert {line.width for line in part.drawing.lines} == {0.35, 0.8}
        for line in part.drawing.lines:
            red, green, blue = (int(line.ink[k : k + 2], 16) for k in (1, 3, 5))
            assert 0.2126 * red + 0.7152 * green + 0.0722 * blue < 110


def test_cut_lengths_are_those_of_the_drawings() -> None:
    """What the cut list says is what is drawn, along the bottom of each long part."""
    for name in ("wall_peeper", "two_head", "cross_scarecrow"):
        for part in part_numbers(rig(name)).parts:
            piece = part.pieces[0]
            if piece.lengths and len(piece.shape.path) == 2:
                said = numbers_in(part_drawing(piece).drawing)
                for length in piece.lengths:
                    assert min(abs(v - 1000 * length) for v in said) < 0.06
