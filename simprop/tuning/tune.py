"""From readings to a tuned rig: the rig's own laws and runs as the model, fitted to what was measured."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import exp

import numpy as np

from simprop.catalog.spreads import COVER
from simprop.errors import EngineError, Fault, RigError, SimpropError
from simprop.geometry.arrays import Array
from simprop.quantities import show
from simprop.reading.faults import ordered
from simprop.reading.text import Document
from simprop.rig.load import rig_of
from simprop.rig.model import Rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.tuning import motion
from simprop.tuning.figures import Figure, figures_of, with_values
from simprop.tuning.fit import Fitted, Model, contradicting, fit
from simprop.tuning.measured import Reading, Sheet, accuracy, readings_of
from simprop.tuning.sheet import Row, sheet

TURNS, LONGER = 4.0, 4.0
WIDE = 3.0
"""A residual that even chance hardly makes, in standard deviations."""
LEAST = 1e-3
"""A figure that moved by less than this share of itself stays as it is."""
Report = Callable[[str, int, int], None]


@dataclass(frozen=True)
class Tuned:
    """What readings make of a rig.

    Attributes:
        before: run of the rig as it was.
        after: run of the rig as tuned.
        figures: those that may be tuned.
        values: of each as tuned, (p,) SI.
        readings: taken.
        rows: those of the readings, then what else the sheet offers.
        fitted: with rows and figures in that order.
        runs: that it took.
    """

    before: Run
    after: Run
    figures: tuple[Figure, ...]
    values: tuple[float, ...]
    readings: tuple[Reading, ...]
    rows: tuple[Row, ...]
    fitted: Fitted
    runs: int

    @property
    def changed(self) -> tuple[int, ...]:
        """Figures that get another value: those that the readings touch and move, and new ones that they tell."""
        moved = [abs(v / f.value - 1) > LEAST for f, v in zip(self.figures, self.values, strict=True)]
        new = [not f.stated and j in self.fitted.told for j, f in enumerate(self.figures)]
        return tuple(j for j in self.fitted.touched if moved[j] or new[j])


def base_run(rig: Rig) -> Run:
    """The run by which readings are predicted: at one time step, by which a cycle or a current hardly moves.

    Where motors go round too seldom in the rig's own run to be timed when they are slower, it is longer than that.
    """
    run = simulate(rig, settle=False)
    longer = run_for(run)
    if longer <= rig.run.duration:
        return run
    sets = {**rig.source.sets, "run.for": f"{longer:.3f} s"}
    return simulate(rig_of(replace(rig.source, sets=sets)), settle=False)


def run_for(run: Run) -> float:
    """How long a run should be for its motors to make `TURNS`, s, at most `LONGER` times as long as it is."""
    lasts = run.rig.run.duration
    turns = [motion.cycles(run, name) for name, motor in run.rig.motors.items() if not motor.figures.follows]
    asked = [lasts * TURNS / turn for turn in turns if turn * LONGER > TURNS]
    return max((lasts, *asked))


class Runs:
    """What a rig predicts of rows at other figures, by runs of which each is made once.

    Args:
        rig: as it was.
        figures: that change.
        rows: that are predicted.
        report: told of each run.
    """

    def __init__(
        self, rig: Rig, figures: Sequence[Figure], rows: Sequence[Row], report: Report | None = None
    ):
        self._rig, self._figures, self._rows, self._report = rig, tuple(figures), tuple(rows), report
        self._known: dict[bytes, Array] = {}
        self.refused: SimpropError | None = None
        self.made = 0

    def values(self, x: Array) -> tuple[float, ...]:
        """The figures at x, SI."""
        return tuple(f.value * exp(f.spread * v) for f, v in zip(self._figures, x, strict=True))

    def run(self, x: Array) -> Run:
        """The run at x.

        Raises:
            SimpropError: where such figures can't be.
        """
        return simulate(with_values(self._rig, self._figures, self.values(x)), settle=False)

    def __call__(self, x: Array) -> Array:
        """Logarithms of what is predicted of each row at x; NaN throughout where such figures can't be."""
        key = x.round(9).tobytes()
        if key not in self._known:
            self.made += 1
            if self._report is not None:
                self._report("running with other figures", self.made, self.made + 1)
            self._known[key] = self._predicted(x)
        return self._known[key]

    def _predicted(self, x: Array) -> Array:
        try:
            run = self.run(x)
        except (RigError, EngineError) as error:
            self.refused = error
            return np.full(len(self._rows), np.nan)
        found = np.array([row.sort.predict(run, row.name, row.at) for row in self._rows])
        return np.log(np.where(found > 0.0, found, np.nan))


