"""A show as one clip: all its props where they stand, each by its own clock, over what their supply gives."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from simprop.geometry.arrays import Array
from simprop.loads.driving import Rows
from simprop.picture.chart.plots import Marked, Panel, loads_plot
from simprop.picture.clip.clip import ClipPaths, Progress, write_clip
from simprop.picture.render.arrows import RED
from simprop.picture.render.camera import Camera, Margin, framed, view_axes
from simprop.picture.render.extras import value_at
from simprop.picture.render.film import Film, Shot, Size, painters, prepare
from simprop.picture.render.frame import Image
from simprop.picture.render.marks import AMBER, BLUE
from simprop.picture.render.motion import Poses
from simprop.picture.render.overlay import INK, PAPER, Style, band, scale_bar, style_for, write
from simprop.picture.render.scene import lighting, reach
from simprop.picture.render.strokes import stroke
from simprop.picture.render.together import Placed, together
from simprop.show.effects import on_at
from simprop.show.play import Line, Part, Played

FREE = 0.04
"""Share of the picture kept free at its sides."""


@dataclass(frozen=True)
class _Label:
    """A prop's name, where it is written, (3,) m, and in which frames something of it is on, when it is amber."""

    name: str
    place: Array
    on: Rows


def render_show(
    played: Played,
    folder: str | Path,
    *,
    size: Size = (960, 540),
    frames_per_second: float = 25.0,
    with_gif: bool = True,
    gif_limit: int | None = 3_000_000,
    progress: Progress | None = None,
) -> ClipPaths:
    """Draw a show and write ``clip.mp4``, ``clip.gif`` and ``still.png``.

    Args:
        played: the show as it went.
        folder: where to.
        size: width, height in pixels, even.
        frames_per_second: of the clip.
        with_gif: also make the GIF.
        gif_limit: bytes, or None.
        progress: told of each frame.

    Raises:
        RenderError: when the picture or a file can't be made.
    """
    film = show_film(played, size, frames_per_second)
    return write_clip(
        painters(film), film.count, folder, size, frames_per_second,
        still_frame=(2 * (film.count - 1)) // 3, with_gif=with_gif, gif_limit=gif_limit, progress=progress,
    )  # fmt: skip


def show_film(played: Played, size: Size, frames_per_second: float) -> Film:
    """A show ready for drawing; see `render_show`."""
    show = played.show
    time = np.arange(int(np.floor(show.run.duration * frames_per_second + 1e-6)) + 1) / frames_per_second
    shot = Shot(
        size, frames_per_second, view=show.camera.view, light=show.camera.light, plain=True, whole=True
    )
    placed = [_placed(part, shot, time) for part in played.parts]
    scene, poses = together(placed, time)
    points, axes = reach(scene, poses), view_axes(show.camera.view)
    style = style_for(size, show.camera.light)
    names = [
        _Label(part.prop.name, _above(scene.hulls, poses, span), on_at(part, part.run.loads.driven, time))
        for part, span in _spans(played, placed)
    ]
    top = _top(played.lines, style) + 2.4 * style.text
    foot = style.band + 1.3 * style.text + 22 * style.unit
    margin = Margin(FREE, FREE, top / size[1], foot / size[1])
    camera = framed(points, axes, size, margin)
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    light = lighting(points, axes, show.camera.light)

    def over(image: Image, frame: int, seen: Camera) -> None:
        now = float(time[frame])
        for label in names:
            x, y = seen.seen(label.place)[:2]
            colour, halo = (AMBER, INK) if label.on[frame] else (style.ink, style.halo)
            write(image, label.name, (x, y), style.text, colour, halo, "mb")
        _supplies(image, played.lines, now, style, 1.0 / frames_per_second)
        scale_bar(image, seen, middle, style)
        band(image, show.name, f"{now:.2f} s", style)

    return Film(scene, poses, light, (camera,), size, middle, overlays=(over,))


def _placed(part: Part, shot: Shot, time: Array) -> Placed:
    standing, run = part.prop.standing, part.run
    own = np.maximum(time - standing.starts, 0.0)
    film = prepare(run.assembly, run.track, shot, times=own)
    return Placed(film, np.array(standing.at[:3]), standing.turn)


def _spans(played: Played, placed: Sequence[Placed]) -> list[tuple[Part, slice]]:
    """Each prop with the frames that are its own."""
    ends = np.cumsum([one.film.poses.turn.shape[1] for one in placed]).tolist()
    return [
        (part, slice(begin, end)) for part, begin, end in zip(played.parts, [0, *ends], ends, strict=False)
    ]


def _above(hulls: Sequence[Array], poses: Poses, span: slice) -> Array:
    """The place above the highest that a prop reaches, in the middle of it, (3,) m."""
    rows = [
        np.einsum("nij,hj->nhi", poses.turn[:, b], hulls[b]) + poses.shift[:, b][:, None]
        for b in range(len(hulls))[span]
        if len(hulls[b])
    ]
    reached = np.concatenate([r.reshape(-1, 3) for r in rows])
    low, high = reached.min(axis=0), reached.max(axis=0)
    return np.array([*((low + high) / 2)[:2], high[2]])


def _top(lines: Sequence[Line], style: Style) -> float:
    """Height of the strip of supplies, pixels."""
    return 2.2 * style.text * len(lines)


def _supplies(image: Image, lines: Sequence[Line], now: float, style: Style, over: float) -> None:
    """A strip at the top: for each supply its voltage, and a bar of its current against what it can give."""
    if not lines:
        return
    tall = round(_top(lines, style))
    region = image[:tall]
    region[:] = (region * 0.22 + np.array(INK, np.float32) * 0.78).astype(np.uint8)
    pad, size = 10 * style.unit, style.text
    for k, line in enumerate(lines):
        volts = float(value_at(line.time, line.voltage, now, over))
        amps = float(value_at(line.time, line.total, now, over))
        most = line.spec.limit
        y = (k * 2.2 + 0.85) * size
        write(
            image, f"{line.name} {volts:.1f} V of {line.spec.voltage:g} V", (pad, y), size, PAPER, None, "lm"
        )
        said = f"{amps:.1f} A" + ("" if most is None else f" of {most:g} A")
        write(image, said, (image.shape[1] - pad, y), size, PAPER, None, "rm")
        y, thick = y + 0.9 * size, 0.45 * size
        left, right = pad + 3, image.shape[1] - pad - 3
        stroke(image, [(left, y), (right, y)], (90, 93, 98), thick)
        share = amps / (most or max(float(line.total.max()), 1e-9))
        colour = BLUE if share < 0.7 else AMBER if share < 0.97 else RED
        end = left + (right - left) * float(np.clip(share, 0.0, 1.0))
        stroke(image, [(left, y), (end, y)], colour, thick)


def plot_supplies(lines: Sequence[Line], path: str | Path) -> Path:
    """Voltage of each shared supply and the currents of the props on it over time.

    Args:
        lines: of a show, at least one.
        path: PNG, SVG or PDF by its ending.
    """
    panels = []
    for line in lines:
        low = int(np.argmin(line.voltage))
        mark = Marked(line.name, float(line.time[low]), float(line.voltage[low]), "V")
        panels.append(Panel(f"{line.name}: voltage, V", {line.name: line.voltage}, [mark]))
        limits = None if line.spec.limit is None else {"limit": line.spec.limit}
        panels.append(Panel(f"{line.name}: current, A", {**line.current, "together": line.total}, (), limits))
    first = panels[0]
    return loads_plot(lines[0].time, first.series, first.peaks, path, label=first.label, further=panels[1:])
