"""Meshes: closed, turned outwards, of the right size."""

from __future__ import annotations

from typing import get_args

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.drives.base import PUSHERS, PusherDrive
from simprop.fasteners.hexagon import hexagon_bolt as bolt
from simprop.forces.coil import coil
from simprop.geometry.finish import Finish, finish_of
from simprop.geometry.solids import box, cylinder, sphere
from simprop.geometry.surface import Surface, triangles
from simprop.geometry.sweep import rounded, swept
from simprop.parts.looks import Looks, dressed
from simprop.parts.part import Shape
from simprop.picture.render.fittings import caps, pipe_fittings
from simprop.pulls.kinds import PULLS, PullBase
from simprop.rig.load import parse_rig
from tests.picture.props import shape

LOOKS = [name for name in get_args(Looks) if name != "plain"]
WHITE = Finish((1.0, 1.0, 1.0))


def volume(surface: Surface) -> float:
    """By the divergence theorem; right only for a closed surface turned outwards."""
    a, b, c = (surface.vertices[surface.faces[:, k]] for k in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def open_edges(surface: Surface) -> int:
    """Edges that belong to an odd number of triangles, after vertices at one place are joined.

    (An even number above two is where two sheets of one surface touch.)
    """
    _, same = np.unique(np.round(surface.vertices, 9), axis=0, return_inverse=True)
    faces = same.reshape(-1)[surface.faces]
    faces = faces[(faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])]
    edges = np.sort(faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    _, count = np.unique(edges, axis=0, return_counts=True)
    return int((count % 2).sum())


CASES = {
    "box": (box(np.array([0.3, 0.2, 0.1]), WHITE), 0.3 * 0.2 * 0.1, 0.01),
    "sphere": (sphere(0.2, WHITE, 48), np.pi / 6 * 0.2**3, 0.01),
    "cylinder": (
        cylinder(np.zeros(3), np.array([0.0, 0.3, 0.4]), 0.04, WHITE, 48),
        np.pi * 0.02**2 * 0.5,
        0.02,
    ),
    "pipe": (
        swept(np.array([[0.0, 0, 0], [0, 0, 0.5]]), 0.0213, 0.0158, WHITE, 64),
        np.pi / 4 * (0.0213**2 - 0.0158**2) * 0.5,
        0.01,
    ),
    "rod": (swept(np.array([[0.0, 0, 0], [0.5, 0, 0]]), 0.02, 0.0, WHITE, 64), np.pi * 0.01**2 * 0.5, 0.01),
    "bent": (
        swept(rounded(np.array([[0.0, 0, 0], [0.4, 0, 0], [0.4, 0.4, 0]]), 0.05), 0.02, 0.0, WHITE, 64),
        # two legs shortened by the bend radius, and a quarter circle (Pappus)
        np.pi * 0.01**2 * (0.7 + np.pi / 2 * 0.05),
        0.01,
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_volume_is_that_of_the_body(name: str) -> None:
    surface, exact, share = CASES[name]
    assert volume(surface) == pytest.approx(exact, rel=share)


@pytest.mark.parametrize("name", CASES)
def test_surface_is_closed(name: str) -> None:
    assert open_edges(CASES[name][0]) == 0


@pytest.mark.parametrize("name", CASES)
def test_normals_are_unit_and_point_outwards(name: str) -> None:
    surface = CASES[name][0]
    assert np.linalg.norm(surface.normals, axis=1) == pytest.approx(1.0, abs=1e-9)
    a, b, c = (surface.vertices[surface.faces[:, k]] for k in range(3))
    flat = np.cross(b - a, c - a)
    mean = surface.normals[surface.faces].sum(axis=1)
    big = np.linalg.norm(flat, axis=1) > 1e-12
    assert (np.einsum("ij,ij->i", flat, mean)[big] > 0).all()


@pytest.mark.parametrize("looks", LOOKS)
def test_looks_fill_their_box(looks: str) -> None:
    half = np.array([0.1, 0.08, 0.15])
    parts = dressed(looks, np.array([1.0, 2.0, 3.0]), np.eye(3), half, finish_of("pine"))
    points = np.concatenate([p.vertices for p in parts]) - np.array([1.0, 2.0, 3.0])
    assert (np.abs(points) <= 1.2 * half).all()
    assert np.ptp(points[:, 2]) > 1.5 * half[2]
    assert np.ptp(points[:, 0]) > 1.1 * half[0]
    assert sum(len(p.faces) for p in parts) < 14_000


@pytest.mark.parametrize("looks", LOOKS)
def test_looks_have_unit_normals(looks: str) -> None:
    for part in dressed(looks, np.zeros(3), np.eye(3), np.array([0.1, 0.2, 0.15]), None):
        assert np.linalg.norm(part.normals, axis=1) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize("looks", ["skull", "head", "hand", "jaw", "owl", "pumpkin", "crow", "cloak"])
def test_rounded_looks_are_closed(looks: str) -> None:
    assert open_edges(dressed(looks, np.zeros(3), np.eye(3), np.ones(3), None)[0]) == 0


def test_a_look_on_a_mass_at_a_point_has_a_usual_size() -> None:
    (sheet, _) = shape("lump", (0, 0, 1), (0.02,), "PVC", "cloth").surfaces()
    assert np.ptp(sheet.vertices[:, 2]) > 0.5


@pytest.mark.parametrize("looks", [n for n in LOOKS if n not in ("cloth",)])
def test_looks_are_turned_outwards(looks: str) -> None:
    parts = dressed(looks, np.zeros(3), np.eye(3), np.full(3, 0.1), None)
    assert all(volume(p) > 0 for p in parts if p.closed)


def test_a_pumpkin_glows_through_its_face_and_nowhere_else() -> None:
    """A straight look from the front through an eye meets the light first, between the eyes the skin."""
    skin, _, light = dressed("pumpkin", np.zeros(3), np.eye(3), np.ones(3), None)
    assert light.finish.glow > 0.5
    assert skin.finish.glow == 0

    def nearest(part: Surface, x: float, z: float) -> float:
        close = np.hypot(part.vertices[:, 0] - x, part.vertices[:, 2] - z) < 0.06
        return float(part.vertices[close, 1].min())

    for x in (-0.34, 0.34):
        assert nearest(light, x, 0.17) < nearest(skin, x, 0.17) + 0.02
    assert nearest(skin, 0.0, 0.2) < nearest(light, 0.0, 0.2) - 0.1


def test_a_head_that_lies_down_is_drawn_lying() -> None:
    """Its neck points to the left where its top points to the right; it still faces the viewer."""
    part = "{ball: 200 mm, mass: 1 kg, at: 0 0 0 mm, looks: pumpkin, up: x}"
    text = f"rig: 1\nname: t\nbodies: {{b: {{parts: [{part}]}}}}\nrun: {{for: 1 s}}"
    (body,) = assemble(parse_rig(text)).bodies
    _, stalk, light = body.shapes[0].surfaces()
    assert stalk.vertices[:, 0].min() > 0.04
    assert light.vertices[:, 1].max() < 0.0


@pytest.mark.parametrize("looks", ["hat", "straw hat"])
def test_a_hat_on_a_thin_disc_has_a_crown(looks: str) -> None:
    parts = shape("disc", (0, 0, 1), (0.3, 0.012), "PVC", looks, (0, 0, 1)).surfaces()
    high = max(float(p.vertices[:, 2].max()) for p in parts)
    low = min(float(p.vertices[:, 2].min()) for p in parts)
    assert high > 1.1
    assert low == pytest.approx(1.0 - 0.006, abs=0.01)


def test_block_turns_with_its_body() -> None:
    quarter = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])
    (surface,) = shape("block", (0, 0, 0), (0.4, 0.1, 0.2), "PVC").moved(quarter, np.zeros(3)).surfaces()
    assert np.ptp(surface.vertices, axis=0) == pytest.approx([0.1, 0.4, 0.2])


def test_bar_lies_flat_along_its_thin_direction() -> None:
    (surface,) = shape("bar", [(0, 0, 0), (0, 0, 0.3)], (0.03, 0.005), "PVC", direction=(1, 0, 0)).surfaces()
    assert np.ptp(surface.vertices, axis=0) == pytest.approx([0.005, 0.03, 0.3])


def test_mesh_keeps_sharp_and_smooth_edges_apart() -> None:
    ball = sphere(0.2, WHITE, 24)
    smooth = triangles(ball.vertices, ball.faces, WHITE)
    assert smooth.groups.max() == 0
    cube = box(np.full(3, 0.2), WHITE, 0.0)
    sharp = triangles(cube.vertices, cube.faces, WHITE)
    assert len(np.unique(sharp.groups)) >= 6


def pipe(*path: tuple[float, float, float]) -> Shape:
    return shape("pipe", path, (0.0213, 0.0158), "PVC")


@pytest.mark.parametrize(
    ("pipes", "legs"),
    [
        ([pipe((0, 0, 0), (0, 0, 1)), pipe((0, 0, 1), (1, 0, 1))], [2]),
        ([pipe((0, 0, 0), (0, 0, 1)), pipe((0, 0, 0.5), (1, 0, 0.5))], [3]),
        ([pipe((0, 0, 0), (0, 0, 1)), pipe((-1, 0, 0.5), (1, 0, 0.5))], [4]),
        ([pipe((0, 0, 0), (0, 0, 1)), pipe((0.5, 0, 0), (0.5, 0, 1))], []),
        ([pipe((0, 0, 0), (0, 0, 1)), pipe((-1, 0.1, 0.5), (1, 0.1, 0.5))], []),
    ],
    ids=["elbow", "tee", "cross", "apart", "passing"],
)
def test_fittings_where_pipes_meet(pipes: list[Shape], legs: list[int]) -> None:
    found = pipe_fittings(tuple(pipes))
    # a fitting is one ball and, for each leg, two sleeves of five patches (three for the solid hub)
    ball, hub, rim = (
        sphere(0.02, WHITE, 22),
        swept(pipes[0].path, 0.02, 0.0, WHITE),
        swept(pipes[0].path, 0.02, 0.01, WHITE),
    )
    count = [
        round(
            (int(s.groups.max()) + 1 - len(np.unique(ball.groups)))
            / (hub.groups.max() + rim.groups.max() + 2)
        )
        for s in found
    ]
    assert count == legs


def test_cap_on_a_pipe_that_stands_on_the_ground() -> None:
    assert len(caps((pipe((0, 0, 0), (0, 0, 1)),), 0.0)) == 1
    assert caps((pipe((0, 0, 0.2), (0, 0, 1)),), 0.0) == []


def test_bolt_reaches_through() -> None:
    points = bolt(-0.01, 0.02, 0.006).vertices
    assert points[:, 0].min() < -0.0115
    assert points[:, 0].max() > 0.0215


@pytest.mark.parametrize("hook", [0.12, 0.02])
def test_coil_runs_from_end_to_end(hook: float) -> None:
    points = coil(0.15, hook).vertices
    assert points[:, 0].min() == pytest.approx(0.0, abs=0.03)
    assert points[:, 0].max() == pytest.approx(1.0, abs=0.03)
    assert np.hypot(points[:, 1], points[:, 2]).max() < 0.02


@pytest.mark.parametrize("kind", [PUSHERS["linear"], PUSHERS["air"], PULLS["gas_spring"]])
def test_a_cylinder_keeps_its_length_and_covers_the_line(kind: type[PusherDrive | PullBase]) -> None:
    """Body from the start and rod from the end overlap at every length of the run, and neither passes the other end."""
    lengths = np.array([0.2, 0.26, 0.32])
    stretched, body, rod = kind.model_construct().drawn(lengths)
    reach = float(body[0].vertices[:, 0].max()), float(rod[0].vertices[:, 0].max())
    assert stretched == []
    assert reach[0] < 0.2
    assert reach[0] + reach[1] >= 0.32
    assert reach[1] <= 0.2 + 1e-9


@pytest.mark.parametrize("kind", ["rope", "counterweight", "constant_force"])
def test_ropes_run_from_end_to_end(kind: str) -> None:
    (line,), _, _ = PULLS[kind].model_construct().drawn(np.array([0.5, 0.6]))
    assert (line.vertices[:, 0].min(), line.vertices[:, 0].max()) == pytest.approx((0.0, 1.0), abs=1e-6)
