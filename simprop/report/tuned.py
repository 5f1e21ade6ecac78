"""What readings say of a prop: its figures with their bands, what they leave open, and what changes by them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite

from simprop.report.comparison import Row
from simprop.report.comparison import rows as compared
from simprop.report.figures import change, number
from simprop.report.strength import summary
from simprop.report.structure import Amount, Block, Cell, Items, Report, Section, Strong, Table
from simprop.tuning.fit import TOGETHER, cover, further, tied
from simprop.tuning.measured import Reading
from simprop.tuning.sheet import shown
from simprop.tuning.tune import Tuned

LEAST, SMALL = 0.01, 1e-3
"""Told of is what changes by this share of itself, and isn't that much smaller than the largest of its unit."""
MOST = 12
"""Changes that a terminal shows."""
FAR = 3.0
"""A figure so many spreads from the rig's is told of."""


def tuned_report(tuned: Tuned) -> Report:
    """All of it, section by section."""
    makers = (_figures, _open, _readings, _changes)
    found = [make(tuned) for make in makers]
    return Report(f"{tuned.before.rig.name}: tuned", [s for s in found if s.blocks])


def band(tuned: Tuned, j: int) -> float:
    """What a figure may be off by, a share of it; all printed ones hold together in 95 of 100 cases."""
    return float(cover(tuned.fitted) * tuned.fitted.deviation[j] * tuned.figures[j].spread)


def _figures(tuned: Tuned) -> Section:
    told = tuned.fitted.told
    shown_ones = [j for j in range(len(tuned.figures)) if j in told or j in tuned.changed]
    table = Table(
        ("figure", ">in the rig", ">tuned", ">off by at most"),
        [_figure(tuned, j, j in told) for j in shown_ones],
    )
    words = (
        f"{_count(tuned.readings)} told {len(told)} of {len(tuned.figures)} figures, by {tuned.runs} runs. "
        f"What each may be off by is {cover(tuned.fitted):.2f} standard deviations: all of them hold together in "
        f"{100 * TOGETHER:.0f} of 100 cases, where readings are off as stated."
    )
    far = [j for j in told if abs(tuned.fitted.x[j]) > FAR]
    remarks = [
        f"{tuned.figures[j].what} is {number(tuned.values[j] / tuned.figures[j].value, 2)} times what the rig said, "
        "and such figures are hardly so far off: look whether the rig and the readings mean the same thing."
        for j in far
    ]
    return Section("figures", "Figures", [words, table, *map(Strong, remarks)], data=_figure_data(tuned))


def _count(readings: Sequence[Reading]) -> str:
    return "One reading" if len(readings) == 1 else f"{len(readings)} readings"


def _figure(tuned: Tuned, j: int, told: bool) -> tuple[Cell, ...]:
    figure, value = tuned.figures[j], tuned.values[j]
    before = shown(figure.value, figure.unit) if figure.stated else "not stated"
    share = band(tuned, j)
    off = f"{100 * share:.2g} %" if told else "open, see below"
    return figure.what, before, Amount(value, figure.unit, shown(value, figure.unit)), off


def _figure_data(tuned: Tuned) -> dict[str, object]:
    rows = {
        figure.what: {
            "before": figure.value if figure.stated else None,
            "tuned": value,
            "off": band(tuned, j) * value,
            "unit": figure.unit,
            "told": j in tuned.fitted.told,
        }
        for j, (figure, value) in enumerate(zip(tuned.figures, tuned.values, strict=True))
    }
    return {"figures": rows, "cover": cover(tuned.fitted)}


