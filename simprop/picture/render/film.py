"""A run made ready for drawing: scene, poses, camera, light and what is written over each frame."""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.picture.render.camera import Camera, Margin, following, framed, view_axes
from simprop.picture.render.extras import Extras, arrow_tips, slowed
from simprop.picture.render.fittings import hardware
from simprop.picture.render.frame import Image, Painter
from simprop.picture.render.lines import line_surfaces
from simprop.picture.render.marks import (
    STRIP,
    arrow_length,
    draw_arrows,
    draw_cues,
    draw_flashes,
    draw_gauges,
    frame_room,
)
from simprop.picture.render.motion import Poses, frame_times, poses_at
from simprop.picture.render.overlay import COLOURS, band, scale_bar, style_for, trace
from simprop.picture.render.scene import Light, Lighting, Scene, build_scene, lighting, reach
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

Size = tuple[int, int]
FINE = 5
"""Places of a trace in the time of one frame."""

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

    def scene_middle(self) -> Array:
        """Middle of what the bodies reach, (3,) m."""
        points = reach(self.scene, self.poses)
        return np.asarray((points.min(axis=0) + points.max(axis=0)) / 2)

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


def check_size(size: Size) -> None:
    """Raise RenderError unless a picture size is even, as the video needs, and from 160 x 120 to 4096 x 4096.

    Example:
        >>> check_size((640, 480))
    """
    width, height = size
    if width % 2 or height % 2 or not (160 <= width <= 4096 and 120 <= height <= 4096):
        raise RenderError(
            f"a picture of {size[0]} x {size[1]} can't be made; allowed: even, from 160 x 120 to 4096 x 4096"
        )


@dataclass(frozen=True)
class Shot:
    """How a run is shown; every field has the rig's own wish or a plain value as its default.

    Attributes:
        size: width, height in pixels, even.
        frames_per_second: of the clip.
        speed: seconds of motion a second of clip.
        view: front, side, three_quarter, top, or follow (three-quarter, moving with the first watched point); None:
            the rig's.
        light: day or night; None: the rig's.
        watch: points or joints to trace; None: the rig's.
        title: text at the lower left; None: the rig's name.
        caption: text before the time at the lower right; None: the supplies.
        plain: no text, traces or scale bar.
        extras: arrows, gauges, flashes, cues, slow motion.
    """

    size: Size = (640, 480)
    frames_per_second: float = 25.0
    speed: float = 1.0
    view: str | None = None
    light: Light | None = None
    watch: Sequence[str] | None = None
    title: str | None = None
    caption: str | None = None
    plain: bool = False
    extras: Extras = field(default_factory=Extras)


def steady(shot: Shot, assembly: Assembly) -> Shot:
    """The shot from one place: a camera that follows by the rig's wish becomes three-quarter."""
    view = assembly.rig.camera.view if shot.view is None else shot.view
    return replace(shot, view="three_quarter" if view == "follow" else view)


def reached(assembly: Assembly, track: Trajectory, shot: Shot, times: Array | None = None) -> Array:
    """Every place that bodies, traces and arrows of a run reach in its frames, (k, 3) m: what a camera must frame."""
    return _Cut(assembly, track, shot, times).everything


def prepare(
    assembly: Assembly,
    track: Trajectory,
    shot: Shot | None = None,
    *,
    times: Array | None = None,
    camera: Camera | None = None,
    lit: Lighting | None = None,
) -> Film:
    """Make a run ready for drawing.

    Args:
        shot: how it is shown; None: as the rig wishes.
        times: instants of the frames, (n,) s; None: by the shot's rates, slowed round flashes if it asks for that.
        camera: to use instead of one framed on this run.
        lit: light to use instead of one fitted to this run.

    Returns:
        The film; its frames come from `draw`.

    Raises:
        RenderError: for a view, point or size that can't be, or a prop without any visible part.
    """
    shot = Shot() if shot is None else shot
    cut = _Cut(assembly, track, shot, times)
    cameras = (camera,) if camera is not None else cut.cameras()
    light = lighting(cut.everything, cameras[0].axes, cut.light) if lit is None else lit
    overlays = () if shot.plain else (cut.traces, cut.loads, cut.foot)
    return Film(cut.scene, cut.poses, light, cameras, shot.size, overlays)


def frame_margin(shot: Shot) -> Margin:
    """What a shot keeps free of the prop for its text, gauges and cues."""
    plain = Margin()
    if shot.plain:
        return Margin(bottom=plain.top)
    unit = style_for(shot.size).unit * 480 / shot.size[1]
    top, bottom = frame_room(len(shot.extras.gauges), len(shot.extras.cues), plain.top / unit, plain.bottom)
    return Margin(plain.left, plain.right, top * unit, bottom * unit)


