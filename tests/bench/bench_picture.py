"""Cost of a frame here against two other renderers, of encoding, and of a whole preview: one table from one run.

    python -m tests.bench.bench_picture [--quick]

Every renderer draws the same scene (the straw head of `tests.picture.props`) from the same camera. Equal antialiasing
means four samples a pixel: here 2 x 2 samples, for pybullet's TinyRenderer a picture of twice the width and height
averaged down; matplotlib's Agg smooths edges by itself.
"""

from __future__ import annotations

import os
import platform
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

from simprop.picture.clip.clip import write_clip
from simprop.picture.render.ahead import in_order, workers_here
from simprop.picture.render.camera import Camera
from simprop.picture.render.film import Film, Shot, painters, prepare
from tests.picture.props import motion, prop

ROOT = Path(__file__).parent.parent.parent
RIGS = sorted((ROOT / "rigs").glob("*.yaml"))


def best(job: Callable[[], Any], times: int) -> float:
    """Least wall time of several runs, ms."""
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        job()
        spent.append(time.perf_counter() - start)
    return 1000 * min(spent)


def ours(size: tuple[int, int], workers: int, frames: int) -> tuple[float, Film]:
    """ms a frame with traces and text, over a stretch of the clip."""
    film = prepare(prop(), motion(prop()), Shot(size=size, watch=["wrist"], caption="12 V 5 A"))
    make = painters(film)
    list(in_order(make, 4, workers))  # compile, fill caches
    return best(lambda: list(in_order(make, frames, workers)), 3) / frames, film


