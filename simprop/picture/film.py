"""A run made ready for drawing: scene, poses, camera, light and what is written over each frame."""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Array, Assembly
from simprop.errors import RenderError
from simprop.picture.camera import Camera, Margin, framed, view_axes
from simprop.picture.fittings import coil, hardware
from simprop.picture.frame import Image, Painter
from simprop.picture.motion import Poses, frame_times, poses_at
from simprop.picture.overlay import COLOURS, band, scale_bar, style_for, trace
from simprop.picture.scene import Light, Lighting, Scene, build_scene, lighting, reach
from simprop.picture.surface import Surface
from simprop.picture.watch import Watched, follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

Size = tuple[int, int]
Overlay = Callable[[Image, int, Camera], None]
"""Draws into the image of frame k, in place."""


@dataclass(frozen=True)
class Film:
    """Everything a frame needs.

    Attributes:
        scene, poses, lighting: what is drawn, where, in what light.
        cameras: one for all frames, or one a frame.
        size: width, height in pixels.
        overlays: drawn over each frame, in order.
    """

    scene: Scene
    poses: Poses
    lighting: Lighting
    cameras: tuple[Camera, ...]
    size: Size
    overlays: tuple[Overlay, ...] = ()

    @property
    def count(self) -> int:
        """Number of frames."""
        return len(self.poses.time)

    def camera(self, frame: int) -> Camera:
        """The camera of a frame."""
        return self.cameras[frame if len(self.cameras) > 1 else 0]


def supply_text(assembly: Assembly) -> str:
    """The supplies of all motors as text, or "".

    Returns:
        Such as ``12 V 5 A``.
    """
    found = []
    for motor in assembly.rig.motors.values():
        supply = motor.supply
        if supply is not None:
            text = f"{supply.voltage:g} V" + ("" if supply.limit is None else f" {supply.limit:g} A")
            if text not in found:
                found.append(text)
    return ", ".join(found)


def coils(assembly: Assembly, track: Trajectory) -> list[Surface]:
    """One coil for each spring between points, sized by its mean length over the run."""
    kinds = [s.kind for s in assembly.rig.springs.values() if s.kind != "torsion"]
    lengths = np.linalg.norm(track.line_end - track.line_start, axis=2).mean(axis=0)
    kinds += ["two_way"] * (len(lengths) - len(kinds))
    return [coil(max(float(length), 1e-3), kind) for length, kind in zip(lengths, kinds, strict=False)]


def check_size(size: Size) -> None:
    """Raise RenderError unless a picture size is even, as the video needs, and within 160 to 4096 pixels.

    Example:
        >>> check_size((640, 480))
    """
    if any(v % 2 or not 160 <= v <= 4096 for v in size):
        raise RenderError(
            f"a picture of {size[0]} x {size[1]} can't be made; allowed: even, 160 to 4096 pixels"
        )


