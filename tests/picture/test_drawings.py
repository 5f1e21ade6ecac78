"""Drawings: one scale, one ground, sizes of the parts, nothing hidden, no label over another; and the quick look."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.commands.check import check_rig
from simprop.engine.acting.actuation import actuate
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.geometry.finish import Finish
from simprop.geometry.solids import box, cylinder
from simprop.geometry.surface import join
from simprop.picture.chart.drawings import drawing, sheet_for
from simprop.picture.chart.drawn import Drawing, Line, words_box
from simprop.picture.chart.labels import shared
from simprop.picture.chart.look import SENSE, TOUCH, looked
from simprop.picture.chart.outlines import outline
from simprop.picture.chart.paper import arranged, on_paper
from simprop.picture.chart.pieces import outlines, pieces, pose_at
from simprop.rig.load import load_rig, parse_rig

RIGS = sorted((Path(__file__).parent.parent.parent / "rigs").glob("*.yaml"))
WHITE = Finish((1.0, 1.0, 1.0))


def rig(name: str) -> Assembly:
    return assemble(load_rig(next(r for r in RIGS if r.stem == name)))


def area(ring: np.ndarray) -> float:
    """Signed, counter-clockwise above 0 (the shoelace formula)."""
    x, y = ring.T
    return float(0.5 * (x @ np.roll(y, -1) - y @ np.roll(x, -1)))


def sheets(assembly: Assembly) -> list[Drawing]:
    plain = [drawing(assembly, None, looks=looks) for looks in (True, False)]
    return [*plain, looked(assembly, actuate(assembly))]


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_no_label_lies_over_another_or_leaves_the_sheet(path: Path) -> None:
    for sheet in sheets(assemble(load_rig(path))):
        boxes = [p.box for p in sheet.labels]
        assert len(boxes) > 2
        for one, two in combinations(boxes, 2):
            assert shared(one, two) == 0
        wide, tall = sheet.size
        for left, low, right, high in [*boxes, *(words_box(w) for w in sheet.words)]:
            assert left > 8
            assert low > 8
            assert right < wide - 8
            assert high < tall - 8
        for line in sheet.lines:
            assert (line.points >= 7.9).all()
            assert (line.points <= np.array(sheet.size) - 7.9).all()


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_views_share_a_scale_and_line_up(path: Path) -> None:
    """Third angle: the same heights beside, the same widths above, depths the same in the side and top view."""
    assembly = assemble(load_rig(path))
    shown = pieces(assembly, pose_at(assembly, None, 0.0), looks=True)
    paper = sheet_for(shown, [])
    front, side, top = (
        np.concatenate([ring for p in shown for ring in outlines(p, paper, view)]) for view in paper.views
    )
    assert front[:, 1].min() == pytest.approx(side[:, 1].min(), abs=0.2)
    assert front[:, 1].max() == pytest.approx(side[:, 1].max(), abs=0.2)
    assert front[:, 0].min() == pytest.approx(top[:, 0].min(), abs=0.2)
    assert front[:, 0].max() == pytest.approx(top[:, 0].max(), abs=0.2)
    assert np.ptp(side[:, 0]) == pytest.approx(np.ptp(top[:, 1]), abs=0.3)
    assert top[:, 1].min() > front[:, 1].max()
    assert side[:, 0].min() > front[:, 0].max()
    ground = [float(on_paper(paper, view, np.zeros(3))[1]) for view in paper.views[:2]]
    assert ground[0] == ground[1]


def test_sizes_are_those_of_the_parts_with_looks_beside() -> None:
    """Of the peeper, by its rig: 1051 mm from the ground to the top of the hat as cut; a base of 300 mm."""
    said = [w.text for w in drawing(rig("wall_peeper"), None).words]
    assert "1051 (with looks 1157)" in said
    assert "300" in said
    assert any("without scenery" in text for text in said)
    assert any("third-angle projection" in text for text in said)


def test_nothing_lies_over_the_mechanism_from_above() -> None:
    """The hat and head over the four-bar are outlines; what has a face is no larger than its own parts."""
    assembly = rig("sway_head")
    shown = pieces(assembly, pose_at(assembly, None, 0.0), looks=True)
    sheet = drawing(assembly, None)
    dressed = [p for p in shown if p.dressed]
    assert len(dressed) == 2
    filled = [line for line in sheet.lines if line.fill is not None]
    assert len(filled) == 3 * (len(shown) - len(dressed))
    hats = [line for line in sheet.lines if line.closed and line.fill is None and line.width == 0.45]
    assert len(hats) == 3 * len(dressed)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("well_lid", {"pusher lift", "pull strut"}),
        ("gate_grabber", {"motor drive", "spring lift"}),
        ("cider_press", {"pusher ram", "motor turn"}),
    ],
)
def test_what_drives_it_is_drawn_and_named(name: str, words: set[str]) -> None:
    assembly = rig(name)
    sheet = drawing(assembly, None, looks=False)
    assert words <= {p.label.text for p in sheet.labels}
    shown = pieces(assembly, pose_at(assembly, None, 0.0), looks=False)
    assert sum(p.body < 0 for p in shown) == len(assembly.rig.lines)
    rings = [
        line for line in sheet.lines if line.closed and len(line.points) == 40 and line.fill is None
        and np.ptp(line.points[:, 0]) == pytest.approx(5.6, abs=0.1)
    ]  # fmt: skip
    assert len(rings) == 3 * len(assembly.rig.motors)


def test_travel_is_said_once_in_all_three_ways(peeper: Assembly, run: Trajectory) -> None:
    from dataclasses import replace

    watching = replace(peeper, rig=peeper.rig.model_copy(update={"watch": ("crankpin",)}))
    said = [p.label.text for p in drawing(watching, run).labels]
    assert "crankpin travels 120 across, 120 up" in said


def test_an_outline_with_a_bay_and_one_with_a_hole() -> None:
    """An L of two bars and a ring, against their areas, within the size of a cell round them."""
    legs = [
        box(np.array([0.1, 0.01, 0.02]), WHITE, 0.0).moved(np.eye(3), np.array([0.05, 0.0, 0.01])),
        box(np.array([0.02, 0.01, 0.1]), WHITE, 0.0).moved(np.eye(3), np.array([0.01, 0.0, 0.05])),
    ]
    flat = [200 * s.vertices[:, [0, 2]] for s in legs]
    (ring,) = outline(legs, flat)
    assert abs(area(ring)) == pytest.approx(20 * 4 + 16 * 4, rel=0.02)
    four = [
        cylinder(np.array([x, 0, z]), np.array([u, 0, w]), 0.01, WHITE)
        for (x, z), (u, w) in zip(
            [(0, 0), (0.1, 0), (0.1, 0.1), (0, 0.1)], [(0.1, 0), (0.1, 0.1), (0, 0.1), (0, 0)], strict=True
        )
    ]
    whole = join(four)
    rings = outline([whole], [200 * whole.vertices[:, [0, 2]]])
    assert len(rings) == 2
    outer, inner = sorted((abs(area(r)) for r in rings), reverse=True)
    assert outer == pytest.approx(22**2 - 4, rel=0.02)  # its corners have notches of 1 mm a side
    assert inner == pytest.approx(18**2, rel=0.02)
    assert np.sign(area(rings[0])) != np.sign(area(rings[1]))


def test_the_sheet_is_filled_but_not_left() -> None:
    for size in ((0.5, 0.3, 1.0), (3.0, 0.5, 0.4), (0.02, 0.02, 0.05), (0.0, 0.0, 2.0)):
        paper = arranged(np.zeros(3), np.array(size))
        for view in paper.views:
            corner = on_paper(paper, view, np.array(size))
            assert (corner < np.array(paper.size) - 40).all()
        assert paper.size in ((420.0, 297.0), (297.0, 420.0))
    with pytest.raises(RenderError, match="no size"):
        arranged(np.zeros(3), np.zeros(3))


def arcs(sheet: Drawing) -> list[Line]:
    return [line for line in sheet.lines if line.ink == SENSE and len(line.points) > 2]


def straight(sheet: Drawing) -> list[Line]:
    return [line for line in sheet.lines if line.ink == SENSE and len(line.points) == 2 and line.width > 1]


def test_curved_arrows_follow_the_right_hand() -> None:
    """Seen along an axis that points away from the viewer a positive turn is clockwise, towards the viewer not."""
    away, towards = (looked(a, actuate(a)) for a in (rig("gate_ghost"), rig("gate_grabber")))
    assert len(arcs(away)) == len(arcs(towards)) == 4
    assert all(area(line.points) < 0 for line in arcs(away))  # axes y
    assert all(area(line.points) > 0 for line in arcs(towards))  # axes -y


def test_straight_arrows_point_along_a_slide() -> None:
    lines = straight(looked(rig("wall_peeper"), actuate(rig("wall_peeper"))))
    assert len(lines) == 2  # front and side; from above it points at the viewer
    for line in lines:
        assert line.points[1] - line.points[0] == pytest.approx([0.0, 13.0], abs=1e-6)


def test_the_quick_look_names_all() -> None:
    assembly = rig("gate_grabber")
    said = " | ".join(p.label.text for p in looked(assembly, actuate(assembly)).labels)
    for joint in assembly.joints:
        one, two = (assembly.bodies[i].name for i in (joint.first, joint.second))
        assert f"{joint.name}: {two} on {one}" in said
    for name in [*assembly.rig.points, "motor drive", "spring lift", *(b.name for b in assembly.bodies)]:
        assert name in said


CASTER = """
rig: 1
name: Cart
points: {foot: 0 0 0 mm}
bodies:
  cart:
    parts:
      - {block: 200 x 200 x 20 mm, of: pine, at: 0 0 40 mm}
