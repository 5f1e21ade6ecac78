"""How a prop is wired: its circuits from supply to drives with fuse and wire, its air lines, and its controller."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite

from simprop.drives.kinds import Motor, Pusher
from simprop.drives.supplies import SupplySpec
from simprop.laws import supply as law
from simprop.loads.driving import DriveRows
from simprop.run.run import Run
from simprop.sizing.supplies import DROP, SupplyUse
from simprop.sizing.work import work

THINNEST = 18
"""Thinnest wire that is proposed, AWG: the thinnest flexible cord of NEC 400.5; thinner ones break outdoors."""


@dataclass(frozen=True)
class Feed:
    """A drive and how it is fed.

    Attributes:
        name: as in the rig.
        word: what it is, such as servo.
        model: class of the catalogue; "" where the rig describes it.
        stage: what stands between its supply and it; "" for nothing.
        output: of the controller, counted from 1; None where the controller doesn't tell it anything.
        peak: its largest current, A; None: not known.
        running: its mean current while it runs, A; None: not known.
        why: why its current isn't known; "" where it is, or where it has none.
        facts: what else to know to connect it, a few words.
        pulsed: it is fed by pulses: its peak is that within one.
        coil: it, or its valve, kicks back when it is switched off.
        air: pressure that it runs from, Pa; None where it runs from electricity.
        live: it is turned back by swapped wires, which puts its case at the supply's voltage: both are fused.
    """

    name: str
    word: str
    model: str
    stage: str
    output: int | None
    peak: float | None
    running: float | None
    why: str = ""
    facts: str = ""
    pulsed: bool = False
    coil: bool = False
    air: float | None = None
    live: bool = False


@dataclass(frozen=True)
class Circuit:
    """A supply with all that it feeds.

    Attributes:
        name: of `supplies`, or of the drive that has it alone.
        mains: its drives run from the mains themselves.
        voltage: V; None: not stated.
        frequency: of the mains, Hz; None for direct current.
        limit: current that it can give, A; None: not stated.
        proposed: smallest usual supply that does, voltage V and limit A; None: not known.
        peak: largest current of all its drives together, A; None: not known.
        running: current that its fuse carries for long, A; None: not known.
        fuse: slow-blow, A; None: its currents aren't known.
        gauge: of the wire, AWG: that of the rig where a fuse protects it, else the thinnest that one protects.
        too_thin: gauge of the rig where none protects it; None where one does, or none is stated.
        length: of the wire, one way, m; None: not stated.
        standing: current at which all its drives stand still with full voltage on, A; None: not known.
        longest: at which the wire loses 5 % of the voltage with all that its drives need, m; None: not known.
        feeds: its drives, in the order of the rig.
    """

    name: str
    mains: bool
    voltage: float | None
    frequency: float | None
    limit: float | None
    proposed: tuple[float, float] | None
    peak: float | None
    running: float | None
    fuse: float | None
    gauge: int | None
    too_thin: int | None
    length: float | None
    standing: float | None
    longest: float | None
    feeds: tuple[Feed, ...]


@dataclass(frozen=True)
class AirLine:
    """Air of one pressure, with the cylinders on it, each behind a valve of its own.

    Attributes:
        pressure: over atmosphere, Pa.
        feeds: its cylinders, in the order of the rig.
    """

    pressure: float
    feeds: tuple[Feed, ...]


@dataclass(frozen=True)
class Controller:
    """What tells the drives when.

    Attributes:
        triggers: what starts a scene, as the rig calls it, each once.
        outputs: drives by the number of their output less one.
        sound: it plays sounds.
    """

    triggers: tuple[str, ...]
    outputs: tuple[str, ...]
    sound: bool


@dataclass(frozen=True)
class Wiring:
    """All that a prop's wires and hoses join.

    Attributes:
        circuits: in the order of the rig.
        air: by pressure, the order of the rig.
        by_hand: drives without a wire, each with what it is.
        controller: None where all its drives run as long as they have power.
    """

    circuits: tuple[Circuit, ...]
    air: tuple[AirLine, ...]
    by_hand: tuple[tuple[str, str], ...]
    controller: Controller | None


def wiring(run: Run) -> Wiring:
    """How the prop of a run is wired, with the currents of the run.

    Fuse: `simprop.laws.supply.fuse`. Wire that the rig doesn't state: the thinnest which that fuse protects and whose
    cord carries the RMS current, not thinner than `THINNEST`.

    Args:
        run: of at least one whole cycle.

    Returns:
        Every motor and pusher of the rig once, every supply once.
    """
    told = _controller(run)
    outputs = () if told is None else told.outputs
    rows = {d.name: d for d in run.loads.driven}
    uses = {use.name: use for use in run.supplies}
    groups: dict[tuple[bool, str], list[Feed]] = {}
    specs: dict[tuple[bool, str], SupplySpec | None] = {}
    air: dict[float, list[Feed]] = {}
    by_hand = []
    for name, drive in _drives(run).items():
        figures = drive.figures
        feed = _feed(run, name, rows.get(name), outputs)
        if figures.unwired:
            by_hand.append((name, figures.unwired))
        elif figures.air is not None:
            air.setdefault(figures.air, []).append(feed)
        else:
            spec = drive.supply
            shared = spec.shared if spec is not None and spec.shared else name
            groups.setdefault((figures.mains, shared), []).append(feed)
            specs[figures.mains, shared] = spec
    for name, spec in run.rig.supplies.items():
        if all(shared != name for _, shared in groups):
            groups[False, name], specs[False, name] = [], spec
    circuits = (
        _circuit(name, mains, specs[mains, name], None if mains else uses.get(name), feeds)
        for (mains, name), feeds in groups.items()
    )
    lines = tuple(AirLine(pressure, tuple(feeds)) for pressure, feeds in air.items())
    return Wiring(tuple(circuits), lines, tuple(by_hand), told)


def _drives(run: Run) -> dict[str, Motor | Pusher]:
    return {**run.rig.motors, **run.rig.pushers}


def _controller(run: Run) -> Controller | None:
    """The controller and its outputs; None where nothing is told anything."""
    script, rig = run.laws.script, run.rig
    told = () if script is None else tuple(n for n, c in script.commands.items() if c.drive or c.pose)
    pulsed = (n for n, d in _drives(run).items() if d.pwm is not None or d.figures.steered)
    asked = {*told, *pulsed}
    outputs = tuple(n for n, d in _drives(run).items() if n in asked and not d.figures.unwired)
    scenes = () if rig.cues is None else rig.cues.scenes.values()
    triggers = dict.fromkeys(s.when for s in scenes if s.when not in ("start", "loop", "random"))
    sound = any(cue.told().action == "sound" for s in scenes for cue in s.do)
    if not outputs and rig.cues is None:
        return None
    return Controller(tuple(triggers), outputs, sound)


def _feed(run: Run, name: str, rows: DriveRows | None, outputs: Sequence[str]) -> Feed:
    drive = _drives(run)[name]
    figures = drive.figures
    did = None if rows is None else work(rows, run.track.time)
    output = outputs.index(name) + 1 if name in outputs else None
    script = run.laws.script
    told = {e.action for e in (() if script is None else script.events) if e.output == name}
    known = did is not None and isfinite(did.peak_current)
    return Feed(
        name,
        figures.word,
        drive.motor if isinstance(drive.motor, str) else "",
        figures.through(told, drive.pwm is not None) if output is not None else "",
        output,
        did.peak_current if did is not None and known else None,
        did.mean_current if did is not None and known else None,
        _why(rows, figures.electric) if not known else "",
        figures.facts,
        drive.pwm is not None,
        figures.coil,
        figures.air,
        figures.live(told),
    )


def _why(rows: DriveRows | None, electric: bool) -> str:
    """Why the current of a drive isn't known."""
    if rows is not None and electric and not (rows.on > 0).any():
        return "never on in this run"
    return "its class tells none" if electric else ""


