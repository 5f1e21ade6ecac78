"""The sorts of reading that are taken on a built prop: how each is measured, and what a rig and its run predict of it.

A reading of a thing at rest is predicted by the law of that thing; one of motion by a run on the engine. The ways of
measuring are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import degrees, hypot, isfinite, nan, pi

import numpy as np

from simprop.catalog import spreads
from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.picture.render.watch import travels
from simprop.run.run import Run
from simprop.tuning import motion

Predict = Callable[[Run, str, float], float]
"""What a run predicts of a thing by its name and under a condition (a voltage, a length, an angle); NaN for none."""
WAYS = ("sideways", "to_and_fro", "up_and_down")
"""Along x, y and z."""


@dataclass(frozen=True)
class Sort:
    """A sort of reading.

    Attributes:
        section: of the rig that its thing stands in.
        key: its name in the sheet.
        unit: a key of `simprop.quantities.KINDS`.
        accuracy: what a plain tool may be off by, a share of the value (assumed).
        what: what it is, with {} for the name.
        how: how it is measured, a line.
        predict: what a run predicts.
        off: what the prediction may be off by, as a standard deviation of its logarithm; of the run, name, condition
            and the value predicted.
        condition: under which it is taken, as a key of the sheet; "" for none.
    """

    section: str
    key: str
    unit: str
    accuracy: float
    what: str
    how: str
    predict: Predict
    off: Callable[[Run, str, float, float], float]
    condition: str = ""


def _line(run: Run, name: str) -> DcLine | None:
    figures = run.rig.motors[name].figures
    return figures.line() if figures.tunable else None


def _screw(run: Run, name: str) -> DcLine | None:
    figures = run.rig.pushers[name].figures
    return figures.line() if figures.tunable else None


def _of_line(line: Callable[[Run, str], DcLine | None], value: Callable[[DcLine, float], float]) -> Predict:
    """A prediction from the straight line of a drive; NaN for one that has none."""

    def predict(run: Run, name: str, at: float) -> float:
        found = line(run, name)
        return nan if found is None else value(found, at)

    return predict


def _free_speed(line: DcLine, volts: float) -> float:
    return (volts - line.friction_current * line.resistance) / line.speed_constant


def _stalled(line: DcLine, volts: float) -> float:
    return line.torque_constant * (volts / line.resistance - line.friction_current)


def _same(share: float) -> Callable[[Run, str, float, float], float]:
    return lambda run, name, at, value: share


def _cycle_off(run: Run, name: str, at: float, value: float) -> float:
    """By the motor's free speed, and by how far the load holds it back from that."""
    line = _line(run, name)
    if line is None:
        return spreads.MAINS if run.rig.motors[name].figures.mains else spreads.SPEED
    rows = motion.last_cycle(run, name)
    volts = float(np.abs(run.track.voltage[rows, motion.column(run, name)]).mean())
    speed = float(np.abs(run.track.rate[rows, run.laws.motors[motion.column(run, name)].axis]).mean())
    held = min(max(1.0 - speed / _free_speed(line, volts), 0.0), 0.9)
    return hypot(spreads.SPEED, held / (1 - held) * hypot(spreads.LOAD, spreads.TORQUE))


def _current_off(run: Run, name: str, at: float, value: float) -> float:
    """By its current without load, and by what the load adds."""
    line = _line(run, name)
    idle = 0.0 if line is None else min(line.friction_current, value)
    loaded = hypot(spreads.LOAD, spreads.TORQUE, spreads.STALL_CURRENT)
    return hypot(idle * spreads.NO_LOAD_CURRENT, (value - idle) * loaded) / value


def _cycle_time(run: Run, name: str, at: float) -> float:
    """Not of what goes where it is told, by a clock of its own."""
    return nan if run.rig.motors[name].figures.follows else motion.cycle_time(run, name)


def _peak_current(run: Run, name: str, at: float) -> float:
    """Not of that either, nor of what hangs on the mains, which isn't for a builder's meter."""
    figures = run.rig.motors[name].figures
    return nan if figures.mains or figures.follows else motion.peak_current(run, name)[0]


def _loaded_voltage(run: Run, name: str, at: float) -> float:
    spec = run.rig.motors[name]
    fed = spec.supply is not None and spec.supply.frequency is None and spec.pwm is None
    fed = fed and not spec.figures.follows
    return motion.loaded_voltage(run, name) if fed else nan


