"""Variants as a table that other programs read: CSV, and Parquet where that can be written."""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from math import isfinite
from pathlib import Path
from typing import Any

from simprop.errors import SimpropError
from simprop.report.vary import Varied
from simprop.study.vary.table import Column, answer_columns, field_columns
from simprop.study.vary.worth import held

MISSING = 'variants.parquet needs a package that isn\'t here: pip install "simprop[parquet]"'


def write_csv(varied: Varied, path: Path) -> Path:
    """Write a row for each variant: what was set, what was answered, by how much a build was off, with the units in the
    header.

    What isn't known is an empty cell. ``ended`` and ``reason`` tell what became of it, ``level`` how deep it was looked
    into.

    Args:
        varied: the variants.
        path: of the file.
    """
    names, _, columns = zip(*_columns(varied), strict=True)
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(names)
        for row in zip(*columns, strict=True):
            writer.writerow(
                ["" if cell is None else repr(cell) if isinstance(cell, float) else cell for cell in row]
            )
    return path


def write_parquet(varied: Varied, path: Path) -> Path:
    """Write the same rows as Parquet.

    Raises:
        SimpropError: where the package that does so is missing.
    """
    try:
        import pyarrow as arrow
        from pyarrow import parquet
    except ImportError:
        raise SimpropError(MISSING) from None
    types = {"count": arrow.int64(), "number": arrow.float64(), "text": arrow.string()}
    made = {name: arrow.array(list(cells), types[kind]) for name, kind, cells in _columns(varied)}
    parquet.write_table(arrow.table(made), path)
    return path


def _columns(varied: Varied) -> Iterator[tuple[str, str, Sequence[Any]]]:
    """Headings, the kind of what stands below (count, number, text) and cells, None of what isn't known."""
    outcomes = varied.outcomes
    yield "variant", "count", range(1, len(outcomes) + 1)
    fields = field_columns(varied.spans, varied.variants)
    for column in (*fields, *answer_columns(varied.study.asks, outcomes)):
        yield _head(column), "text" if column.texts else "number", _cells(column)
    offs = [dict(variant.scatter) for variant in varied.variants]
    for key in dict.fromkeys(key for off in offs for key in off):
        place = key.endswith((".x", ".y", ".z"))
        unit, times = ("mm", 1e3) if place else ("%", 100.0)
        cells = [times * off[key] if key in off else None for off in offs]
        yield f"{key} off [{unit}]", "number", cells
    if varied.limits:
        words = {True: "yes", False: "no", None: None}
        yield "keeps all", "text", [words[held(one, varied.limits)] for one in outcomes]
    yield "ended", "text", [one.ended for one in outcomes]
    yield "level", "text", [one.level for one in outcomes]
    yield "reason", "text", [one.reason or None for one in outcomes]
    yield "not known because", "text", ["; ".join(filter(None, one.unknown)) or None for one in outcomes]


def _head(column: Column) -> str:
    return f"{column.name} [{column.unit}]" if column.unit else column.name


def _cells(column: Column) -> list[Any]:
    if column.texts:
        return [column.texts[int(v)] for v in column.values]
    return [float(v) if isfinite(v) else None for v in column.values]
