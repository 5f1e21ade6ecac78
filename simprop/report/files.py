"""Writing a report."""

from __future__ import annotations

from pathlib import Path

from simprop.report.structure import Report
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
