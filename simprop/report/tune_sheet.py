"""The tune-up sheet in words: what to measure on the built prop, what to expect, and where to write it."""

from __future__ import annotations

from itertools import groupby
from math import isfinite

from simprop.report.structure import Amount, Cell, Items, Section, Strong, Table
from simprop.run.run import Run
from simprop.tuning.sheet import Row, band_words, sheet, shown, worst_angle
from simprop.tuning.sorts import Sort

BLANK = "______"
MEANT = (
    "The band is what figures of a class, drawn weights and guessed friction are usually off by (assumed). Write the "
    "readings into measured.yaml, with their units; simprop tune then says what the prop's own figures are."
)
CARE = (
    "Pull the plug and let springs and weights down before hands go near; keep them out while it runs. Mains, and what "
    "hangs on it, is measured by a licensed person; local codes decide."
)


def tune_up(run: Run) -> Section | None:
    """What to measure on the built prop; None where its run has nothing to measure."""
    rows = sheet(run)
    if not rows:
        return None
    table = Table(("to measure", ">predicted", ">expected", "measured"), [_line(run, row) for row in rows])
    hows = {_named(row.sort): row.sort.how for row in rows}
    how = Items([f"{what}: {text}" for what, text in hows.items()])
    brief = (Strong(CARE), MEANT, *_brief(run, rows))
    return Section(
        "tune_up", "Tune-up sheet", (Strong(CARE), MEANT, table, "How:", how), brief, _data(run, rows)
    )


def _line(run: Run, row: Row) -> tuple[Cell, ...]:
    predicted = Amount(row.predicted, row.sort.unit, shown(row.predicted, row.sort.unit))
    return (_what(run, row), predicted, band_words(row), BLANK)


def _what(run: Run, row: Row) -> str:
    angle = worst_angle(run, row)
    return f"{row.what} (joint near {angle:.0f} deg)" if isfinite(angle) else row.what


def _named(sort: Sort) -> str:
    return sort.what.replace(" of {}", "").replace(" at {}", "").replace("{} ", "").strip()


def _brief(run: Run, rows: tuple[Row, ...]) -> tuple[Table | str, ...]:
    blocks: list[Table | str] = []
    for section, own in groupby(rows, key=lambda row: row.sort.section):
        lines = [_line(run, row)[:3] for row in own]
        blocks.append(Table((section, ">predicted", ">expected"), lines))
    return tuple(blocks)


def _data(run: Run, rows: tuple[Row, ...]) -> dict[str, object]:
    told = [
        {
            "reading": f"{row.sort.section}.{row.name}.{row.sort.key}",
            "at": row.at,
            "predicted": row.predicted,
            "band": list(row.band),
            "unit": row.sort.unit,
            "worst_angle_deg": worst_angle(run, row),
        }
        for row in rows
    ]
    return {"tune_up": told}
