"""Writing files so that they appear whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

from simprop.errors import RenderError
from simprop.report.structure import Report
from simprop.report.writers import as_json, markdown


def write_text(path: Path, text: str) -> Path:
    """Write text beside its place, then rename it into place.

    Raises:
        RenderError: when the folder can't be written.
    """
    beside = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(text, encoding="utf-8")
        os.replace(beside, path)
    except OSError as error:
        raise RenderError(f"{path} can't be written: {error}") from None
    finally:
        beside.unlink(missing_ok=True)
    return path


def write_report(report: Report, path: Path) -> None:
    """Write a report as Markdown and as JSON.

    Args:
        report: what to write.
        path: where, without its ending.

    Raises:
        RenderError: when the folder can't be written.
    """
    write_text(path.with_suffix(".md"), markdown(report))
    write_text(path.with_suffix(".json"), as_json(report))