def _open(tuned: Tuned) -> Section:
    groups = tied(tuned.fitted)
    named = [[tuned.figures[j].what for j in group] for group in groups]
    items: list[str | Sequence[str]] = []
    for group, names in zip(groups, named, strict=True):
        if len(group) > 1:
            items.append(
                (
                    f"Can't tell apart: {_and(names)}",
                    "the readings tell them only together",
                    *_next(tuned, group),
                )
            )
    alone = [(g[0], n[0]) for g, n in zip(groups, named, strict=True) if len(g) == 1]
    rough = [(j, n) for j, n in alone if j in tuned.fitted.touched]
    items += [(f"Told only roughly: {name}", *_next(tuned, (j,))) for j, name in rough]
    rest = [n for j, n in alone if j not in tuned.fitted.touched]
    blocks: list[Block] = [Items(items)] if items else []
    if rest:
        blocks.append(f"The readings say nothing of: {_and(rest)}. These stay as they are.")
    data = {"not_told_apart": [n for n in named if len(n) > 1], "not_told": rest}
    return Section("open", "What the readings leave open" if blocks else "", blocks, data=data)


def _next(tuned: Tuned, group: Sequence[int]) -> Iterator[str]:
    """What one further reading would do."""
    found = further(tuned.fitted, group)
    if found is None:
        yield "no single further reading of the sheet would"
        return
    row = tuned.rows[found.row]
    then = [
        f"{tuned.figures[j].what} within {200 * found.deviation[j] * tuned.figures[j].spread:.2g} %"
        for j in found.tells
    ]
    yield f"one further reading would: {row.what}, which tells {_and(then)}"
    yield f"how: {row.sort.how}"


def _and(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _readings(tuned: Tuned) -> Section:
    lines: list[tuple[Cell, ...]] = []
    for reading in tuned.readings:
        row = reading.row
        after = row.sort.predict(tuned.after, row.name, row.at)
        lines.append(
            (
                row.what,
                Amount(
                    reading.value,
                    row.sort.unit,
                    f"{shown(reading.value, row.sort.unit)} ±{100 * reading.off:.2g} %",
                ),
                Amount(row.predicted, row.sort.unit, shown(row.predicted, row.sort.unit)),
                Amount(after, row.sort.unit, shown(after, row.sort.unit) if isfinite(after) else "-"),
            )
        )
    titles = ("reading", ">measured", ">before", ">tuned")
    return Section(
        "readings", "Readings, and what the rig says of them before and after", [Table(titles, lines)]
    )


def _measured(reading: Reading) -> str:
    return f"{shown(reading.value, reading.row.sort.unit)} ±{100 * reading.off:.2g} %"


def _changes(tuned: Tuned) -> Section:
    pairs = [tuned.before, tuned.after]
    found = [row for row in compared(pairs) if None not in row.values]
    largest = {row.unit: max(_size(r) for r in found if r.unit == row.unit) for row in found}
    moved = [row for row in found if _moved(row) >= LEAST and _size(row) >= SMALL * largest[row.unit]]
    most = sorted(moved, key=_moved, reverse=True)[:MOST]
    said = [f"{name}: {summary(run.strength)}" for name, run in zip(("before", "after"), pairs, strict=True)]
    how = "Both by one time step, without bands; simprop run on the tuned rig tells them with theirs."
    if not moved:
        blocks: list[Block] = [
            Items(said),
            f"No peak and no margin changes by {100 * LEAST:.0f} % or more.",
            how,
        ]
        return Section("changes", "What changes in peaks and margins", blocks)
    brief = _table([row for row in moved if row in most])
    rest = [f"{len(moved) - MOST} smaller changes stand in tuned.md."] if len(moved) > MOST else []
    whole: list[Block] = [Items(said), _table(moved), how]
    return Section("changes", "What changes in peaks and margins", whole, [Items(said), brief, *rest, how])


def _size(row: Row) -> float:
    return max(abs(v) for v in row.values if v is not None)


def _moved(row: Row) -> float:
    """By how much a figure changes, a share of what it was."""
    before, after = row.values
    return abs(after / before - 1) if before and after is not None else 0.0


def _table(rows: Sequence[Row]) -> Table:
    lines: list[tuple[Cell, ...]] = []
    for row in rows:
        values = [Amount(v, row.unit, number(v)) for v in row.values]
        lines.append((f"{row.quantity}, {row.unit}".removesuffix(", "), *values, change(*row.values)))
    return Table(("", ">before", ">after", ">change"), lines)
