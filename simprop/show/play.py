"""Plays a show: each prop by its own engine, with the current that the others draw on their shared line.

Props meet nowhere but at their supply. So each is run alone first, which tells at every instant what its motors ask of
the line (conductance, back EMF and fixed current); then each once more with what the others ask beside it, again and
again until the voltage on the line stands still (waveform relaxation after Gauss and Seidel: Lelarasmee, Ruehli and
Sangiovanni-Vincentelli, IEEE Trans. CAD 1 (1982) 131). A supply reacts faster than the motion, so that the voltage of
an instant follows from what is asked at that instant, exactly as within one rig.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import inf

import numpy as np

from simprop.assembly.types import Assembly
from simprop.drives.supplies import SupplySpec, source_of
from simprop.geometry.arrays import Array
from simprop.laws.supply import Beside, Load, loads_at, share
from simprop.loads.asked import asked
from simprop.run.assembled import assembled
from simprop.run.once import Report
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.show.load import Prop
from simprop.show.records import Show

TICK = 1e-3
"""Step of the clock on which props exchange what they ask, s."""
ROUNDS = 12
"""Most rounds."""
STILL = 5e-3
"""The voltage stands still when it moves by less than this share of the supply's from round to round, RMS."""


@dataclass(frozen=True)
class Part:
    """One prop as it was in the show.

    Attributes:
        prop: which.
        run: in the show, by its own clock.
        alone: the same with the supply to itself.
    """

    prop: Prop
    run: Run
    alone: Run


@dataclass(frozen=True)
class Line:
    """What a shared supply did.

    Attributes:
        name: in the show.
        spec: as written.
        time: by the show's clock, (n,) s.
        voltage: at the end of the line, (n,) V.
        current: of each prop on it by name, (n,) A.
        limited: when the supply gave all that it can, (n,).
        rounds: how often its props were run beside each other; 0: one prop has it to itself.
        moved: RMS of the voltage's change since a prop was last run, of the prop for which that is most, V.
    """

    name: str
    spec: SupplySpec
    time: Array
    voltage: Array
    current: Mapping[str, Array]
    limited: Array
    rounds: int
    moved: float

    @property
    def total(self) -> Array:
        """Of all props, (n,) A."""
        return np.asarray(np.sum(list(self.current.values()), axis=0))

    @property
    def settled(self) -> bool:
        """Whether the voltage stood still."""
        return self.moved <= STILL * self.spec.voltage


@dataclass(frozen=True)
class Played:
    """A show as it went.

    Attributes:
        show: as written.
        parts: its props, in the order of the file.
        lines: its shared supplies, those that something hangs on.
    """

    show: Show
    parts: tuple[Part, ...]
    lines: tuple[Line, ...]


def play(
    show: Show,
    props: Sequence[Prop],
    engine: str | None = None,
    *,
    settle: bool = True,
    report: Report | None = None,
) -> Played:
    """Play a show.

    Args:
        show: as read.
        props: its props, as read with it.
        engine: name of the engine; None: the usual one of each prop.
        settle: halve each prop's step until its peaks stand still.
        report: told of each prop's stages.

    Raises:
        AssemblyError: when a prop doesn't go together.
        EngineError: when a run goes wrong.
    """
    one = _One(engine, settle, report)
    assemblies = {p.name: assembled(p.rig) for p in props}
    alone = {p.name: one.run(p.name, assemblies[p.name], settle=settle) for p in props}
    runs, lines = dict(alone), []
    for name, spec in show.supplies.items():
        users = [p for p in props if p.standing.supply == name]
        if users:
            lines.append(_together(one, show, name, spec, users, assemblies, runs))
    parts = tuple(Part(p, runs[p.name], alone[p.name]) for p in props)
    return Played(show, parts, tuple(lines))


class _One:
    """How each prop is run."""

    def __init__(self, engine: str | None, settle: bool, report: Report | None):
        self.engine, self.settle, self.report = engine, settle, report

    def run(
        self,
        name: str,
        assembly: Assembly,
        beside: Mapping[str, Beside] | None = None,
        *,
        settle: bool,
    ) -> Run:
        """A run, settled or at its coarsest step."""

        def told(stage: str, done: int, total: int) -> None:
            if self.report is not None:
                self.report(f"{name}: {stage}", done, total)

        return simulate(assembly, self.engine, settle=settle, beside=beside, report=told)


def _together(
    one: _One,
    show: Show,
    name: str,
    spec: SupplySpec,
    users: Sequence[Prop],
    assemblies: Mapping[str, Assembly],
    runs: dict[str, Run],
) -> Line:
    """Run the users of a supply beside each other until its voltage stands still; their last runs go into `runs`."""
    time: Array = np.asarray(np.arange(round(show.run.duration / TICK) + 1) * TICK, dtype=np.float64)
    starts = {p.name: p.standing.starts for p in users}
    asks = {p.name: _shifted(_asked(runs[p.name], name), starts[p.name]) for p in users}
    course = _course(spec, asks, time)
    seen: dict[str, Array] = {}
    rounds, moved = 0, 0.0
    while len(users) > 1 and rounds < ROUNDS:
        moved = 0.0
        for p in users:
            change = inf if p.name not in seen else float(np.sqrt(np.mean((course[0] - seen[p.name]) ** 2)))
            moved = max(moved, change)
            if change <= STILL * spec.voltage:
                continue
            beside = _others(asks, p.name, starts[p.name], time)
            runs[p.name] = one.run(p.name, assemblies[p.name], {name: beside}, settle=False)
            asks[p.name] = _shifted(_asked(runs[p.name], name), starts[p.name])
            course = _course(spec, asks, time)
            seen[p.name] = course[0]
        if moved <= STILL * spec.voltage:
            break
        rounds += 1
    if len(users) > 1 and one.settle:  # found at the coarsest step; once more for the band of each peak
        for p in users:
            beside = _others(asks, p.name, starts[p.name], time)
            runs[p.name] = one.run(p.name, assemblies[p.name], {name: beside}, settle=True)
    return Line(name, spec, time, *course, rounds, moved)


def _asked(run: Run, supply: str) -> Beside:
    return asked(run.recording).get(supply, Beside())


def _shifted(beside: Beside, start: float) -> Beside:
    """What a prop asks, by the show's clock."""
    return Beside(tuple(t + start for t in beside.time), beside.loads)


def _others(asks: Mapping[str, Beside], name: str, start: float, time: Array) -> Beside:
    """What all but one prop ask, by that prop's own clock."""
    others = [beside for other, beside in asks.items() if other != name]
    rows = tuple(tuple(load for o in others for load in loads_at(o, float(t))) for t in time)
    return Beside(tuple((time - start).tolist()), rows)


def _course(
    spec: SupplySpec, asks: Mapping[str, Beside], time: Array
) -> tuple[Array, dict[str, Array], Array]:
    """Voltage at the loads (n,) V, current of each prop (n,) A, and when the supply gives all it can (n,)."""
    source = source_of(spec, spec.voltage)
    voltage, limited = np.zeros(len(time)), np.zeros(len(time), dtype=bool)
    current = {name: np.zeros(len(time)) for name in asks}
    for k, now in enumerate(time.tolist()):
        rows = {name: loads_at(beside, now) for name, beside in asks.items()}
        loads: list[Load] = [load for row in rows.values() for load in row]
        found = share(source, loads)
        voltage[k], limited[k] = found.voltage, found.limited
        first = 0
        for name, row in rows.items():
            current[name][k] = sum(found.current[first : first + len(row)])
            first += len(row)
    return voltage, current, limited
