"""Still pictures of a motion: contact sheet of a cycle and motion ghost."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from PIL import Image as Pictures

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.picture.render.ahead import in_order
from simprop.picture.render.film import Shot, draw, laid_behind, painters, prepare, steady
from simprop.picture.render.frame import Image, Painter
from simprop.picture.render.overlay import COLOURS, band, scale_bar, style_for, write
from simprop.picture.render.strokes import stroke
from simprop.picture.render.watch import follow, watched
from simprop.written import written_beside

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory


def save_png(image: Image, path: str | Path) -> Path:
    """Write an image; the file appears whole or not at all."""
    path = Path(path)
    with written_beside(path.parent) as work:
        Pictures.fromarray(image).save(work / path.name, optimize=True)
    return path


def cycle_span(track: Trajectory, axis: int | None = None) -> tuple[float, float]:
    """Start and end of one late cycle of the motion, s; the whole run where no cycle shows.

    Args:
        axis: the coordinate that counts; None: the first that a motor moves, or else the first.

    Returns:
        The last whole turn of an axis that goes round; between the last two rises of one that goes to and fro.
    """
    time = track.time
    whole = (float(time[0]), float(time[-1]))
    if track.coordinate.shape[1] == 0:
        return whole
    if axis is None:
        driven = np.flatnonzero(np.abs(track.applied[:, 0]).max(axis=0) > 0)
        axis = int(driven[0]) if len(driven) else 0
    angle = track.coordinate[:, axis]
    turns = np.abs(angle - angle[0]) / (2 * np.pi)
    if turns[-1] >= 1:
        last = float(np.floor(turns[-1]))
        return (float(time[np.argmax(turns >= last - 1)]), float(time[np.argmax(turns >= last)]))
    low, high = float(angle.min()), float(angle.max())
    side = np.where(angle > high - 0.25 * (high - low), 1, np.where(angle < low + 0.25 * (high - low), -1, 0))
    seen = np.flatnonzero(side)
    rises = seen[1:][(side[seen[:-1]] < 0) & (side[seen[1:]] > 0)]
    return whole if len(rises) < 2 or high - low < 1e-9 else (float(time[rises[-2]]), float(time[rises[-1]]))


def contact_sheet(
    assembly: Assembly,
    track: Trajectory,
    path: str | Path,
    *,
    columns: int = 4,
    rows: int = 2,
    note: str = "",
) -> Path:
    """Evenly spaced pictures of one cycle on one sheet, each with its time.

    Args:
        path: PNG to write.
        columns, rows: of the sheet.
        note: what isn't drawn as it is.

    Raises:
        RenderError: for a sheet without pictures.
    """
    count = columns * rows
    if columns < 1 or rows < 1 or count > 100:
        raise RenderError(f"a sheet of {columns} x {rows} pictures can't be made; allowed: 1 to 100 pictures")
    start, end = cycle_span(track)
    times = start + (end - start) * np.arange(count) / count
    one = steady(Shot(size=(320, 300), title="", caption="", note=note), assembly)
    film = prepare(assembly, track, one, times=times)
    gap = 6
    width, height = one.size
    page = np.full((rows * (height + gap) + gap, columns * (width + gap) + gap, 3), 250, np.uint8)
    for k, image in enumerate(in_order(painters(film), count)):
        y, x = gap + (k // columns) * (height + gap), gap + (k % columns) * (width + gap)
        page[y : y + height, x : x + width] = image
    return save_png(page, path)


def motion_ghost(
    assembly: Assembly,
    track: Trajectory,
    path: str | Path,
    *,
    count: int = 7,
    shot: Shot | None = None,
    span: tuple[float, float] | None = None,
) -> Path:
    """One picture with the positions through a cycle, the earlier the fainter, and the paths of the watched points.

    Args:
        path: PNG to write.
        count: positions shown, 2 to 24.
        shot: how it is shown; None: 960 x 720 pixels.
        span: start and end, s; None: half of the last cycle, from one end of the motion to the other.
    """
    if not 2 <= count <= 24:
        raise RenderError(f"{count} positions can't be shown; allowed: 2 to 24")
    if span is None:
        start, end = cycle_span(track)
        span = (start, (start + end) / 2)
    times = np.linspace(*span, count)
    base = steady(Shot(size=(960, 720)) if shot is None else shot, assembly)
    film = prepare(assembly, track, replace(base, plain=True), times=times)
    framed_film = prepare(assembly, track, base, times=times)
    camera = framed_film.camera(0)
    film = replace(film, cameras=(camera,))
    painter = Painter(film.scene, film.lighting, film.size)
    page = draw(film, painter, count - 1).astype(np.float32)
    top = painter.moving_cover()
    for k in range(count - 1):
        image = draw(film, painter, k).astype(np.float32)
        strength = 0.14 + 0.36 * k / max(count - 2, 1)
        cover = (painter.moving_cover() * strength * (1 - top))[..., None]
        page = page * (1 - cover) + image * cover
    out = np.clip(np.round(page), 0, 255).astype(np.uint8)
    style = style_for(base.size, "day" if base.light is None else base.light)
    points = watched(assembly, base.watch)
    fine = prepare(assembly, track, replace(base, plain=True), times=np.linspace(*span, 160))
    paths: Array = follow(points, fine.poses)
    marked = out.copy()
    for k in range(len(points)):
        seen = camera.seen(paths[:, k])[:, :2]
        stroke(marked, seen, style.halo, 3.6 * style.unit, 0.6)
        stroke(marked, seen, COLOURS[k % len(COLOURS)], 1.8 * style.unit)
        for row in np.linspace(0, len(seen) - 1, count).astype(int):
            stroke(marked, seen[row : row + 1], COLOURS[k % len(COLOURS)], 4 * style.unit)
    laid_behind(out, marked, top)
    for k in range(len(points)):
        seen = camera.seen(paths[:, k])[:, :2]
        write(out, points[k].name, (seen[-1, 0] + 9, seen[-1, 1]), style.text, style.ink, style.halo, "lm")
    scale_bar(out, camera, framed_film.middle, style)
    title = assembly.rig.name if base.title is None else base.title
    facts = (base.note, f"{span[0]:.2f} to {span[1]:.2f} s, {count} positions")
    band(out, title, "   ".join(f for f in facts if f), style)
    return save_png(out, path)
