"""Runs beside each other in one still, each where its watched point is furthest from its start."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from PIL import Image as Picture

from simprop.picture.clip.compare import GAP, Pane, films, layout
from simprop.picture.render.film import Shot, painters
from simprop.picture.render.motion import frame_times, poses_at
from simprop.picture.render.watch import follow, watched
from simprop.written import written_beside


def side_by_side(panes: Sequence[Pane], path: Path, shot: Shot | None = None) -> Path:
    """Draw runs beside each other, by one camera and in one light.

    Args:
        panes: runs, as many as `simprop.picture.clip.compare.layout` has room for.
        path: PNG.
        shot: how they are shown; its size is that of one pane.

    Raises:
        RenderError: as `simprop.picture.clip.compare.films`.
    """
    down, across, usual = layout(len(panes))
    base = replace(Shot() if shot is None else shot, size=usual)
    width, height = base.size
    page = np.full((down * (height + GAP) - GAP, across * (width + GAP) - GAP, 3), 20, np.uint8)
    for k, (pane, film) in enumerate(zip(panes, films(panes, base), strict=True)):
        y, x = (k // across) * (height + GAP), (k % across) * (width + GAP)
        page[y : y + height, x : x + width] = painters(film)(_furthest(pane, base))
    with written_beside(path.parent) as work:
        Picture.fromarray(page).save(work / path.name)
    return path


def _furthest(pane: Pane, shot: Shot) -> int:
    """The frame in which the first watched point is furthest from its start; the last one where none is watched."""
    times = frame_times(pane.track, shot.frames_per_second, shot.speed)
    points = watched(pane.assembly)
    if not points:
        return len(times) - 1
    places = follow(points, poses_at(pane.assembly, pane.track, times))[:, 0]
    return int(np.argmax(np.linalg.norm(places - places[0], axis=1)))