class _Cut:
    """The work of `prepare`, with what its parts share."""

    def __init__(self, assembly: Assembly, track: Trajectory, shot: Shot, times: Array | None):
        check_size(shot.size)
        rig, extras = assembly.rig, shot.extras
        self.shot, self.extras = shot, extras
        self.light: Light = rig.camera.light if shot.light is None else shot.light
        self.view = rig.camera.view if shot.view is None else shot.view
        if times is not None:
            at = np.asarray(times, dtype=float)
        elif extras.slow < 1 and extras.flashes:
            at = slowed(float(track.time[-1]), shot.frames_per_second, shot.speed, extras)
        else:
            at = frame_times(track, shot.frames_per_second, shot.speed)
        self.steady = times is not None
        self.end = float(track.time[-1])
        self.poses = poses_at(assembly, track, at)
        self.scene = build_scene(assembly, hardware(assembly), line_surfaces(assembly, track))
        self.points = watched(assembly, shot.watch)
        self.paths = follow(self.points, self.poses)
        # traces run through instants between the frames too, so that fast ones stay round
        self.fine = np.interp(np.arange(FINE * (len(at) - 1) + 1) / FINE, np.arange(len(at)), at)
        self.trails = follow(self.points, poses_at(assembly, track, self.fine))
        self.moving = [i for i, body in enumerate(assembly.bodies) if not body.fixed]
        bodies = reach(self.scene, self.poses)
        if not len(bodies):
            raise RenderError("there is nothing to draw: no body has a visible part")
        self.middle = (bodies.min(axis=0) + bodies.max(axis=0)) / 2
        self.length = arrow_length(bodies)
        tips = arrow_tips(extras.arrows, self.length)
        self.everything = np.concatenate([bodies, self.trails.reshape(-1, 3), tips])
        self.style = style_for(shot.size, self.light)
        title = rig.name if shot.title is None else shot.title
        self.words = (title, supply_text(assembly) if shot.caption is None else shot.caption)

    def margin(self) -> Margin:
        return frame_margin(self.shot)

    def cameras(self) -> tuple[Camera, ...]:
        if self.view != "follow":
            return (framed(self.everything, view_axes(self.view), self.shot.size, self.margin()),)
        if not self.points:
            raise RenderError("a camera that follows needs a watched point to follow")
        path = smoothed(self.paths[:, 0], round(0.4 * self.shot.frames_per_second))
        relative = [
            np.einsum("nij,hj->nhi", self.poses.turn[:, b], self.scene.hulls[b])
            + (self.poses.shift[:, b] - path)[:, None]
            for b in self.moving
        ]
        points = np.concatenate(
            [(self.paths - path[:, None]).reshape(-1, 3), *(r.reshape(-1, 3) for r in relative)]
        )
        near = framed(points, view_axes("three_quarter"), self.shot.size, self.margin())
        return tuple(following(near, shift) for shift in path)

    def traces(self, image: Image, frame: int, camera: Camera) -> None:
        for k in range(len(self.points)):
            seen = camera.seen(self.trails[:, k])[:, :2]
            colour = COLOURS[k % len(COLOURS)]
            trace(image, seen, FINE * frame, self.fine, colour, self.style, ticks=self.extras.ticks)

    def loads(self, image: Image, frame: int, camera: Camera) -> None:
        now = float(self.poses.time[frame])
        floor = image.shape[0] * (1 - self.margin().bottom)
        over = self.shown_for(frame)
        draw_arrows(image, self.extras.arrows, now, camera, self.length, self.style, floor, over)

    def foot(self, image: Image, frame: int, camera: Camera) -> None:
        now = float(self.poses.time[frame])
        lift = round((STRIP * len(self.extras.cues) + 4) * self.style.unit) if self.extras.cues else 0
        scale_bar(image, camera, self.middle, self.style, lift)
        draw_gauges(image, self.extras.gauges, now, self.style, self.shown_for(frame))
        floor = image.shape[0] - self.style.band - lift
        draw_flashes(image, self.extras.flashes, now, camera, self.style, 0.8 * self.hold(), floor)
        draw_cues(image, self.extras.cues, now, self.end, self.style)
        rate = self.rate(frame)
        facts = [self.words[1], "" if abs(rate - 1) < 0.01 else f"speed x {rate:.2g}", f"{now:.2f} s"]
        band(image, self.words[0], "   ".join(f for f in facts if f), self.style)

    def hold(self) -> float:
        """Seconds of motion for which a flash stays: about 1.5 s of clip."""
        return max(1.5 * self.shot.speed * min(1.0, 2.0 * self.extras.slow), 1e-3)

    def shown_for(self, frame: int) -> float:
        """Seconds of motion for which a frame stands; of a still no more than in a clip."""
        time, usual = self.poses.time, self.shot.speed / self.shot.frames_per_second
        k = min(frame, len(time) - 2)
        return usual if k < 0 else min(usual, float(time[k + 1] - time[k]))

    def rate(self, frame: int) -> float:
        time = self.poses.time
        if len(time) < 2 or self.steady:
            return self.shot.speed
        k = min(frame, len(time) - 2)
        return float(time[k + 1] - time[k]) * self.shot.frames_per_second


def smoothed(path: Array, width: int) -> Array:
    """A path averaged over `width` frames to either side, (n, 3)."""
    if width < 1:
        return path
    padded = np.concatenate([np.repeat(path[:1], width, 0), path, np.repeat(path[-1:], width, 0)])
    weights = np.hanning(2 * width + 3)[1:-1]
    weights /= weights.sum()
    return np.stack([np.convolve(padded[:, k], weights, mode="valid") for k in range(3)], axis=1)


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
    another interpreter to start; each image is made by one thread alone, so that its bytes
    don't depend on their number.

    Args:
        make: image of a number; called from several threads.
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
