"""The tune-up sheet: what to measure on the built prop, with what is predicted, and the blank file that takes it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from math import degrees, exp, isfinite, nan
from textwrap import wrap

from simprop.catalog.spreads import COVER
from simprop.quantities import show
from simprop.run.run import Run
from simprop.tuning import motion
from simprop.tuning.sorts import SORTS, Sort, condition_words, names, usual

LISTS = {"pull": "pulls", "torque": "twists"}
"""Keys of readings that are taken more than once, and of the list that holds them."""


@dataclass(frozen=True)
class Row:
    """One thing to measure.

    Attributes:
        sort: of reading.
        name: of what it is taken on.
        at: the condition, SI; NaN for none.
        predicted: SI.
        off: what that may be off by, as a standard deviation of its logarithm.
    """

    sort: Sort
    name: str
    at: float
    predicted: float
    off: float = 0.0

    @property
    def what(self) -> str:
        """What it is, in words."""
        return self.sort.what.format(self.name) + condition_words(self.sort, self.at)

    @property
    def band(self) -> tuple[float, float]:
        """Between what the reading is expected, SI: twice the standard deviation each way."""
        share = exp(COVER * self.off)
        return self.predicted / share, self.predicted * share


def row_of(run: Run, sort: Sort, name: str, at: float) -> Row | None:
    """A row of the sheet with its prediction; None where the run predicts no such thing."""
    value = sort.predict(run, name, at)
    if not (isfinite(value) and value > 0.0):
        return None
    return Row(sort, name, at, value, sort.off(run, name, at, value))


def sheet(run: Run) -> tuple[Row, ...]:
    """All that a run of a rig lets one measure on the prop, section by section.

    Args:
        run: at any step.
    """
    found = []
    for sort in SORTS:
        for name in names(run, sort.section):
            found += [row_of(run, sort, name, at) for at in usual(run, sort, name)]
    rows = [row for row in found if row is not None]
    order = {sort.section: k for k, sort in enumerate(SORTS)}
    return tuple(
        sorted(rows, key=lambda row: (order[row.sort.section], names(run, row.sort.section).index(row.name)))
    )


def worst_angle(run: Run, row: Row) -> float:
    """Where the motor's joint stands when it takes the most current, degrees of a turn; NaN for any other row."""
    if row.sort.key != "peak_current":
        return nan
    return degrees(motion.peak_current(run, row.name)[1]) % 360.0


def shown(value: float, unit: str) -> str:
    """A reading or figure in the unit of the bench.

    Example:
        >>> shown(0.0294, "mass"), shown(0.1, "speed"), shown(1.34, "time")
        ('29.4 g', '100 mm/s', '1.34 s')
    """
    if unit == "mass" and value < 1.0:
        return f"{1000 * value:.3g} g"
    return f"{1000 * value:.3g} mm/s" if unit == "speed" else show(value, unit)


def predicted_words(row: Row) -> str:
    """What is predicted and its band, such as ``1.37 s (1.1 to 1.7 s)``."""
    return f"{shown(row.predicted, row.sort.unit)} ({band_words(row)})"


def band_words(row: Row) -> str:
    """Between what a reading is expected, such as ``1.1 to 1.7 s``."""
    low, high = (shown(v, row.sort.unit) for v in row.band)
    number, _, unit = low.partition(" ")
    return f"{number if high.endswith(' ' + unit) else low} to {high}"


HEAD = (
    "Tune-up sheet of {name}. Write down what the built prop shows, each value with its unit, and leave blank what you "
    "didn't measure. Behind '#' stands what is predicted. What a reading may be off by can stand behind it: "
    "44 rpm +- 1 rpm, or 44 rpm +- 2 %. Then: simprop tune {file} measured.yaml"
)


def blank(run: Run, file: str) -> str:
    """The file that takes the readings, with nothing filled in.

    Args:
        run: of the rig.
        file: the rig's, for the line that says how it is read.
    """
    name = " ".join(run.rig.name.split())
    quoted = '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
    head = wrap(HEAD.format(name=name, file=file), 110, break_long_words=False, break_on_hyphens=False)
    lines = [*(f"# {line}" for line in head), "measured: 1", f"rig: {quoted}"]
    told: set[str] = set()
    for section, own in groupby(sheet(run), key=lambda row: row.sort.section):
        lines.append(f"\n{section}:")
        for thing, rows in groupby(own, key=lambda row: row.name):
            lines.append(f"  {thing}:")
            lines += _blanks(run, tuple(rows), told)
    return "\n".join(lines) + "\n"


def _blanks(run: Run, rows: tuple[Row, ...], told: set[str]) -> Iterator[str]:
    """Lines of one thing; how a sort is measured stands over the first of it alone (`told` of those before)."""
    condition = next((r for r in rows if r.sort.condition == "voltage"), None)
    if condition is not None:
        volts = f"voltage: {condition.at:.4g} V"
        yield f"    {volts:<24}# at its wires while it runs without load or is held still"
    listed = ""
    for row in rows:
        key = row.sort.key
        if row.sort.how not in told:
            told.add(row.sort.how)
            yield from wrap(
                f"{key}: {row.sort.how}", 112, initial_indent="    # ", subsequent_indent="    #   "
            )
        if key not in LISTS:
            angle = worst_angle(run, row)
            place = f", joint near {angle:.0f} deg" if isfinite(angle) else ""
            yield f"    {key + ':':<24}# {predicted_words(row)}{place}"
            continue
        if listed != key:
            yield f"    {LISTS[key]}:"
            listed = key
        yield f"      - {row.sort.condition}: {show(row.at, row.sort.condition, 4)}"
        yield f"        {key + ':':<20}# {predicted_words(row)}"


def allowed(run: Run, section: str, name: str) -> list[str]:
    """Keys of the readings that a run predicts of one thing."""
    found = [row.sort.key for row in sheet(run) if (row.sort.section, row.name) == (section, name)]
    return list(dict.fromkeys(LISTS.get(key, key) for key in found))
