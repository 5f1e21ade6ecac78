"""How clips are drawn on behalf of the commands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simprop.loads.joints import JointLoads
from simprop.recording import Recording
from simprop.run.simulate import Report


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


def draw_clip(
    recording: Recording, loads: JointLoads | None, folder: Path, options: ClipOptions, report: Report
) -> None:
    """Write the clip and the still of a run.

    Args:
        recording: the run.
        loads: its loads, needed where `options.loads` asks for them.
        folder: where to.
        options: how.
        report: told of each frame.
    """
    from simprop.picture.clip.clip import render_clip
    from simprop.picture.clip.sound import add_sound, sounds
    from simprop.picture.render.extras import load_extras

    extras = None
    if options.loads and loads is not None:
        extras = load_extras(loads, options.joints or None, slow=options.slow_peak, ticks=options.ticks)
    rig = recording.assembly.rig
    paths = render_clip(
        recording.assembly,
        recording.track,
        folder,
        frames_per_second=rig.run.frames,
        size=options.size,
        speed=options.speed,
        view=options.view,
        light=options.light,  # type: ignore[arg-type]
        extras=extras,
        with_gif=options.gif,
        progress=lambda done, total: report("drawing the clip", done, total),
    )
    if extras is None or options.slow_peak == 1.0:  # else picture and sound would drift apart
        add_sound(paths.mp4, sounds(rig, recording.laws.events), options.speed)
