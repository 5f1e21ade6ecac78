"""``simprop page``: the moving prop in one HTML file."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

from rich.text import Text

from simprop.commands.source import folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.errors import WriteError
from simprop.scene.viewer import viewer
from simprop.written import write_text

ENDINGS = (".html", ".htm")


def page_of(source: Path, sets: dict[str, str], engine: str | None, out: Path | None, *, settle: bool) -> int:
    """Write the page of a rig or of a saved recording: 1 if a strength check fails, 3 if one is open.

    Args:
        source: a rig file or a recording.
        sets: values put over the rig's.
        engine: name of the engine; None: the usual one.
        out: the file; None: ``moving.html`` beside the recording or in the folder of the rig's pictures.
        settle: halve the step until the peaks stand still.

    Raises:
        RenderError: where viser isn't installed.
        WriteError: for a file that doesn't end as a page does, or can't be written.
    """
    from simprop.report.moving import moving
    from simprop.report.page import page

    file = out or folder_for(source, None) / "moving.html"
    if file.suffix.lower() not in ENDINGS:
        raise WriteError(f"--out {file}: write the name of a file that ends in {' or '.join(ENDINGS)}")
    viewer()
    with stages() as report, TemporaryDirectory() as work:
        run = run_of(source, sets, engine, report, settle=settle)
        report("writing the page", 0, 1)
        write_text(file, page(moving(run, Path(work)), Path(work)))
        report("writing the page", 1, 1)
    console.print(
        Text(f"Written: {file} ({file.stat().st_size / 1e6:.1f} MB), which needs nothing beside it")
    )
    return run.strength.exit_code