def prepare(
    assembly: Assembly,
    track: Trajectory,
    *,
    times: Array | None = None,
    frames_per_second: float = 25.0,
    speed: float = 1.0,
    size: Size = (640, 480),
    view: str | None = None,
    light: Light | None = None,
    watch: Sequence[str] | None = None,
    title: str | None = None,
    caption: str | None = None,
    camera: Camera | None = None,
    margin: Margin | None = None,
    plain: bool = False,
) -> Film:
    """Make a run ready for drawing.

    Args:
        assembly: the prop.
        track: its recorded motion.
        times: instants of the frames, (n,) s; None: evenly by `frames_per_second` and `speed`.
        frames_per_second: of the clip.
        speed: seconds of motion a second of clip.
        size: width, height in pixels, even.
        view: front, side, three_quarter or top; None: the rig's.
        light: day or night; None: the rig's.
        watch: points to trace; None: the rig's.
        title: text at the lower left; None: the rig's name.
        caption: text before the time at the lower right; None: the supplies.
        camera: to use instead of one framed on this run.
        margin: kept free of the prop.
        plain: no text, traces or scale bar.

    Returns:
        The film; its frames come from `draw`.

    Raises:
        RenderError: for a view, point or size that can't be, or a prop without any visible part.
    """
    check_size(size)
    rig = assembly.rig
    mood: Light = rig.camera.light if light is None else light
    at = frame_times(track, frames_per_second, speed) if times is None else np.asarray(times, dtype=float)
    poses = poses_at(assembly, track, at)
    scene = build_scene(assembly, hardware(assembly), coils(assembly, track))
    points = watched(assembly, watch)
    paths = follow(points, poses)
    everything = np.concatenate([reach(scene, poses), paths.reshape(-1, 3)])
    if not len(everything):
        raise RenderError("there is nothing to draw: no body has a visible part")
    axes = view_axes(rig.camera.view if view is None else view)
    seen = framed(everything, axes, size, margin) if camera is None else camera
    lit = lighting(everything, seen.axes, mood)
    if plain:
        return Film(scene, poses, lit, (seen,), size)
    middle = (everything.min(axis=0) + everything.max(axis=0)) / 2
    words = (rig.name if title is None else title, supply_text(assembly) if caption is None else caption)
    overlays = _overlays(points, paths, poses, middle, words, mood, size, speed)
    return Film(scene, poses, lit, (seen,), size, overlays)


def _overlays(
    points: Sequence[Watched],
    paths: Array,
    poses: Poses,
    middle: Array,
    words: tuple[str, str],
    light: str,
    size: Size,
    speed: float,
) -> tuple[Overlay, ...]:
    style = style_for(size, light)

    def traces(image: Image, frame: int, camera: Camera) -> None:
        for k in range(len(points)):
            seen = camera.seen(paths[:, k])[:, :2]
            trace(image, seen, frame, poses.time, COLOURS[k % len(COLOURS)], style)

    def foot(image: Image, frame: int, camera: Camera) -> None:
        scale_bar(image, camera, middle, style)
        facts = [words[1], "" if speed == 1 else f"speed x {speed:g}", f"{poses.time[frame]:.2f} s"]
        band(image, words[0], "   ".join(f for f in facts if f), style)

    return (traces, foot)


def draw(film: Film, painter: Painter, frame: int) -> Image:
    """One frame with its overlays, (height, width, 3) uint8."""
    camera = film.camera(frame)
    image = painter.paint(film.poses.turn[frame], film.poses.shift[frame], camera)
    for overlay in film.overlays:
        overlay(image, frame, camera)
    return image


def still(film: Film, frame: int) -> Image:
    """One frame of a film, (height, width, 3) uint8."""
    return draw(film, Painter(film.scene, film.lighting, film.size), frame)


def workers_here() -> int:
    """Number of processor cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return max(1, len(os.sched_getaffinity(0)))
    return max(1, os.cpu_count() or 1)


def in_order(make: Callable[[int], Image], count: int, workers: int | None = None) -> Iterator[Image]:
    """Images 0 to count - 1 in order, made ahead by several threads.

    The inner loops run free of the interpreter lock, so threads use all cores without copying the scene and without
    another interpreter to start; each image is made by one thread alone, so that its bytes don't depend on their number.

    Args:
        make: image of a number; called from several threads.
        count: how many.
        workers: threads, or None for one a core.
    """
    lanes = workers_here() if workers is None else max(1, workers)
    if lanes == 1:
        for k in range(count):
            yield make(k)
        return
    pool = ThreadPoolExecutor(lanes, thread_name_prefix="frames")
    waiting: deque[Future[Image]] = deque()
    try:
        for k in range(count):
            waiting.append(pool.submit(make, k))
            if len(waiting) > 3 * lanes:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def painters(film: Film) -> Callable[[int], Image]:
    """A function that draws a frame of the film by number, with buffers of its own for each thread."""
    local = threading.local()

    def make(frame: int) -> Image:
        if not hasattr(local, "painter"):
            local.painter = Painter(film.scene, film.lighting, film.size)
        return draw(film, local.painter, frame)

    return make
