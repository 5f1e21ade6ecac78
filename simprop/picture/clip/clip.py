"""A run as a clip a person can send: MP4, GIF and a still."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from PIL import Image as Pictures

from simprop.assembly.types import Assembly
from simprop.picture.encode import Encoder, gif
from simprop.picture.render.ahead import in_order
from simprop.picture.render.extras import Extras
from simprop.picture.render.film import Film, Shot, Size, painters, prepare
from simprop.picture.render.frame import Image
from simprop.picture.render.scene import Light
from simprop.written import written_beside

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

Progress = Callable[[int, int], None]
"""Called with frames done and frames in all."""


@dataclass(frozen=True)
class ClipPaths:
    """The files a clip was written to.

    Attributes:
        mp4: x264, plays in browsers and on phones.
        gif: below the size asked for, or None if none was asked for.
        gif_seconds: seconds of the clip that the GIF shows, or None for all of it.
        still: PNG of one frame.
    """

    mp4: Path
    gif: Path | None
    still: Path
    gif_seconds: float | None = None


def render_clip(
    assembly: Assembly,
    track: Trajectory,
    folder: str | Path,
    *,
    frames_per_second: float = 25.0,
    size: Size = (640, 480),
    speed: float = 1.0,
    view: str | None = None,
    light: Light | None = None,
    watch: Sequence[str] | None = None,
    title: str | None = None,
    caption: str | None = None,
    note: str = "",
    extras: Extras | None = None,
    whole: bool = False,
    gif_limit: int | None = 3_000_000,
    with_gif: bool = True,
    quick: bool = False,
    workers: int | None = None,
    progress: Progress | None = None,
) -> ClipPaths:
    """Draw a run and write ``clip.mp4``, ``clip.gif`` and ``still.png``.

    The files appear together when all is done; after an error or Ctrl-C nothing half-written is left.

    Args:
        assembly: the prop.
        track: its recorded motion.
        folder: where to, made if missing.
        frames_per_second: of the clip; 25 or 12.5 are exact in a GIF.
        size: width, height in pixels, even.
        speed: seconds of motion a second of clip.
        view: front, side, three_quarter, top or follow; None: the rig's.
        light: day or night; None: the rig's.
        watch: points or joints to trace; None: the rig's.
        title: text at the lower left; None: the rig's name.
        caption: text before the time at the lower right; None: the supplies.
        note: text after the caption: what isn't drawn as it is.
        extras: load arrows, gauges, peak flashes, cues, slow motion (see `simprop.picture.render.extras.load_extras`).
        whole: frame all of the prop and its scenery; else what moves, with what is near it.
        gif_limit: bytes, or None.
        with_gif: also make the GIF.
        quick: spend less time on making the files small.
        workers: threads that draw, or None for one a core.
        progress: told of each frame.

    Returns:
        The paths written.

    Raises:
        RenderError: when the picture or a file can't be made.
    """
    shot = Shot(
        size=size,
        frames_per_second=frames_per_second,
        speed=speed,
        view=view,
        light=light,
        watch=watch,
        title=title,
        caption=caption,
        note=note,
        whole=whole,
        extras=Extras() if extras is None else extras,
    )
    film = prepare(assembly, track, shot)
    return write_clip(
        painters(film),
        film.count,
        folder,
        size,
        frames_per_second,
        still_frame=best_still(film),
        gif_limit=gif_limit,
        with_gif=with_gif,
        quick=quick,
        workers=workers,
        progress=progress,
    )


def best_still(film: Film) -> int:
    """The frame two thirds into the run, when traces have something to show."""
    return (2 * (film.count - 1)) // 3


def write_clip(
    make: Callable[[int], Image],
    count: int,
    folder: str | Path,
    size: Size,
    frames_per_second: float,
    *,
    name: str = "clip",
    still_name: str = "still",
    still_frame: int = 0,
    gif_limit: int | None = 3_000_000,
    with_gif: bool = True,
    quick: bool = False,
    workers: int | None = None,
    progress: Progress | None = None,
) -> ClipPaths:
    """Write images by number as ``<name>.mp4``, ``<name>.gif`` and ``<still_name>.png``; see `render_clip`."""
    folder = Path(folder)
    with written_beside(folder) as work:
        lossless = work / ".lossless.mkv" if with_gif else None
        encoder = Encoder(work / f"{name}.mp4", lossless, size, frames_per_second, quick=quick)
        frames = in_order(make, count, workers)
        try:
            for k, image in enumerate(frames):
                encoder.add(image)
                if k == still_frame:
                    Pictures.fromarray(image).save(work / f"{still_name}.png", optimize=not quick)
                if progress is not None:
                    progress(k + 1, count)
            encoder.close()
        except BaseException:
            encoder.stop()
            raise
        finally:
            frames.close()  # type: ignore[attr-defined]
        shown = None
        if lossless is not None:
            seconds = count / frames_per_second
            shown = gif(lossless, work / f"{name}.gif", gif_limit, min(frames_per_second, 25.0), seconds)
    made = folder / f"{name}.gif" if with_gif else None
    return ClipPaths(folder / f"{name}.mp4", made, folder / f"{still_name}.png", shown)