contacts:
  left: {ball: cart, at: -80 -80 15 mm, diameter: 30 mm, friction: 0.3, of: pine}
  right: {ball: cart, at: 80 -80 15 mm, diameter: 30 mm, friction: 0.3, of: pine}
  back: {ball: cart, at: 0 80 15 mm, diameter: 30 mm, friction: 0.3, of: pine}
run: {for: 1 s}
"""


def test_contacts_are_triangles_under_what_touches() -> None:
    assembly = assemble(parse_rig(CASTER))
    sheet = looked(assembly, actuate(assembly))
    triangles = [line for line in sheet.lines if line.ink == TOUCH]
    assert len(triangles) == 6  # three contacts, in front and side; from above they would be dots
    for line in triangles:
        tip, *base = line.points
        assert all(tip[1] > corner[1] for corner in base)
    assert sum("on floor" in p.label.text for p in sheet.labels) == 3


def test_check_draws_beside_its_report(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = next(r for r in RIGS if r.stem == "sway_head")
    assert check_rig(path, {}, draw=True, out=tmp_path) == 0
    assert "look.svg" in capsys.readouterr().out.replace("\n", "")
    assert "<!-- neck: head on stand" in (tmp_path / "look.svg").read_text()
    assert check_rig(path, {}, out=tmp_path / "none") == 0
    assert not (tmp_path / "none").exists()
