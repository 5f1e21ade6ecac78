"""How a rig, a run and a recording show themselves in a notebook: each as a small page within it."""

from __future__ import annotations

from html import escape
from pathlib import Path
from tempfile import TemporaryDirectory

from simprop.engine.acting.actuation import actuate
from simprop.errors import RenderError, SimpropError
from simprop.recording import Recording
from simprop.report.check import check_report
from simprop.report.moving import moving
from simprop.report.page import page
from simprop.report.structure import Picture, Report, Section
from simprop.rig.model import Rig
from simprop.run.assembled import assembled
from simprop.run.run import Run
from simprop.scene.viewer import viewer

TALL = 640
"""Height of such a page, pixels."""


def rig_html(rig: Rig) -> str:
    """What a rig is as read, with a drawing of it; where it doesn't go together, why.

    Args:
        rig: as read.

    Returns:
        HTML that stands by itself within a page.
    """
    from simprop.picture.chart.look import quick_look

    try:
        assembly = assembled(rig)
    except SimpropError as error:
        return f"<pre>{escape(str(error))}</pre>"
    laws = actuate(assembly)
    with TemporaryDirectory() as work:
        drawn = quick_look(assembly, laws, Path(work) / "look.svg")
        look = Section("look", "", [Picture(drawn.name, f"{rig.name} as read, not run", size="wide")])
        found = check_report(assembly, laws)
        return _within(page(Report(found.title, [look, *found.sections]), Path(work)), rig.name)


def run_html(run: Run) -> str:
    """The page of a run: moving where viser is installed, else with a still.

    Args:
        run: what is shown.

    Returns:
        HTML that stands by itself within a page.
    """
    try:
        viewer()
    except RenderError:
        plays = False
    else:
        plays = True
    with TemporaryDirectory() as work:
        return _within(page(moving(run, Path(work), plays=plays), Path(work)), run.rig.name)


def recording_html(recording: Recording) -> str:
    """The page of a recording, as of its run.

    Args:
        recording: what is shown.

    Returns:
        HTML that stands by itself within a page.
    """
    return run_html(Run(recording))


def _within(document: str, name: str) -> str:
    style = f"width:100%;height:{TALL}px;border:0"
    return f'<iframe title="{escape(name)}" style="{style}" srcdoc="{escape(document)}"></iframe>'
