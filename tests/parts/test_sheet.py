"""Sheets of any outline: mass and inertia against closed forms and a fine mesh, gaps, drawing, what cannot be."""

from __future__ import annotations

from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from simprop.errors import RigError
from simprop.geometry.placement import AS_DRAWN
from simprop.parts.kinds import PARTS
from simprop.parts.part import Shape
from simprop.report.strength import STRENGTH
from simprop.report.writers import plain
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G = 9.80665
PLY = 560.0


def placed(outline: list[str], holes: list[dict[str, str]] | None = None, thick: str = "6 mm") -> Shape:
    said = {"sheet": thick, "of": "plywood", "outline": outline, "holes": holes or []}
    return PARTS.read(said).place(AS_DRAWN, Path(), "it")


BAT = ["0 0 0 mm", "400 0 60 mm", "300 0 180 mm", "200 0 130 mm", "120 0 260 mm", "40 0 150 mm"]
HOLES = [{"at": "60 0 60 mm", "diameter": "30 mm"}, {"at": "250 0 110 mm", "diameter": "60 mm"}]


def test_a_rectangle_is_a_box() -> None:
    """m (b^2 + c^2) / 12 about each axis."""
    sheet = placed(["10 0 0 mm", "310 0 0 mm", "310 0 200 mm", "10 0 200 mm"])
    assert sheet.mass == pytest.approx(PLY * 0.3 * 0.2 * 0.006, rel=1e-12)
    assert sheet.weight.centre == pytest.approx([0.16, 0.0, 0.1])
    size = np.array([0.3, 0.006, 0.2])
    assert sheet.weight.inertia == pytest.approx(
        np.diag(sheet.mass / 12 * ((size**2).sum() - size**2)), abs=1e-15
    )
    _, axes, half = sheet.box()
    assert np.abs(axes) @ half == pytest.approx(size / 2)
    assert np.linalg.det(axes) == pytest.approx(1.0)


def test_a_triangle_and_a_hole_by_hand() -> None:
    """b h^3 / 36 about a side's direction through the centre, a third up; less the disc by Steiner."""
    three = placed(["0 0 0 mm", "600 0 0 mm", "150 0 300 mm"])
    area = 0.6 * 0.3 / 2
    assert three.mass == pytest.approx(PLY * area * 0.006)
    assert three.weight.centre == pytest.approx([0.25, 0.0, 0.1])
    across = three.weight.inertia[0, 0] / three.mass - 0.006**2 / 12
    assert across == pytest.approx(0.6 * 0.3**3 / 36 / area)
    bored = placed(["0 0 0 mm", "600 0 0 mm", "150 0 300 mm"], [{"at": "250 0 100 mm", "diameter": "80 mm"}])
    disc = pi / 4 * 0.08**2
    assert bored.mass == pytest.approx(PLY * (area - disc) * 0.006)
    left = (0.6 * 0.3**3 / 36 - disc * 0.08**2 / 16) / (area - disc)
    assert bored.weight.inertia[0, 0] / bored.mass - 0.006**2 / 12 == pytest.approx(left)


@pytest.mark.parametrize("turned", [1, -1])
def test_any_outline_weighs_as_its_mesh(turned: int) -> None:
    """The drawn surface as a mesh, its holes polygons: mass to 1e-9, inertia to 1e-4; in turn or against it."""
    sheet = placed(BAT[::turned], HOLES, thick="9 mm")
    (surface,) = sheet.surfaces()
    mesh = trimesh.Trimesh(surface.vertices, surface.faces, process=False)
    mesh.merge_vertices(merge_norm=True, merge_tex=True)
    assert mesh.is_watertight
    mesh.density = PLY
    assert mesh.mass == pytest.approx(sheet.mass, rel=1e-9)
    assert mesh.center_mass == pytest.approx(sheet.weight.centre, abs=1e-9)
    assert mesh.moment_inertia == pytest.approx(sheet.weight.inertia, abs=1e-4 * sheet.weight.inertia.max())


def test_its_boxes_cover_it_and_little_more() -> None:
    """Every point of the mesh lies in a box, what is a hand's width away or in a wide hole lies in none."""
    sheet = placed(BAT, HOLES)
    (surface,) = sheet.surfaces()
    mesh = trimesh.Trimesh(surface.vertices, surface.faces, process=False)
    spots, _ = trimesh.sample.sample_surface(mesh, 400, seed=1)
    assert max(sheet.gap(p) for p in spots) < 1e-9
    boxes = sheet.solids()
    volume = sum(float(np.prod(2 * box.half)) for box in boxes)
    assert len(boxes) < 120
    assert volume * PLY < 1.12 * sheet.mass
    assert sheet.gap(np.array([0.25, 0.0, 0.11])) > 0.02  # in the middle of the hole of 60 mm
    assert sheet.gap(np.array([0.06, 0.0, 0.06])) == 0.0  # the hole of 30 mm counts as filled
    assert sheet.gap(np.array([0.19, 0.0, 0.25])) > 0.03  # in the notch
    assert sheet.gap(np.array([0.06, 0.053, 0.06])) == pytest.approx(0.05)


