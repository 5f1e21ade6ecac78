"""Masses, centres and inertias of the part kinds against closed forms; what is done wrong is said with its place."""

from __future__ import annotations

from math import pi
from pathlib import Path

import numpy as np
import pytest
import trimesh

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly, BodyData
from simprop.errors import AssemblyError, RigError
from simprop.rig.load import load_rig, parse_rig

INCH = 0.0254
STEEL, PVC, FOAM = 7850.0, 1400.0, 30.0
RIG = """
rig: 1
name: parts
bodies:
  post: {fixed: true}
  one: {parts: [PARTS]}
joints: {hook: {ball: [post, one], at: 0 0 0 mm}}
run: {for: 1 s}
"""


def assembled(parts: str) -> Assembly:
    return assemble(parse_rig(RIG.replace("PARTS", parts)))


def body(parts: str) -> BodyData:
    return assembled(parts).bodies[1]


def test_rod_is_a_cylinder():
    """m = rho pi R^2 L; m R^2 / 2 about its line, m (3 R^2 + L^2) / 12 across."""
    rod = body("{rod: 20 mm, of: steel, mass: 2 kg, from: 0 0 0 mm, to: 300 0 400 mm}")
    along = np.array([0.6, 0.0, 0.8])
    assert rod.mass == 2.0
    assert rod.com == pytest.approx([0.15, 0.0, 0.2])
    assert along @ rod.inertia @ along == pytest.approx(2 * 0.01**2 / 2)
    assert rod.inertia[1, 1] == pytest.approx(2 / 12 * (3 * 0.01**2 + 0.5**2))
    plain = body("{rod: 20 mm, of: steel, from: 0 0 0 mm, to: 0 0 500 mm}")
    assert plain.mass == pytest.approx(STEEL * pi * 0.01**2 * 0.5, rel=1e-12)


def test_pipe_weighs_by_its_average_wall():
    """1 in Schedule 40 (ASTM D1785): 1.315 in outside, wall 0.133 +0.020 -0 in, so 0.143 in on average."""
    pipe = body("{pipe: 1 in PVC, from: 0 0 0 mm, to: 1000 0 0 mm}")
    outer, inner = 1.315 * INCH / 2, (1.315 / 2 - 0.143) * INCH
    assert pipe.mass == pytest.approx(PVC * pi * (outer**2 - inner**2), rel=1e-9)
    assert pipe.inertia[0, 0] == pytest.approx(pipe.mass / 2 * (outer**2 + inner**2), rel=1e-9)
    assert pipe.inertia[2, 2] == pytest.approx(pipe.mass / 12 * (3 * (outer**2 + inner**2) + 1.0), rel=1e-9)


def test_bent_tube_is_its_straight_pieces():
    """Two legs of 400 mm at a right angle: the centre lies a quarter of a leg from the corner along each."""
    said = assembled(
        "{tube: {outside: 20 mm, wall: 2 mm, of: steel}, through: [400 0 0 mm, 0 0 0 mm, 0 0 400 mm]}"
    )
    tube = said.bodies[1]
    assert tube.mass == pytest.approx(STEEL * pi * (0.010**2 - 0.008**2) * 0.8, rel=1e-12)
    assert tube.com == pytest.approx([0.1, 0.0, 0.1])
    own = [note for note in said.notes if ".parts." in note]
    assert own == ["bodies.one.parts.0: bent tube weighed as straight pieces, corners not rounded"]


@pytest.mark.parametrize(("thin", "axes"), [("y", (0, 2, 1)), ("x", (1, 2, 0))])
def test_bar_is_a_box_along_its_line(thin: str, axes: tuple[int, int, int]):
    """Width, length and thickness lie where they were said: m (b^2 + c^2) / 12 about each."""
    bar = body(f"{{bar: 40 x 10 mm, of: steel, thin: {thin}, from: 0 0 0 mm, to: 0 0 500 mm}}")
    size = np.zeros(3)
    size[list(axes)] = 0.04, 0.5, 0.01
    assert bar.mass == pytest.approx(STEEL * 0.04 * 0.5 * 0.01, rel=1e-12)
    assert bar.inertia.diagonal() == pytest.approx(bar.mass / 12 * ((size**2).sum() - size**2), rel=1e-12)


def test_block_and_disc():
    block = body("{block: 100 x 200 x 300 mm, of: steel, at: 10 0 0 mm}")
    assert block.mass == pytest.approx(STEEL * 0.006, rel=1e-12)
    assert block.inertia.diagonal() == pytest.approx(block.mass / 12 * np.array([0.13, 0.10, 0.05]))
    disc = body("{disc: 200 mm, thick: 10 mm, of: steel, at: 0 0 50 mm, axis: 0 0.6 0.8}")
    axis = np.array([0.0, 0.6, 0.8])
    assert disc.mass == pytest.approx(STEEL * pi * 0.01 * 0.01, rel=1e-12)
    assert axis @ disc.inertia @ axis == pytest.approx(disc.mass / 2 * 0.01)
    assert disc.inertia[0, 0] == pytest.approx(disc.mass / 12 * (3 * 0.01 + 0.01**2))