def _circuit(
    name: str, mains: bool, spec: SupplySpec | None, use: SupplyUse | None, feeds: Sequence[Feed]
) -> Circuit:
    wire = None if spec is None else spec.wire
    fuse = None if use is None else law.fuse(use.steady)
    gauge = too_thin = longest = None
    if wire is not None:
        gauge = wire.gauge
    if fuse is not None and use is not None:
        if wire is None or use.fuse is None:
            too_thin, gauge = None if wire is None else wire.gauge, _gauge(fuse, use.rms)
        if gauge is not None and use.needed > 0 and isfinite(use.needed):
            metre = 2 * law.wire_resistance(gauge, 1.0, 75.0, stranded=True)
            longest = DROP * _volts(use, spec) / (metre * use.needed)
    return Circuit(
        name,
        mains,
        None if spec is None else spec.voltage,
        None if spec is None else spec.frequency,
        None if spec is None else spec.limit,
        None if use is None else use.smallest,
        _of(feeds) if use is None else use.peak,
        _of(feeds, running=True) if use is None else use.steady,
        fuse,
        gauge,
        too_thin,
        None if wire is None else wire.length,
        None if use is None else use.starting,
        longest,
        tuple(feeds),
    )


def _volts(use: SupplyUse, spec: SupplySpec | None) -> float:
    return spec.voltage if spec is not None else use.smallest[0] if use.smallest is not None else 0.0


def _of(feeds: Sequence[Feed], *, running: bool = False) -> float | None:
    """Currents of what hangs on one supply added up, A; None where one isn't known, or nothing does."""
    found = [f.running if running else f.peak for f in feeds]
    known = [a for a in found if a is not None]
    return sum(known) if known and len(known) == len(found) else None


def _gauge(fuse: float, rms: float) -> int | None:
    """The thinnest wire that a fuse protects and whose cord carries a current, AWG; None where none does."""
    able = [
        g
        for g, most in law.FUSE_AT_MOST.items()
        if g <= THINNEST and most >= fuse and law.CORD_CURRENT.get(g, most) >= rms
    ]
    return max(able, default=None)
