"""A run made ready for drawing: scene, poses, camera, light and what is written over each frame."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.picture.render.arrows import arrow_length, draw_arrows, settled_places, write_values
from simprop.picture.render.camera import Camera, Margin, following, framed, view_axes
from simprop.picture.render.cords import with_cords
from simprop.picture.render.extras import Extras, arrow_tips, slowed
from simprop.picture.render.fittings import hardware
from simprop.picture.render.frame import Image, Painter
from simprop.picture.render.framing import cropped, swept
from simprop.picture.render.lines import line_surfaces
from simprop.picture.render.marks import draw_cues, draw_flashes, draw_gauges, gauge_height, strip_height
from simprop.picture.render.motion import Poses, frame_times, poses_at
from simprop.picture.render.overlay import COLOURS, band, scale_bar, style_for, trace
from simprop.picture.render.scene import Light, Lighting, Scene, build_scene, lighting, reach
from simprop.picture.render.strips import drapes, with_strips
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

Size = tuple[int, int]
FINE = 5
"""Places of a trace in the time of one frame."""

THROUGH = 0.3
"""How much of traces and arrows is seen where something moves in front of them."""

Overlay = Callable[[Image, int, Camera], None]
"""Draws into the image of frame k, in place."""


@dataclass(frozen=True)
class Film:
    """Everything a frame needs.

    Attributes:
        scene, poses, lighting: what is drawn, where, in what light.
        cameras: one for all frames, or one a frame.
        size: width, height in pixels.
        middle: of what is framed, (3,) m.
        overlays: drawn over each frame, in order.
        behind: drawn before these, and faint where something moves in front.
    """

    scene: Scene
    poses: Poses
    lighting: Lighting
    cameras: tuple[Camera, ...]
    size: Size
    middle: Array
    overlays: tuple[Overlay, ...] = ()
    behind: tuple[Overlay, ...] = ()

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
        note: text after the caption: what isn't drawn as it is.
        plain: no text, traces or scale bar.
        whole: all of the prop and its scenery is framed, not what moves with what stands round it.
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
    note: str = ""
    plain: bool = False
    whole: bool = False
    extras: Extras = field(default_factory=Extras)


def steady(shot: Shot, assembly: Assembly) -> Shot:
    """The shot from one place: a camera that follows by the rig's wish becomes three-quarter."""
    view = assembly.rig.camera.view if shot.view is None else shot.view
    return replace(shot, view="three_quarter" if view == "follow" else view)


@dataclass(frozen=True)
class Reached:
    """Places of a run, (k, 3) m each.

    Attributes:
        moving: what the moving bodies sweep.
        kept: what a camera must see: these, traces, arrows, and what stands near.
        everything: all of the prop and its scenery too, for the light.
    """

    moving: Array
    kept: Array
    everything: Array


def reached(assembly: Assembly, track: Trajectory, shot: Shot, times: Array | None = None) -> Reached:
    """Places that bodies, traces and arrows of a run reach in its frames."""
    return _Cut(assembly, track, shot, times).reached()


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
    light = lighting(cut.reached().everything, cameras[0].axes, cut.light) if lit is None else lit
    film = Film(cut.scene, cut.poses, light, cameras, shot.size, cut.middle)
    if shot.plain:
        return film
    cut.places = cut.settled(film)
    return replace(film, overlays=(cut.values, cut.foot), behind=(cut.traces, cut.loads))


def frame_margin(shot: Shot) -> Margin:
    """What a shot keeps free of the prop for its text, gauges and cues."""
    plain, style = Margin(), style_for(shot.size)
    if shot.plain:
        return Margin(bottom=plain.top)
    gauges = gauge_height(len(shot.extras.gauges), style)
    above = gauges + (0.04 if gauges else plain.top) * shot.size[1]
    below = style.band + strip_height(len(shot.extras.cues), style) + 1.3 * style.text + 22 * style.unit
    return Margin(plain.left, plain.right, above / shot.size[1], below / shot.size[1])


