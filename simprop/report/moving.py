"""The page that moves: the prop in three dimensions, what it bears, its motors, and what to beware of."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from simprop.report import hazards, loads
from simprop.report.figures import number
from simprop.report.strength import first, open_points, summary
from simprop.report.structure import Block, Inset, Picture, Report, Section, Strong
from simprop.run.run import Run
from simprop.scene.marks import LITTLE
from simprop.scene.scene import scene_of
from simprop.scene.types import SceneData
from simprop.scene.viewer import INSTALL, document, viewer

STILL, PLOT, CUES = "still.jpg", "loads.png", "cues.png"
HANDLING = (
    "drag to turn it, shift it with two fingers or the right button, come nearer with a pinch or the wheel. The bar "
    "below stops, winds and slows it; the sign at its right end lists all that is drawn, to be hidden or shown."
)


def moving(run: Run, folder: Path, *, plays: bool = True) -> Report:
    """The page of a run.

    Args:
        run: what it shows.
        folder: where its pictures are drawn to.
        plays: False: a still stands in place of the viewer.

    Raises:
        RenderError: where the viewer isn't installed.
    """
    _pictures(run, folder)
    sections = (
        Section("moving", "", _front(run, plays)),
        _titled("What carries load", loads.carrying(run)),
        _titled("Motors and supplies", loads.drives(run)),
        _titled("Slides", loads.slides(run)),
        Section("plots", "Over time", _plots(run)),
        first(run),
        open_points(run),
        hazards.hurts(run),
    )
    return Report(run.rig.name, [s for s in sections if s is not None])


def _titled(title: str, section: Section | None) -> Section | None:
    return None if section is None else replace(section, title=title)


def _front(run: Run, plays: bool) -> list[Block]:
    blocks: list[Block] = [run.rig.about] if run.rig.about else []
    blocks += [Strong(f"Strength: {summary(run.strength)}")]
    if not plays:
        return [*blocks, Picture(STILL, f"{run.rig.name}, which moves here with viser: {INSTALL}")]
    data = scene_of(run)
    blocks.append(Inset(document(data), STILL, f"{run.rig.name}: {HANDLING}"))
    about = f"The viewer is viser {viewer().__version__}; its licence stands in the source of this page."
    return [*blocks, legend(data), about]


def legend(data: SceneData) -> str:
    """What the marks of a scene say."""
    said = (
        "Marks at joints: a pin lies along each axis that is free, blue where it turns and green where it slides. "
        "Lines are the paths of watched points."
    )
    if data.arrows is None:
        return said
    return (
        f"{said} Arrows are the forces on the second body of each joint, the longest {number(data.full or 0.0)} N; "
        f"small ones are left out. Blue: under {100 * LITTLE:.0f} % of what its fastener is allowed; amber: up to "
        "100 %; red: more; grey: not computed. Between peaks that share is taken to go with the force."
    )


def _plots(run: Run) -> list[Block]:
    blocks: list[Block] = [Picture(PLOT, "What carries most, and what the drives are asked for", size="wide")]
    if run.laws.events:
        blocks.append(Picture(CUES, "What the controller does, and how the prop follows", size="wide"))
    return blocks


def _pictures(run: Run, folder: Path) -> None:
    from PIL import Image

    from simprop.picture.chart.drive_plots import cue_plot
    from simprop.picture.chart.plots import plot_loads
    from simprop.picture.render.film import Shot, prepare, steady, still

    shot = steady(Shot(plain=True), run.assembly)
    film = prepare(run.assembly, run.track, shot, times=run.track.time[len(run.track.time) // 2 :][:1])
    Image.fromarray(still(film, 0)).save(folder / STILL, quality=85)
    plot_loads(run.loads, folder / PLOT)
    if run.laws.events:
        cue_plot(run.recording, folder / CUES)