def test_faces_and_fasteners() -> None:
    sheet = placed(BAT, HOLES)
    x, y, z = np.eye(3)
    assert sheet.face(y) == pytest.approx(sheet.mass / PLY / 0.006)
    assert placed(["0 0 0 mm", "300 0 0 mm", "300 0 200 mm", "0 0 200 mm"]).face(x) == pytest.approx(
        0.2 * 0.006
    )
    through, edge = sheet.through(y), sheet.through(z)
    assert through is not None
    assert edge is not None
    assert (through.size, edge.size) == (pytest.approx(0.006), pytest.approx(0.26))


RIG = """
rig: 1
name: bat wing
bodies:
  post: {fixed: true, parts: [{block: 60 x 20 x 1000 mm, of: pine, at: 0 30 500 mm}]}
  wing:
    parts:
      - {sheet: 6 mm, of: plywood, outline: [OUTLINE], holes: [HOLES]}
joints: {hub: {pin: [post, wing], at: 0 0 900 mm, axis: y, held_by: {bolt: M6, nut: nylon insert}}}
run: {for: 10 ms}
"""
SQUARE = "0 0 900 mm, 300 0 900 mm, 300 0 1100 mm, 0 0 1100 mm"


def rig_of(outline: str = SQUARE, holes: str = "") -> str:
    return RIG.replace("OUTLINE", outline).replace("HOLES", holes)


def test_it_falls_as_a_plate_and_its_hole_is_checked() -> None:
    """From level: alpha = m g x / (I + m r^2) with I = m (a^2 + b^2) / 12; the bolt bears on 6 mm of plywood."""
    run = simulate(parse_rig(rig_of()), "mujoco", settle=False)
    reach = 0.15**2 + 0.1**2
    alpha = G * 0.15 / ((0.3**2 + 0.2**2) / 12 + reach)
    assert abs(run.track.spin_acceleration[0, 1, 1]) == pytest.approx(alpha, rel=1e-4)
    assert any(c.name == "M6 bolt in wood" for c in run.strength.checks)
    assert "sheets" in plain(STRENGTH.of(run))
    metal = simulate(
        parse_rig(rig_of().replace("6 mm, of: plywood", "2 mm, of: aluminium")), "mujoco", settle=False
    )
    (bearing,) = [c for c in metal.strength.checks if "sheet" in c.place and "bearing" in c.name]
    thicker = simulate(
        parse_rig(rig_of().replace("6 mm, of: plywood", "4 mm, of: aluminium")), "mujoco", settle=False
    )
    (less,) = [c for c in thicker.strength.checks if "sheet" in c.place and "bearing" in c.name]
    assert bearing.demand == pytest.approx(less.demand / 2, rel=1e-3)
    assert bearing.margin == pytest.approx(less.margin, rel=1e-3)


@pytest.mark.parametrize(
    ("outline", "holes", "words"),
    [
        ("0 0 0 mm, 300 0 0 mm", "", "at least 3"),
        ("0 0 0 mm, 300 0 0 mm, 300 5 200 mm, 0 0 200 mm", "", "mm off one plane"),
        ("0 0 0 mm, 300 0 0 mm, 0 0 200 mm, 300 0 250 mm", "", "crosses itself"),
        ("0 0 0 mm, 300 0 0 mm, 600 0 0 mm", "", "encloses nothing"),
        ("0 0 0 mm, 300 0 0 mm, 300 0 0 mm, 0 0 200 mm", "", "are the same"),
        (SQUARE, "{at: 10 0 910 mm, diameter: 30 mm}", "hole 0 of 30 mm runs out of the outline"),
        (SQUARE, "{at: 50 10 950 mm, diameter: 30 mm}", "off one plane"),
        (
            SQUARE,
            "{at: 50 0 950 mm, diameter: 30 mm}, {at: 60 0 960 mm, diameter: 6 mm}",
            "runs into another",
        ),
    ],
)
def test_what_cannot_be_is_said(outline: str, holes: str, words: str) -> None:
    with pytest.raises(RigError, match=words):
        parse_rig(rig_of(outline, holes))


@pytest.mark.parametrize(
    "name", ["birch plywood", "EVA foam", "xps", "corrugated plastic", "hardboard", "foam board"]
)
def test_sheet_materials_are_known(name: str) -> None:
    said = {
        "sheet": "5 mm",
        "of": name,
        "outline": ["0 0 0 mm", "1000 0 0 mm", "1000 0 1000 mm", "0 0 1000 mm"],
    }
    assert 0.1 < PARTS.read(said).place(AS_DRAWN, Path(), "it").mass < 5.0