def _loaded_off(run: Run, name: str, at: float, value: float) -> float:
    return max(1.0 - value / run.rig.motors[name].source.voltage, 0.02) * spreads.SUPPLY


def _weight(run: Run, name: str, at: float) -> float:
    body = next(b for b in run.assembly.drawn if b.name == name)
    return nan if body.fixed else body.mass


def _pull(run: Run, name: str, at: float) -> float:
    line = run.rig.springs[name].line()
    return nan if line is None else abs(line.law.tension(at, 0.0))


def _pull_off(run: Run, name: str, at: float, value: float) -> float:
    free = run.rig.springs[name].free
    reach = max(abs(at - free), 1e-6)
    return min(hypot(spreads.RATE, spreads.FREE_LENGTH * free / reach), 0.5)


def _twist(run: Run, name: str, at: float) -> float:
    about = run.rig.springs[name].about()
    return nan if about is None else abs(about[1].torque(at, 0.0))


def _drag(run: Run, name: str, at: float, turns: bool) -> float:
    joint = run.rig.joints[name]
    if len(joint.moves) != 1 or (joint.moves[0] == "turn") != turns or joint.losses[0].grip is not None:
        return nan
    return joint.losses[0].friction or nan


def _travel(way: int) -> Predict:
    def predict(run: Run, name: str, at: float) -> float:
        gone = travels(run.assembly, run.track, [name])[name]
        return gone[way] if gone[way] > 0.1 * max(gone) and gone[way] > 2e-3 else nan

    return predict


_MOTORS = (
    Sort(
        "motors", "no_load_speed", "spin", 0.02, "speed of {} without load",
        "take the linkage off its shaft; count turns for a minute, or use an optical tachometer",
        _of_line(_line, _free_speed), _same(spreads.SPEED), "voltage",
    ),
    Sort(
        "motors", "no_load_current", "current", 0.03, "current of {} without load",
        "the same, with an ammeter in its wire once it has run warm",
        _of_line(_line, lambda line, volts: line.friction_current), _same(spreads.NO_LOAD_CURRENT), "voltage",
    ),
    Sort(
        "motors", "resistance", "resistance", 0.1, "resistance of {}",
        "unplugged: ohmmeter at its wires, mean of five places of the shaft, less what the leads alone show",
        _of_line(_line, lambda line, volts: line.resistance), _same(spreads.STALL_CURRENT),
    ),
    Sort(
        "motors", "stall_torque", "torque", 0.05, "torque of {} held still",
        "an arm on its shaft against a scale, clamped down; power on for 2 s at most, hands away: pull times arm",
        _of_line(_line, _stalled), _same(spreads.TORQUE), "voltage",
    ),
    Sort(
        "motors", "cycle_time", "time", 0.01, "time of a cycle of {}",
        "the whole prop running: time ten cycles and divide",
        _cycle_time, _cycle_off,
    ),
    Sort(
        "motors", "peak_current", "current", 0.05, "most current of {} in a cycle",
        "a clamp meter or ammeter that keeps its maximum, after the first turn",
        _peak_current, _current_off,
    ),
    Sort(
        "motors", "loaded_voltage", "voltage", 0.01, "least voltage at {} in a cycle",
        "a voltmeter that keeps its minimum, at the motor's own wires, after the first turn",
        _loaded_voltage, _loaded_off,
    ),
)  # fmt: skip
_PUSHERS = (
    Sort(
        "pushers", "no_load_speed", "speed", 0.02, "speed of {} without load",
        "one end unpinned: time its whole stroke and divide",
        _of_line(_screw, _free_speed), _same(spreads.SPEED), "voltage",
    ),
    Sort(
        "pushers", "idle_current", "current", 0.03, "current of {} without load",
        "the same, with an ammeter in its wire",
        _of_line(_screw, lambda line, volts: line.friction_current), _same(spreads.NO_LOAD_CURRENT), "voltage",
    ),
    Sort(
        "pushers", "stroke_speed", "speed", 0.03, "mean speed of {} in its first stroke",
        "from a film of the whole prop, between two marks on its rod at 5 and 95 % of its way: way by time",
        lambda run, name, at: motion.stroke(run, name)[0], _same(hypot(spreads.SPEED, 0.3 * spreads.LOAD)),
    ),
    Sort(
        "pushers", "stroke_current", "current", 0.05, "most current of {} in its first stroke",
        "a clamp meter or ammeter that keeps its maximum, between the same marks",
        lambda run, name, at: motion.stroke_current(run, name),
        _same(hypot(spreads.LOAD, spreads.STALL_CURRENT)),
    ),
)  # fmt: skip
_AT_REST = (
    Sort(
        "bodies", "weight", "mass", 0.01, "weight of {}",
        "taken off, with all that is fastened to it and no more, on a kitchen or luggage scale",
        _weight, _same(spreads.WEIGHT),
    ),
    Sort(
        "springs", "pull", "force", 0.03, "pull of {}",
        "a luggage scale at one hook, a rule from point to point; a compression spring on a bathroom scale",
        _pull, _pull_off, "length",
    ),
    Sort(
        "springs", "torque", "torque", 0.05, "torque of {}",
        "an arm on the joint, free of all else, against a scale: pull times arm, without the arm's weight",
        _twist, _same(spreads.RATE), "angle",
    ),
    Sort(
        "joints", "drag", "force", 0.1, "drag of {}",
        "all else unpinned: a scale that keeps it just moving, the mean of both ways",
        lambda run, name, at: _drag(run, name, at, False), _same(spreads.FRICTION),
    ),
    Sort(
        "joints", "drag_torque", "torque", 0.1, "drag of {}",
        "all else unpinned, turning level or balanced: a scale at an arm that keeps it just moving, mean of both ways",
        lambda run, name, at: _drag(run, name, at, True), _same(spreads.FRICTION),
    ),
)  # fmt: skip
_TRAVELS = tuple(
    Sort(
        "watch", way, "length", 0.02, f"way of {{}} {way.replace('_', ' ')}",
        "between the two ends of its motion, against a rule or a mark on the wall",
        _travel(k), _same(spreads.BUILT),
    )
    for k, way in enumerate(WAYS)
)  # fmt: skip
SORTS: tuple[Sort, ...] = (*_MOTORS, *_PUSHERS, *_AT_REST, *_TRAVELS)
"""All sorts of reading, in the order of the sheet."""