def test_balls():
    """2/5 m R^2 solid; 2/5 m (R^5 - r^5) / (R^3 - r^3) hollow; 2/3 m R^2 a thin shell."""
    solid = body("{ball: 200 mm, of: steel, at: 0 0 100 mm}")
    assert solid.mass == pytest.approx(STEEL * 4 / 3 * pi * 1e-3, rel=1e-12)
    assert solid.inertia == pytest.approx(0.4 * solid.mass * 0.01 * np.eye(3))
    hollow = body("{ball: 200 mm, wall: 20 mm, of: steel, at: 0 0 100 mm}")
    assert hollow.mass == pytest.approx(STEEL * 4 / 3 * pi * (0.1**3 - 0.08**3), rel=1e-12)
    ratio = (0.1**5 - 0.08**5) / (0.1**3 - 0.08**3)
    assert hollow.inertia[0, 0] == pytest.approx(0.4 * hollow.mass * ratio)
    said = assembled("{ball: 200 mm, mass: 0.3 kg, at: 0 0 100 mm}")
    assert said.bodies[1].inertia[0, 0] == pytest.approx(2 / 3 * 0.3 * 0.01)
    assert said.notes == ("bodies.one.parts.0: weighed ball taken for a thin shell (assumed)",)


def test_slender_and_lump():
    bar = body("{slender: 3 kg, from: 0 0 0 mm, to: 0 400 0 mm}")
    assert bar.inertia == pytest.approx(3 * 0.16 / 12 * np.diag([1.0, 0.0, 1.0]))
    own = "inertia: [0.1 kg*m^2, 0.2 kg*m^2, 0.3 kg*m^2]"
    two = body(f"{{lump: 1 kg, at: 100 0 0 mm, {own}}}, {{lump: 1 kg, at: -100 0 0 mm}}")
    assert two.inertia.diagonal() == pytest.approx([0.1, 0.22, 0.32])


def test_mesh_is_scaled_turned_and_weighed(tmp_path: Path):
    """A box of 100 x 200 x 300 mm from a file, turned a quarter about z."""
    trimesh.creation.box((100, 200, 300)).export(tmp_path / "box.stl")
    part = "{mesh: box.stl, of: steel, at: 0 0 150 mm, turn: [0, 0, 90]}"
    (tmp_path / "rig.yaml").write_text(RIG.replace("PARTS", part))
    found = assemble(load_rig(str(tmp_path / "rig.yaml"))).bodies[1]
    assert found.mass == pytest.approx(STEEL * 0.006, rel=1e-6)
    assert found.com == pytest.approx([0.0, 0.0, 0.15], abs=1e-9)
    assert found.inertia.diagonal() == pytest.approx(found.mass / 12 * np.array([0.10, 0.13, 0.05]), rel=1e-6)
    middle, _, half = found.shapes[0].box()
    assert middle == pytest.approx(np.zeros(3), abs=1e-9)
    assert half == pytest.approx([0.1, 0.05, 0.15])


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("{rod: 5 mm, of: steel, from: 0 0 0 mm, to: 0 0 0 mm}", "two of its points are the same"),
        ("{pipe: {outside: 10 mm, wall: 6 mm, of: steel}, from: 0 0 0 mm, to: 0 0 9 mm}", "wall is thicker"),
        ("{ball: 10 mm, wall: 6 mm, of: steel, at: 0 0 0 mm}", "wall is thicker"),
        ("{mesh: none.stl, of: steel, at: 0 0 0 mm}", "the mesh can't be read: there is no file none.stl"),
    ],
)
def test_what_cannot_be_is_said(part: str, words: str):
    with pytest.raises((AssemblyError, RigError), match=words):
        assembled(part)


def test_held_length_moves_the_part():
    """A rod drawn 400 mm long and held at 500 mm weighs as 500 mm do."""
    text = RIG.replace(
        "parts: [PARTS]", "hold: {from: 0 0 0 mm, to: 0 0 400 mm, length: 500 mm}, parts: [PARTS]"
    )
    part = "{rod: 20 mm, of: steel, from: 0 0 0 mm, to: 0 0 400 mm}"
    held = assemble(parse_rig(text.replace("PARTS", part))).bodies[1]
    assert held.mass == pytest.approx(STEEL * pi * 0.01**2 * 0.5, rel=1e-12)


def test_a_body_weighed_as_a_whole():
    """A uniform bar of twice the weight: twice the inertia about the same centre (m L^2 / 12 goes with m)."""
    parts = (
        "{rod: 20 mm, of: steel, mass: 2 kg, from: 0 0 0 mm, to: 300 0 400 mm}, {lump: 1 kg, at: 100 0 0 mm}"
    )
    drawn = body(parts)
    text = RIG.replace("{parts: [PARTS]}", f"{{mass: 6 kg, parts: [{parts}]}}")
    weighed = assemble(parse_rig(text)).bodies[1]
    assert weighed.mass == pytest.approx(6.0)
    assert weighed.com == pytest.approx(drawn.com)
    assert weighed.inertia == pytest.approx(2 * drawn.inertia)
    assert [s.mass for s in weighed.shapes] == pytest.approx([4.0, 2.0])
    with pytest.raises(AssemblyError, match="no part"):
        assemble(parse_rig(text.replace("fixed: true", "fixed: true, mass: 2 kg")))