class _Cut:
    """The work of `prepare`, with what its parts share."""

    def __init__(self, assembly: Assembly, track: Trajectory, shot: Shot, times: Array | None):
        check_size(shot.size)
        rig, extras = assembly.rig, shot.extras
        self.shot, self.extras = shot, extras
        self.light: Light = rig.camera.light if shot.light is None else shot.light
        self.view = rig.camera.view if shot.view is None else shot.view
        self.whole = shot.whole or rig.camera.whole
        if times is not None:
            at = np.asarray(times, dtype=float)
        elif extras.slow < 1 and extras.flashes:
            at = slowed(float(track.time[-1]), shot.frames_per_second, shot.speed, extras)
        else:
            at = frame_times(track, shot.frames_per_second, shot.speed)
        self.steady = times is not None
        self.end = float(track.time[-1])
        track = with_strips(assembly, with_cords(assembly, track))
        self.poses = poses_at(assembly, track, at)
        self.scene = build_scene(
            assembly, hardware(assembly), line_surfaces(assembly, track), drapes(assembly)
        )
        self.points = watched(assembly, shot.watch)
        self.paths = follow(self.points, self.poses)
        # traces run through instants between the frames too, so that fast ones stay round
        self.fine = np.interp(np.arange(FINE * (len(at) - 1) + 1) / FINE, np.arange(len(at)), at)
        self.trails = follow(self.points, poses_at(assembly, track, self.fine))
        self.moving = [i for i, body in enumerate(assembly.bodies) if not body.fixed]
        self.bodies = reach(self.scene, self.poses)
        if not len(self.bodies):
            raise RenderError("there is nothing to draw: no body has a visible part")
        self.swept = swept(assembly, self.scene, self.poses)
        self.length = arrow_length(self.swept)
        self.marked = np.concatenate([self.trails.reshape(-1, 3), arrow_tips(extras.arrows, self.length)])
        self.kept = self._kept()
        self.middle = (self.kept.min(axis=0) + self.kept.max(axis=0)) / 2
        self.style = style_for(shot.size, self.light)
        self.places: list[tuple[str, float, float]] = []
        title = rig.name if shot.title is None else shot.title
        self.words = (title, supply_text(assembly) if shot.caption is None else shot.caption)

    def _kept(self) -> Array:
        if self.whole or self.view == "follow":
            return np.concatenate([self.bodies, self.marked])
        axes = view_axes(self.view)
        return cropped(self.swept, self.marked, self.bodies, axes, self.shot.size, self.margin())

    def reached(self) -> Reached:
        return Reached(self.swept, self.kept, np.concatenate([self.bodies, self.marked]))

    def settled(self, film: Film) -> list[tuple[str, float, float]]:
        """Where the values of the arrows stand, by a small picture of a few frames."""
        if not self.extras.arrows:
            return []
        width, height = self.shot.size
        small = (160, max(1, round(160 * height / width)))
        painter, moments = Painter(film.scene, film.lighting, small), []
        for k in np.unique(np.linspace(0, film.count - 1, 9).astype(int)):
            camera = film.camera(int(k))
            far = replace(camera, focal=camera.focal * small[0] / width, size=small)
            painter.paint(film.poses.turn[k], film.poses.shift[k], far)
            moments.append((float(film.poses.time[k]), camera, painter.moving_cover()))
        return settled_places(self.extras.arrows, moments, self.length, self.style, self.room())

    def room(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom of what is free for words, pixels."""
        width, height = self.shot.size
        top = gauge_height(len(self.extras.gauges), self.style) + 4 * self.style.unit
        return 6, top, width - 8, height * (1 - self.margin().bottom)

    def margin(self) -> Margin:
        return frame_margin(self.shot)

    def cameras(self) -> tuple[Camera, ...]:
        if self.view != "follow":
            return (framed(self.kept, view_axes(self.view), self.shot.size, self.margin()),)
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
        now, over = float(self.poses.time[frame]), self.shown_for(frame)
        draw_arrows(image, self.extras.arrows, now, camera, self.length, self.style, over)

    def values(self, image: Image, frame: int, camera: Camera) -> None:
        now, over = float(self.poses.time[frame]), self.shown_for(frame)
        arrows, room = self.extras.arrows, self.room()
        write_values(image, arrows, self.places, now, camera, self.length, self.style, room, over)

    def foot(self, image: Image, frame: int, camera: Camera) -> None:
        now = float(self.poses.time[frame])
        lift = strip_height(len(self.extras.cues), self.style)
        scale_bar(image, camera, self.middle, self.style, lift)
        draw_gauges(image, self.extras.gauges, now, self.style, self.shown_for(frame))
        floor = image.shape[0] - self.style.band - lift
        draw_flashes(image, self.extras.flashes, now, camera, self.style, 0.8 * self.hold(), floor)
        draw_cues(image, self.extras.cues, now, self.end, self.style)
        rate = self.rate(frame)
        facts = [
            self.words[1],
            self.shot.note,
            "" if abs(rate - 1) < 0.01 else f"speed x {rate:.2g}",
            f"{now:.2f} s",
        ]
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


def laid_behind(image: Image, marked: Image, cover: Image) -> None:
    """Put what `marked` has over `image` into it, in place, faint where something moves in front.

    Args:
        cover: share of each pixel that shows what moves, (height, width).
    """
    rows, columns = np.nonzero((marked != image).any(axis=2))
    seen = 1 - (1 - THROUGH) * cover[rows, columns, None]
    image[rows, columns] = marked[rows, columns] * seen + image[rows, columns] * (1 - seen) + 0.5


def draw(film: Film, painter: Painter, frame: int) -> Image:
    """One frame with its overlays, (height, width, 3) uint8."""
    camera = film.camera(frame)
    image = painter.paint(film.poses.turn[frame], film.poses.shift[frame], camera)
    if film.behind:
        marked = image.copy()
        for overlay in film.behind:
            overlay(marked, frame, camera)
        laid_behind(image, marked, painter.moving_cover())
    for overlay in film.overlays:
        overlay(image, frame, camera)
    return image


def still(film: Film, frame: int) -> Image:
    """One frame of a film, (height, width, 3) uint8."""
    return draw(film, Painter(film.scene, film.lighting, film.size), frame)


def painters(film: Film) -> Callable[[int], Image]:
    """A function that draws a frame of the film by number, with buffers of its own for each thread."""
    local = threading.local()

    def make(frame: int) -> Image:
        if not hasattr(local, "painter"):
            local.painter = Painter(film.scene, film.lighting, film.size)
        return draw(film, local.painter, frame)

    return make