def names(run: Run, section: str) -> tuple[str, ...]:
    """Names of what stands in a section of the rig."""
    if section == "watch":
        return run.rig.watch
    return tuple(getattr(run.rig, section))


def usual(run: Run, sort: Sort, name: str) -> tuple[float, ...]:
    """The conditions under which the sheet asks for a reading; one NaN where it is taken under none."""
    if sort.condition == "voltage":
        return (getattr(run.rig, sort.section)[name].source.voltage,)
    if sort.section != "springs":
        return (nan,)
    spring, about = run.rig.springs[name], run.rig.springs[name].about()
    if (sort.condition == "angle") != (about is not None) or not isfinite(spring.free):
        return ()
    seen = motion.lengths(run, name) if about is None else _angles(run, about[0])
    grain = 1e-3 if about is None else pi / 180
    return _two(spring.free, seen, lambda at: sort.predict(run, name, at), grain)


def _angles(run: Run, joint: str) -> Array:
    """What a joint turns through in a run, (n,) rad."""
    index = [j.name for j in run.assembly.joints].index(joint)
    axis = next(i for i, a in enumerate(run.assembly.axes) if a.joint == index and a.motion == "turn")
    return np.asarray(run.track.coordinate[:, axis])


def _two(free: float, seen: Array, law: Callable[[float], float], grain: float) -> tuple[float, ...]:
    """Half and all of the way from where a spring is free to where it is strained most, in whole `grain`."""
    most = max((float(seen.min()), float(seen.max())), key=lambda at: (law(at), abs(at - free)))
    places = [grain * round((free + share * (most - free)) / grain) for share in (0.5, 1.0)]
    return tuple(at for at in dict.fromkeys(places) if law(at) > 0.0)


def condition_words(sort: Sort, at: float) -> str:
    """The condition of a reading in words; "" for none.

    Example:
        >>> condition_words(next(s for s in SORTS if s.key == "pull"), 0.3)
        ' at 300 mm'
    """
    if not isfinite(at):
        return ""
    size = {"voltage": f"{at:.4g} V", "length": f"{1000 * at:.4g} mm", "angle": f"{degrees(at):.4g} deg"}
    return f" at {size[sort.condition]}"
