"""What is seen, what is in front, what is in shadow, and that it is the same on every run."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.types import Assembly, BodyData
from simprop.engine.world import Trajectory
from simprop.geometry.placement import AS_DRAWN
from simprop.parts.part import Shape
from simprop.picture.render.ahead import in_order
from simprop.picture.render.camera import framed, view_axes
from simprop.picture.render.film import Shot, painters, prepare
from simprop.picture.render.frame import Painter
from simprop.picture.render.scene import build_scene, lighting
from simprop.rig.model import Rig
from tests.picture.props import shape

SIZE = (320, 240)
ROOT = Path(__file__).parent.parent.parent


def scene_of(*shapes: Shape) -> Assembly:
    rig = Rig.model_validate(
        {"rig": 1, "name": "still", "bodies": {"stand": {"fixed": True}}, "run": {"for": "1 s"}}
    )
    bodies = tuple(
        BodyData(f"b{i}", True, 1.0, np.zeros(3), np.eye(3), (s,), AS_DRAWN) for i, s in enumerate(shapes)
    )
    none = np.zeros((len(bodies), 3))
    return Assembly(rig, bodies, (), (), (), (), 0, 0, none, none)


def part(kind: str, at: tuple[float, float, float], size: tuple[float, ...], material: str = "PVC") -> Shape:
    return shape(kind, at, size, material)


def painted(assembly: Assembly, points: np.ndarray, view: str = "front", light: str = "day"):  # type: ignore[no-untyped-def]
    scene = build_scene(assembly)
    camera = framed(points, view_axes(view), SIZE)
    painter = Painter(scene, lighting(points, camera.axes, light), SIZE)  # type: ignore[arg-type]
    count = len(assembly.bodies)
    image = painter.paint(np.tile(np.eye(3), (count, 1, 1)), np.zeros((count, 3)), camera)
    return image, painter, camera, scene


CORNERS = np.array([[x, y, z] for x in (-0.5, 0.5) for y in (-0.5, 0.5) for z in (0.0, 1.0)])


def test_a_ball_covers_its_projected_disc() -> None:
    """A sphere of radius r at distance d on the axis shows a disc of radius f r / sqrt(d^2 - r^2) (pinhole)."""
    ball = scene_of(part("ball", (0, 0, 0.5), (0.4,)))
    _, painter, camera, _ = painted(ball, CORNERS)
    local = camera.axes @ (np.array([0, 0, 0.5]) - camera.eye)
    distance = float(np.linalg.norm(local))
    tilt = local[2] / distance
    radius = 2 * camera.focal * 0.2 / np.sqrt(distance**2 - 0.2**2)
    # off the axis the disc becomes an ellipse, larger by 1 / cos^3 of the angle
    expected = np.pi * radius**2 / tilt**3
    assert int((painter._ids >= 0).sum()) == pytest.approx(expected, rel=0.01)


def test_no_holes_between_triangles() -> None:
    ball = scene_of(part("ball", (0, 0, 0.5), (0.7,)))
    _, painter, _, _ = painted(ball, CORNERS, "three_quarter")
    for row in painter._ids:
        hit = np.flatnonzero(row >= 0)
        if len(hit):
            assert (row[hit[0] : hit[-1] + 1] >= 0).all()


def test_the_nearer_part_is_in_front() -> None:
    near, far = part("block", (0, -0.3, 0.5), (0.3, 0.1, 0.3)), part("block", (0, 0.3, 0.5), (0.9, 0.1, 0.9))
    for shapes in ((near, far), (far, near)):
        _, painter, camera, scene = painted(scene_of(*shapes), CORNERS)
        x, y = camera.seen(np.array([0.0, -0.35, 0.5]))[:2]
        face = painter._ids[int(2 * y), int(2 * x)]
        owner = scene.owner[scene.faces[face, 0]]
        assert shapes[owner] is near


def test_coincident_parts_do_not_flicker() -> None:
    """Two equal blocks in the same place: every sample shows the same one."""
    twin = part("block", (0, 0, 0.5), (0.6, 0.6, 0.6))
    other = part("block", (0, 0, 0.5), (0.6, 0.6, 0.6), "steel")
    _, painter, _, scene = painted(scene_of(twin, other), CORNERS, "three_quarter")
    shown = np.unique(scene.owner[scene.faces[painter._ids[painter._ids >= 0], 0]])
    assert len(shown) == 1


def test_edges_are_smooth() -> None:
    """The slanted top edge of a block has values between those of block and background."""
    block = scene_of(part("block", (0, 0, 0.3), (0.8, 0.8, 0.6), "rubber"))
    image, painter, _, _ = painted(block, CORNERS, "three_quarter")
    cover = painter._ids >= 0
    share = cover.reshape(240, 2, 320, 2).mean(axis=(1, 3))
    partial = (share > 0) & (share < 1)
    assert partial.sum() > 100
    dark, bright = image[share == 1].astype(float).mean(), image[share == 0].astype(float).mean()
    between = image[partial].astype(float).mean(axis=1)
    assert np.mean((between > dark) & (between < bright)) > 0.7


def test_shadow_on_the_ground() -> None:
    """The sun stands over the viewer's left shoulder: the shadow falls to the right and away."""
    tall = scene_of(part("block", (0, 0, 0.5), (0.2, 0.2, 1.0)))
    wide = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (0.0, 1.0)])
    image, _, camera, _ = painted(tall, wide, "three_quarter")

    def ground(x: float, y: float) -> float:
        right, level = camera.axes[0], np.cross([0.0, 0, 1.0], camera.axes[0])
        px, py = camera.seen(x * right + y * level)[:2]
        return float(image[int(py), int(px)].mean())

    lit, shaded = ground(-0.3, -0.1), ground(0.25, 0.28)
    assert shaded < 0.75 * lit


