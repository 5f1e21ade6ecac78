"""Stock of one cross-section: masses, tubes with corners, slotted profiles, and how they bend in a frame."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import trimesh

from simprop.assembly.assemble import assemble
from simprop.assembly.modes import frequencies
from simprop.catalog.load import table
from simprop.errors import RigError
from simprop.rig.load import parse_rig
from simprop.rules.profiles import box_tube
from simprop.run.simulate import simulate
from tests.parts.stock import ENDS, RIG, STEEL, G, placed, profile_of, run_of

TURNED = {"from": "10 20 30 mm", "to": "210 170 330 mm", "of": "steel", "thin": "0.3 -0.2 0.9"}
STOCK = [
    {"square_tube": "40 x 25 x 3 mm"},
    {"square_tube": "30 x 30 x 2 mm", "corners": "0 mm"},
    {"angle": "25 x 25 x 3 mm"},
    {"angle": "50 x 30 x 5 mm"},
    {"channel": "40 x 20 x 3 mm"},
    {"profile": "20 mm"},
]


@pytest.mark.parametrize("said", STOCK, ids=lambda s: str(next(iter(s.items()))))
def test_mass_and_inertia_are_those_of_the_drawn_mesh(said: dict[str, str]) -> None:
    """The drawn surface, taken as a mesh of its own, is closed and has the mass, centre and inertia of the part."""
    shape = placed(**said, **TURNED)
    (surface,) = shape.surfaces()
    mesh = trimesh.Trimesh(surface.vertices, surface.faces, process=False)
    mesh.merge_vertices(merge_norm=True, merge_tex=True)
    assert mesh.is_watertight
    assert mesh.volume > 0
    mesh.density = STEEL
    assert mesh.mass == pytest.approx(shape.mass, rel=1e-9)
    assert mesh.center_mass == pytest.approx(shape.weight.centre, abs=1e-9)
    assert mesh.moment_inertia == pytest.approx(shape.weight.inertia, abs=1e-9 * shape.weight.inertia.max())
    half = shape.piece(shape.path[0], shape.path.mean(axis=0))
    assert half.mass == pytest.approx(shape.mass / 2)
    middle, axes, size = shape.box()
    off = (mesh.vertices - middle) @ axes
    assert np.abs(off).max(axis=0) == pytest.approx(size, abs=1e-9)


# EN 10219-2 tables B.2 and B.3, from memory: mm; cm^2, cm^4, cm^4, cm^4, cm^3.
EN_10219 = [
    ((20, 20, 2), (1.34, 0.692, 0.692, 1.22, 1.06)),
    ((40, 40, 3), (4.21, 9.32, 9.32, 15.8, 7.07)),
    ((40, 20, 2), (2.14, 4.05, 1.34, 3.45, 2.36)),
    ((50, 30, 3), (4.21, 12.8, 5.70, 13.5, 6.49)),
]


@pytest.mark.parametrize(("size", "want"), EN_10219)
def test_square_tubes_are_those_of_the_standard(size: tuple[int, ...], want: tuple[float, ...]) -> None:
    """To the three figures that the tables print."""
    tube = profile_of(placed(square_tube=" x ".join(map(str, size)) + " mm", of="steel", **ENDS))
    found = (
        tube.area * 1e4,
        tube.inertia_v * 1e8,
        tube.inertia_u * 1e8,
        tube.torsion * 1e8,
        tube.torsion_modulus * 1e6,
    )
    assert found == pytest.approx(want, rel=5e-3)


def test_a_thin_square_tube_twists_by_bredt_and_shears_by_its_webs() -> None:
    """Thin: J = a^3 t; T / tau = 2 a^2 t; largest shear V Q / (I 2 t) = 9/4 of V / A (any text)."""
    tube = box_tube(0.1001, 0.1001, 0.0001, 0.0)
    assert tube.torsion == pytest.approx(0.1**3 * 1e-4, rel=1e-4)
    assert tube.torsion_modulus == pytest.approx(2 * 0.1**2 * 1e-4, rel=2e-3)
    assert tube.shear_factor == pytest.approx(9 / 4, rel=2e-3)


@pytest.mark.parametrize(
    ("turned", "sides"), [(0.0, (0.04, 0.02)), (pi / 2, (0.02, 0.04)), (0.3, (0.04, 0.02))]
)
def test_a_cross_hole_takes_two_pieces_of_the_walls(turned: float, sides: tuple[float, float]) -> None:
    """Area less 2 d t; the second moment across less 2 (d t r^2 + d t^3 / 12), that along less 2 t d^3 / 12."""
    wall, hole = 0.002, 0.006
    tube = box_tube(0.04, 0.02, wall, 0.0)
    found = tube.net(hole, turned)
    assert found is not None
    net, angle = found
    assert angle == 0.0
    assert net.area == pytest.approx(tube.area - 2 * hole * wall)
    reach = (sides[1] - wall) / 2
    lost = {2 * (hole * wall * reach**2 + hole * wall**3 / 12), 2 * wall * hole**3 / 12}
    less = (tube.inertia_u - net.inertia_u, tube.inertia_v - net.inertia_v)
    assert sorted(less) == pytest.approx(sorted(lost), rel=1e-9)
    assert (less[0] > less[1]) == (sides[1] == 0.02)
    assert tube.net(0.0391, turned) is None or sides[0] == 0.02


def test_a_square_tube_bends_as_a_cantilever() -> None:
    """(m g + M g / 2) L over W at its root; and it droops m g L^3 / 3 E I + M g L^3 / 8 E I."""
    run = run_of("square_tube: 30 x 20 x 2 mm, corners: 0 mm, thin: z")
    tube = box_tube(0.03, 0.02, 0.002, 0.0)
    own = STEEL * tube.area * 0.6
    bending = next(c for c in run.strength.checks if c.name.startswith("bending"))
    modulus = (0.03 * 0.02**3 - 0.026 * 0.016**3) / 12 / 0.01
    assert bending.demand == pytest.approx((2 + own / 2) * G * 0.6 / modulus, rel=1e-3)
    droop = next(c for c in run.strength.checks if c.name == "deflection")
    stiff = 200e9 * modulus * 0.01
    assert droop.demand == pytest.approx((2 / 3 + own / 8) * G * 0.6**3 / stiff, rel=1e-2)


def test_a_bolt_goes_through_both_walls() -> None:
    run = run_of(
        "square_tube: 30 x 20 x 2 mm, thin: z", "held_by: {bolt: M6, count: 2, spacing: 40 mm, along: z}"
    )
    found = [c for c in run.strength.checks if "hole" in c.name or "hole" in c.place]
    assert any("rectangular tube" in c.place for c in found)
    shape = placed(
        square_tube="30 x 20 x 2 mm",
        of="steel",
        thin="z",
        **{"from": "0 0 0 mm", "to": "1000 0 0 mm"},
    )
    down, aside = shape.through(np.array([0.0, 0, 1])), shape.through(np.array([0.0, 1, 0]))
    assert down is not None
    assert aside is not None
    assert (down.tube, down.size, down.wall) == (True, 0.02, 0.002)
    assert (aside.tube, aside.size, aside.wall) == (True, 0.03, 0.002)


@pytest.mark.parametrize(
    ("part", "words"),
    [
        ("square_tube: 20 x 20 x 10 mm", "the wall leaves no inside"),
        ("square_tube: 20 x 20 mm", "3 sizes with an x between them"),
        ("square_tube: 20 x 20 x 2 mm, corners: 11 mm", "no such corners"),
        ("square_tube: 20 x 20 x 2 mm, corner: 1 mm", "corner"),
    ],
)
def test_what_cannot_be_is_said(part: str, words: str) -> None:
    with pytest.raises(RigError, match=words):
        parse_rig(RIG.replace("PART", part).replace(", HOLD", ""))


def test_notes_tell_what_is_assumed() -> None:
    said = assemble(
        parse_rig(RIG.replace("PART", "square_tube: 60 x 60 x 0.8 mm").replace(", HOLD", ""))
    ).notes
    assert any("corners of the tube taken as round outside by twice the wall" in n for n in said)
    assert any("a wall of 0.8 mm on 58.4 mm may wrinkle" in n for n in said)


@pytest.mark.parametrize(
    "said",
    [{"square_tube": "30 x 20 x 2 mm"}, {"angle": "30 x 20 x 3 mm"}, {"channel": "40 x 20 x 3 mm"}],
    ids=lambda s: next(iter(s)),
)
def test_stronger_ones_are_stronger_and_of_the_same_kind(said: dict[str, str]) -> None:
    shape = placed(**said, of="steel", **ENDS)
    own = profile_of(shape)
    offered = shape.stronger()
    assert len(offered) > 4
    for words, section, share in offered:
        assert share == 1.0
        assert words.endswith(shape.word.rsplit(" ", maxsplit=1)[-1])
        assert section.modulus_u > own.modulus_u
        assert section.modulus_v > own.modulus_v


# Light rows of profile tables, from memory: least and largest area in cm^2 and second moment in cm^4.
SLOTTED = {"20 mm": (1.6, 1.8, 0.68, 0.75), "30 mm": (3.1, 3.6, 2.8, 3.3), "40 mm": (5.4, 6.6, 9.0, 10.0)}


def test_slotted_profiles_are_like_those_sold() -> None:
    assert set(SLOTTED) == set(table("profiles"))
    for name, (least, most, weak, stiff) in SLOTTED.items():
        shape = placed(profile=name, **ENDS)
        found = profile_of(shape)
        assert least <= found.area * 1e4 <= most, name
        assert weak <= found.inertia_u * 1e8 <= stiff, name
        assert found.inertia_v == pytest.approx(found.inertia_u, rel=1e-9)
        assert shape.mass == pytest.approx(2700 * found.area * 0.5, rel=1e-12)
    assert [words for words, _, _ in placed(profile="20 mm", **ENDS).stronger()] == [
        "30 mm slotted profile",
        "40 mm slotted profile",
    ]
    with pytest.raises(RigError, match="not a profile of the catalogue"):
        parse_rig(RIG.replace("PART, of: steel", "profile: 21 mm").replace(", HOLD", ""))


def test_a_slotted_profile_says_what_it_is_taken_for() -> None:
    text = RIG.replace("PART, of: steel", "profile: 30 mm").replace("HOLD", "held_by: {bolt: M6, along: z}")
    run = simulate(parse_rig(text), "mujoco", settle=False)
    assert any("30 mm slotted profile taken as a light one" in n for n in run.assembly.notes)
    bending = next(c for c in run.strength.checks if c.name.startswith("bending"))
    section = profile_of(placed(profile="30 mm", **ENDS))
    moment = (2 + 2700 * section.area * 0.3) * G * 0.6
    net = section.net(0.006, 0.0)
    assert net is not None
    worst = min(section.modulus_u, *((net[0].modulus_u,) if "hole" in bending.name else ()))
    assert bending.demand == pytest.approx(moment / worst, rel=0.01)


MAST = """
rig: 1
name: mast
bodies:
  post: {fixed: true}
  mast: {bends: {pieces: 12}, parts: [{PART, of: steel, from: 0 0 0 mm, to: 0 0 1000 mm}]}