def tune(rig: Rig, filled: Sheet, report: Report | None = None) -> Tuned:
    """Tune a rig by what was measured on the prop.

    Args:
        rig: as it was.
        filled: the sheet.
        report: told of each run.

    Raises:
        RigError: for readings that the rig doesn't have, that contradict each other, or that no such prop can show.
    """
    before = base_run(rig)
    rig = before.rig  # which may run longer
    readings = readings_of(filled, before)
    figures = figures_of(before, readings)
    if not figures:
        raise RigError([Fault("nothing of this rig can be tuned", file=rig.source.file)])
    taken = [(r.row.sort, r.row.name, round(r.row.at, 9)) for r in readings]
    others = [row for row in sheet(before) if (row.sort, row.name, round(row.at, 9)) not in taken]
    rows = (*(r.row for r in readings), *others)
    runs = Runs(rig, figures, rows, report)
    _starts(runs, figures, readings, filled.document)
    fitted = fitted_to(runs, len(figures), readings, rows)
    judged(fitted, readings, runs.refused, filled.document)
    tuned_values = runs.values(fitted.x)
    values = tuple(v if j in fitted.touched else figures[j].value for j, v in enumerate(tuned_values))
    tuned = Tuned(before, before, figures, values, readings, rows, fitted, runs.made + 1)
    after = with_values(rig, [figures[j] for j in tuned.changed], [values[j] for j in tuned.changed])
    return replace(tuned, after=simulate(after, settle=False), runs=runs.made + 2)


def _starts(runs: Runs, figures: Sequence[Figure], readings: Sequence[Reading], document: Document) -> None:
    """Refuse readings that are gone with what the rig doesn't state as a reading has it.

    Raises:
        RigError: with those.
    """
    there = np.isfinite(runs(np.zeros(len(figures)))[: len(readings)])
    new = [f"{f.what} {show(f.value, f.unit)}" for f in figures if not f.stated]
    if not there.all():
        message = (
            f"with {', '.join(new) or 'the figures of the rig'} as the readings say, there is no such reading"
        )
        faults = [_told(r, message) for r, ok in zip(readings, there, strict=True) if not ok]
        raise RigError(ordered([document.located(f) for f in faults]))


def fitted_to(model: Model, count: int, readings: Sequence[Reading], rows: Sequence[Row]) -> Fitted:
    """Figures fitted to readings.

    Args:
        model: of the rows.
        count: of figures.
        readings: the first rows.
        rows: all.
    """
    sd = [accuracy(r) for r in readings] + [row.sort.accuracy / COVER for row in rows[len(readings) :]]
    values = np.log([r.value for r in readings])
    return fit(model, count, range(len(readings)), values, np.array(sd))


def judged(
    fitted: Fitted, readings: Sequence[Reading], refused: SimpropError | None, document: Document
) -> None:
    """Refuse readings that contradict each other, or that call for what can't be.

    Raises:
        RigError: with the readings.
    """
    found, furthest = contradicting(fitted), int(np.argmax(np.abs(fitted.residual)))
    named = (furthest,) if found is None else found.named
    if fitted.refused and refused is not None and (found or abs(float(fitted.residual[furthest])) > WIDE):
        why = refused.faults[0].message if isinstance(refused, RigError) else str(refused)
        message = f"no prop can be so: the readings lead to where {why}"
    elif found is None:
        return
    elif not found.each:
        message = "more than one reading contradicts the others; this is furthest off"
    elif len(named) > 1:
        message = "these contradict each other: without any one of them the others agree"
    elif float(np.abs(fitted.slopes[named[0]]).max()) < fitted.sd[named[0]]:
        message = (
            "this contradicts the rig, and no figure that is tuned moves it: look at the lengths in the rig"
        )
    else:
        message = "this contradicts the other readings and what the rig says"
    faults = [_told(readings[i], f"{message}; by the others {_by_rest(fitted, readings, i)}") for i in named]
    raise RigError(ordered([document.located(f) for f in faults]))


def _by_rest(fitted: Fitted, readings: Sequence[Reading], i: int) -> str:
    """What the other readings say of one, in words."""
    free = 1.0 - float(fitted.leverage[i])
    if free < 1e-6:
        return "it isn't known"
    away = float(fitted.residual[i]) / free * accuracy(readings[i])
    return f"it would be about {show(readings[i].value * exp(away), readings[i].row.sort.unit)}"


def _told(reading: Reading, message: str) -> Fault:
    written = f"{show(reading.value, reading.row.sort.unit)} +- {100 * reading.off:.2g} %"
    return Fault(message, field=reading.field, value=written)