def test_shadow_edge_is_soft() -> None:
    plate = scene_of(part("block", (0, 0, 0.8), (0.5, 0.5, 0.02)))
    wide = np.array([[x, y, z] for x in (-1.0, 1.0) for y in (-1.0, 1.0) for z in (0.0, 1.0)])
    image, _, camera, _ = painted(plate, wide, "top")
    right, level = camera.axes[0], np.cross([0.0, 0, 1.0], camera.axes[0])
    line = []
    for x in np.linspace(0.0, 0.9, 200):
        px, py = camera.seen(x * right + 0.45 * level)[:2]
        line.append(float(image[int(py), int(px)].mean()))
    low, high = min(line), max(line)
    between = [v for v in line if low + 0.15 * (high - low) < v < high - 0.15 * (high - low)]
    assert high - low > 30
    assert len(between) >= 4


def test_materials_are_told_apart() -> None:
    seen = {}
    for material in ("PVC", "pine", "steel", "aluminium", "foam", "cloth", "rubber", "plywood"):
        image, painter, _, _ = painted(
            scene_of(part("block", (0, 0, 0.5), (0.7, 0.7, 0.7), material)), CORNERS, "three_quarter"
        )
        full = (painter._ids >= 0).reshape(240, 2, 320, 2).all(axis=(1, 3))
        seen[material] = image[full].astype(float).mean(axis=0)
    names = list(seen)
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            if {a, b} != {"pine", "plywood"}:
                assert np.abs(seen[a] - seen[b]).max() > 12, (a, b)


def test_same_bytes_on_every_run_and_any_number_of_workers(peeper: Assembly, run: Trajectory) -> None:
    shot = Shot(size=SIZE, watch=["wrist"])
    one = prepare(peeper, run, shot)
    two = prepare(peeper, run, shot)
    alone = [i.tobytes() for i in in_order(painters(one), 6, workers=1)]
    many = [i.tobytes() for i in in_order(painters(two), 6, workers=3)]
    assert alone == many


def test_still_parts_drawn_once_look_the_same(peeper: Assembly, run: Trajectory) -> None:
    """A painter that kept the standing parts from an earlier frame gives the same bytes as a fresh one."""
    film = prepare(peeper, run, Shot(size=SIZE, plain=True))
    used, fresh = Painter(film.scene, film.lighting, SIZE), Painter(film.scene, film.lighting, SIZE)
    for k in (0, 20, 40):
        used.paint(film.poses.turn[k], film.poses.shift[k], film.camera(k))
    a = used.paint(film.poses.turn[30], film.poses.shift[30], film.camera(30))
    b = fresh.paint(film.poses.turn[30], film.poses.shift[30], film.camera(30))
    assert (a == b).all()


def test_night_is_darker_than_day(peeper: Assembly, run: Trajectory) -> None:
    day, night = (
        next(in_order(painters(prepare(peeper, run, Shot(size=SIZE, light=light))), 1)).mean()  # type: ignore[arg-type]
        for light in ("day", "night")
    )
    assert night < 0.5 * day


@pytest.mark.skipif(not Path("/proc/self/maps").exists(), reason="needs /proc")
def test_no_display_library_is_loaded() -> None:
    """A picture is drawn by a process that has mapped no OpenGL, EGL, Vulkan or X library."""
    code = (
        "from tests.picture.props import prop, motion\n"
        "from simprop.picture.render.film import Shot, prepare, still\n"
        "a = prop(); still(prepare(a, motion(a), Shot(size=(320, 240))), 0)\n"
        "print(open('/proc/self/maps').read())"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    maps = done.stdout.lower()
    assert "numpy" in maps
    assert not any(
        name in maps for name in ("libgl.", "libglx", "libegl", "libvulkan", "libx11", "libosmesa")
    )