joints: {foot: {fixed: [post, mast], at: 0 0 0 mm}}
run: {for: 10 ms}
"""


@pytest.mark.parametrize("part", ["square_tube: 40 x 20 x 2 mm", "angle: 30 x 20 x 3 mm", "profile: 20 mm"])
def test_it_rings_about_its_principal_axes(part: str) -> None:
    """A cantilever's first frequencies in both planes: 1.8751^2 / 2 pi sqrt(E I / m L^3) (Blevins, from memory).

    The twist of thin-walled stock may ring between them; the two bending ones are among the lowest three.
    """
    pytest.importorskip("exudyn")
    assembly = assemble(parse_rig(MAST.replace("PART", part)))
    word, size = part.split(": ")
    section = profile_of(placed(**{word: size}, of="steel", **ENDS))
    mass = sum(b.mass for b in assembly.bodies if not b.fixed)
    want = [
        1.875104**2 / 2 / pi * np.sqrt(200e9 * i / mass)
        for i in sorted((section.inertia_u, section.inertia_v))
    ]
    found = frequencies(assembly, 3)
    for value in want:
        assert np.abs(found / value - 1).min() < 0.01, (found, want)


def test_a_tube_on_three_balls_shares_as_it_bends() -> None:
    """3/16, 10/16 and 3/16 of its weight (Timoshenko, Strength of Materials, from memory)."""
    text = """
rig: 1
name: rail
bodies:
  bed: {fixed: true, parts: [{block: 2500 x 40 x 20 mm, of: steel, at: 0 0 -30 mm}]}
  rail: {parts: [{square_tube: 12 x 8 x 1 mm, of: steel, thin: z, mass: 3 kg, from: -1200 0 0 mm, to: 1200 0 0 mm}]}
joints:
  a: {ball: [bed, rail], at: -1200 0 0 mm}
  b: {ball: [bed, rail], at: 0 0 0 mm}
  c: {ball: [bed, rail], at: 1200 0 0 mm}
run: {for: 20 ms}
"""
    run = simulate(parse_rig(text), "mujoco", settle=False)
    assert run.loads.wrenches.force[-1, :, 2] / (3 * G) == pytest.approx([3 / 16, 10 / 16, 3 / 16], abs=2e-3)
