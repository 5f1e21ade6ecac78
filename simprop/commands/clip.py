"""How clips are drawn on behalf of the commands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.run.once import Report
    from simprop.run.run import Run


@dataclass(frozen=True)
class ClipOptions:
    """What a person may choose about a clip.

    Attributes:
        size: width and height, pixels.
        view: front, side, three_quarter, top or follow; None: the rig's.
        light: day or night; None: the rig's.
        speed: seconds of motion in a second of clip.
        loads: draw load arrows, motor gauges and the peak.
        joints: joints that get an arrow; empty: the one that carries most.
        slow_peak: speed round the peak, as a share of the clip's.
        ticks: a dot on each trace every so many seconds; 0: none.
        gif: also make the GIF.
        draft: a quick look: half the frames, and a file that is quick to make rather than small.
        exaggerate: how many times as far what bends is drawn.
        whole: frame all of the prop, not what moves with what is near it.
    """

    size: tuple[int, int] = (640, 480)
    view: str | None = None
    light: str | None = None
    speed: float = 1.0
    loads: bool = False
    joints: Sequence[str] = ()
    slow_peak: float = 1.0
    ticks: float = 0.0
    gif: bool = True
    draft: bool = False
    whole: bool = False
    exaggerate: float = 1.0


def drawn_track(run: Run, times: float) -> Trajectory:
    """The motion as it is drawn: with so many times the bend.

    Raises:
        RenderError: for more than once, where nothing bends.
    """
    if times == 1.0:
        return run.track
    from simprop.picture.render.exaggerate import exaggerated

    return exaggerated(run.assembly, run.laws, run.track, times)


def draw_clip(run: Run, folder: Path, options: ClipOptions, report: Report) -> None:
    """Write the clip and the still of a run.

    Args:
        run: the run.
        folder: where to.
        options: how.
        report: told of each frame.
    """
    from simprop.picture.clip.clip import render_clip
    from simprop.picture.clip.sound import add_sound, sounds
    from simprop.picture.render.exaggerate import note_of
    from simprop.picture.render.extras import load_extras

    extras = None
    shown = drawn_track(run, options.exaggerate)
    if options.loads:
        extras = load_extras(
            run.loads,
            options.joints or None,
            slow=options.slow_peak,
            ticks=options.ticks,
            shown=None if shown is run.track else shown,
        )
    paths = render_clip(
        run.assembly,
        shown,
        folder,
        frames_per_second=run.rig.run.frames / (2 if options.draft else 1),
        size=options.size,
        speed=options.speed,
        view=options.view,
        light=options.light,  # type: ignore[arg-type]
        note=note_of(options.exaggerate),
        extras=extras,
        with_gif=options.gif,
        quick=options.draft,
        whole=options.whole,
        progress=lambda done, total: report("drawing the clip", done, total),
    )
    if extras is None or options.slow_peak == 1.0:  # else picture and sound would drift apart
        add_sound(paths.mp4, run.rig.source, sounds(run.laws.events), options.speed)