def world_triangles(film: Film, frame: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Vertices in the world (v, 3), faces (f, 3) and a colour a face of one frame."""
    scene, poses = film.scene, film.poses
    turn, shift = poses.turn[frame][scene.owner], poses.shift[frame][scene.owner]
    points = np.einsum("vij,vj->vi", turn, scene.vertices) + shift
    return points, scene.faces, scene.colours[scene.faces[:, 0]] ** (1 / 2.2)


def tiny(film: Film, samples: int, times: int) -> float | None:
    """ms a frame of pybullet's TinyRenderer with its shadow on; each body one mesh; None without pybullet."""
    try:
        import pybullet
    except ImportError:
        return None
    client = pybullet.connect(pybullet.DIRECT)
    scene = film.scene
    for body in np.unique(scene.owner):
        faces = scene.faces[scene.owner[scene.faces[:, 0]] == body]
        used, local = np.unique(faces, return_inverse=True)
        shape = pybullet.createVisualShape(
            pybullet.GEOM_MESH,
            vertices=scene.vertices[used].tolist(),
            indices=local.reshape(-1).tolist(),
            normals=scene.normals[used].tolist(),
            rgbaColor=[0.8, 0.7, 0.5, 1],
            physicsClientId=client,
        )
        pybullet.createMultiBody(
            baseVisualShapeIndex=shape,
            basePosition=film.poses.shift[0, body].tolist(),
            physicsClientId=client,
        )
    plate = pybullet.createVisualShape(pybullet.GEOM_BOX, halfExtents=[2, 2, 0.001], physicsClientId=client)
    pybullet.createMultiBody(baseVisualShapeIndex=plate, basePosition=[0, 0, -0.001], physicsClientId=client)
    camera: Camera = film.camera(0)
    view = pybullet.computeViewMatrix(
        camera.eye.tolist(),
        (camera.eye + camera.axes[2]).tolist(),
        camera.axes[1].tolist(),
        physicsClientId=client,
    )
    width, height = film.size
    fov = 2 * np.degrees(np.arctan(height / 2 / camera.focal))
    lens = pybullet.computeProjectionMatrixFOV(fov, width / height, 0.1, 20.0, physicsClientId=client)

    def picture() -> np.ndarray:
        out = pybullet.getCameraImage(
            samples * width, samples * height, view, lens, shadow=1, renderer=pybullet.ER_TINY_RENDERER,
            physicsClientId=client,
        )  # fmt: skip
        image = np.reshape(np.asarray(out[2], np.uint8), (samples * height, samples * width, 4))[..., :3]
        return image.reshape(height, samples, width, samples, 3).mean(axis=(1, 3))

    spent = best(picture, times)
    pybullet.disconnect(client)
    return spent


def matplotlib_3d(film: Film, times: int) -> float:
    """ms a frame of a matplotlib 3D axes with shaded triangles (no shadow), drawn by Agg."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure
    from mpl_toolkits.mplot3d.art3d import Poly3DCollection

    points, faces, colours = world_triangles(film, 0)

    def picture() -> None:
        page = Figure(figsize=(film.size[0] / 100, film.size[1] / 100), dpi=100)
        canvas = FigureCanvasAgg(page)
        axes = page.add_subplot(projection="3d")
        axes.add_collection3d(Poly3DCollection(points[faces], facecolors=colours, shade=True))
        axes.set(xlim=(-0.6, 0.6), ylim=(-0.6, 0.6), zlim=(0, 1.2))
        axes.view_init(14, -58)
        canvas.draw()

    return best(picture, times)


def encoding(film: Film, frames: int) -> tuple[float, float]:
    """Seconds that MP4 and GIF of ready-made frames take: MP4 with its lossless copy, then all with the GIF too."""
    made = list(in_order(painters(film), frames))
    out = []
    for with_gif in (False, True):
        with tempfile.TemporaryDirectory() as folder:
            start = time.perf_counter()
            write_clip(lambda k: made[k], frames, folder, film.size, 25.0, with_gif=with_gif)
            out.append(time.perf_counter() - start)
    return out[0], out[1]


def preview(rig: Path) -> float | None:
    """Seconds of `simprop preview`, or None when it fails."""
    with tempfile.TemporaryDirectory() as folder:
        start = time.perf_counter()
        command = [sys.executable, "-m", "simprop", "preview", str(rig), "--out", folder]
        done = subprocess.run(command, cwd=ROOT, capture_output=True, check=False)
        return time.perf_counter() - start if done.returncode == 0 else None


def cold() -> float:
    """Seconds from a new interpreter to the first picture, with the compiled loops already on disk."""
    code = (
        "from tests.picture.props import prop, motion\n"
        "from simprop.picture.render.film import Shot, prepare, still\n"
        "a = prop(); still(prepare(a, motion(a), Shot(watch=['wrist'])), 0)"
    )
    start = time.perf_counter()
    subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=True)
    return time.perf_counter() - start


def row(*cells: object) -> str:
    """One row of a Markdown table."""
    return "| " + " | ".join(str(c) for c in cells) + " |"


def main(quick: bool) -> None:
    """Print the table."""
    many = 20 if quick else 50
    cores = workers_here()
    print(f"{platform.machine()}, {cores} cores, Python {platform.python_version()}\n")
    print(row("ms a frame", "640 x 480", "1280 x 720"))
    print(row("---", "---:", "---:"))
    small, film = ours((640, 480), 1, many)
    large, wide = ours((1280, 720), 1, many // 2)
    parts = sum(len(b.shapes) for b in prop().bodies)
    print(row("here, 1 worker", f"{small:.0f}", f"{large:.0f}"))
    if cores > 1:
        a, b = ours((640, 480), cores, many)[0], ours((1280, 720), cores, many // 2)[0]
        print(row(f"here, {cores} workers", f"{a:.0f}", f"{b:.0f}"))
    for samples, name in ((1, "without antialiasing"), (2, "at 2 x 2 samples")):
        spent = [tiny(f, samples, 2) for f in (film, wide)]
        print(
            row(
                f"pybullet TinyRenderer {name}",
                *("not installed" if s is None else f"{s:.0f}" for s in spent),
            )
        )
    print(row("matplotlib 3D", *(f"{matplotlib_3d(f, 1):.0f}" for f in (film, wide))))
    print(f"\nScene: {parts} parts, {len(film.scene.faces)} triangles, shadow, traces and text in ours.\n")
    print(f"New interpreter to first picture (compiled loops on disk): {cold():.1f} s")
    mp4, both = encoding(film, film.count)
    print(f"Encoding {film.count} frames of 640 x 480: MP4 {mp4:.1f} s, MP4 and GIF {both:.1f} s")
    if not quick:
        for rig in RIGS:
            spent_ = preview(rig)
            print(f"preview {rig.stem}: " + ("failed" if spent_ is None else f"{spent_:.1f} s"))
    print(f"load average {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else "")


if __name__ == "__main__":
    main("--quick" in sys.argv)
