"""Writing a report."""

from __future__ import annotations

from pathlib import Path

from simprop.report.page import page
from simprop.report.structure import Picture, Report
from simprop.report.writers import as_json, markdown
from simprop.written import write_text


def write_report(report: Report, path: Path) -> None:
    """Write a report as Markdown and as JSON.

    Args:
        report: what to write.
        path: where, without its ending.

    Raises:
        WriteError: when the folder can't be written.
    """
    write_text(path.with_suffix(".md"), markdown(report))
    write_text(path.with_suffix(".json"), as_json(report))


def write_notes(report: Report, folder: Path) -> None:
    """Write a report as ``notes.md`` and as ``notes.html``, a page that needs nothing beside it.

    Args:
        report: what to write; pictures without content, and clips, stand in `folder` already.
        folder: where to; pictures with content are written there too, for the Markdown.

    Raises:
        WriteError: when the folder can't be written.
    """
    for section in report.sections:
        for block in section.blocks:
            if isinstance(block, Picture) and block.content:
                place = folder / block.file
                place.parent.mkdir(parents=True, exist_ok=True)
                place.write_bytes(block.content)
    write_text(folder / "notes.md", markdown(report))
    write_text(folder / "notes.html", page(report, folder))
