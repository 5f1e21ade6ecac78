"""The figures of a rig that readings can tell, where each stands in its file, and the rig with other values of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from math import isfinite
from typing import Any

from simprop.catalog import spreads
from simprop.catalog.friction import Surfaces
from simprop.catalog.motors import motor as catalogue_motor
from simprop.quantities import show
from simprop.reading.text import Path, dotted
from simprop.rig.load import rig_of
from simprop.rig.model import Rig
from simprop.run.run import Run
from simprop.tuning.measured import Reading
from simprop.tuning.motion import peak_current


@dataclass(frozen=True)
class Figure:
    """A figure of the rig that may be tuned.

    Attributes:
        what: in words.
        unit: a key of `simprop.quantities.KINDS`.
        value: as the rig has it, SI, above zero; where the rig states none, what a reading says it is at first.
        spread: standard deviation of its logarithm before anything is measured (assumed).
        place: of its value in the rig file.
        inside: its key, where what stands at `place` is written anew as a mapping (a motor of the catalogue, a supply
            in one word); "" else.
        stated: whether the rig states it, or draws it (a weight).
    """

    what: str
    unit: str
    value: float
    spread: float
    place: Path
    inside: str = ""
    stated: bool = True


def figures_of(run: Run, readings: Sequence[Reading]) -> tuple[Figure, ...]:
    """All figures of a rig that may be tuned, in the order of motors, pushers, supplies, bodies, springs, joints.

    Args:
        run: of the rig.
        readings: those taken; what the rig doesn't state at all is a figure only where one of them says it.
    """
    makers = (_drives, _supplies, _bodies, _springs, _joints)
    found = [figure for make in makers for figure in make(run, readings)]
    unique = {(f.place, f.inside): f for f in found}
    return tuple(f for f in unique.values() if not any("." in str(key) for key in f.place))


def _raw(rig: Rig, path: Path) -> Any:
    value = rig.source.document.data
    for key in path:
        value = value.get(key) if isinstance(value, dict) else None
    return value


def _reading(readings: Sequence[Reading], section: str, name: str, key: str) -> Reading | None:
    asked = (section, name, key)
    return next((r for r in readings if (r.row.sort.section, r.row.name, r.row.sort.key) == asked), None)


def _said(readings: Sequence[Reading], section: str, name: str, key: str) -> float | None:
    reading = _reading(readings, section, name, key)
    return None if reading is None else reading.value


def _drives(run: Run, readings: Sequence[Reading]) -> Iterator[Figure]:
    rig = run.rig
    for section, drives in (("motors", rig.motors), ("pushers", rig.pushers)):
        for name, drive in drives.items():
            figures = drive.figures
            named = isinstance(_raw(rig, (section, name, "motor")), str)
            for one in figures.tunable:
                own = getattr(figures, one.key)
                value = own or _said(readings, section, name, one.key)
                if value:
                    inline: Path = (section, name, "motor", figures.kind, one.key)
                    place, inside = (inline[:3], one.key) if named else (inline, "")
                    yield Figure(
                        f"{one.words} of {name}", one.unit, value, one.spread, place, inside, bool(own)
                    )


def _supplies(run: Run, readings: Sequence[Reading]) -> Iterator[Figure]:
    rig = run.rig
    for name, motor in rig.motors.items():
        supply = motor.supply
        if supply is None:
            continue
        called = supply.shared or f"supply of {name}"
        place: Path = ("supplies", supply.shared) if supply.shared else ("motors", name, "supply")
        inside = "resistance" if isinstance(_raw(rig, place), str) else ""
        place = place if inside else (*place, "resistance")
        value = (
            supply.resistance
            or _sag(run, readings, name) / _most(run, readings, name) - motor.source.resistance
        )
        if isfinite(value) and value > 0.0:
            yield Figure(
                f"resistance of {called}",
                "resistance",
                value,
                spreads.SUPPLY,
                place,
                inside,
                bool(supply.resistance),
            )


def _sag(run: Run, readings: Sequence[Reading], name: str) -> float:
    """By how much a supply was read to sag, V; 0 where it wasn't read, or by less than the reading may be off."""
    given = run.rig.motors[name].source.voltage
    reading = _reading(readings, "motors", name, "loaded_voltage")
    drop = 0.0 if reading is None else given - reading.value
    return drop if reading is not None and drop > reading.off * reading.value else 0.0


def _most(run: Run, readings: Sequence[Reading], name: str) -> float:
    """The largest current of a motor as read, else as the run has it, A."""
    return _said(readings, "motors", name, "peak_current") or peak_current(run, name)[0]


def _bodies(run: Run, readings: Sequence[Reading]) -> Iterator[Figure]:
    for body in run.assembly.drawn:
        place: Path = ("bodies", body.name, "mass")
        if not body.fixed and isinstance(_raw(run.rig, place[:2]), dict):  # not what a joint made of itself
            yield Figure(f"mass of {body.name}", "mass", body.mass, spreads.WEIGHT, place)


def _springs(run: Run, readings: Sequence[Reading]) -> Iterator[Figure]:
    for name, spring in run.rig.springs.items():
        for one in spring.tunable:
            value = getattr(spring, one.of or one.key)
            if value > 0.0:
                yield Figure(
                    f"{one.words} of {name}", one.unit, value, one.spread, ("springs", name, one.key)
                )


def _joints(run: Run, readings: Sequence[Reading]) -> Iterator[Figure]:
    for name, joint in run.rig.joints.items():
        raw = _raw(run.rig, ("joints", name))
        friction = getattr(joint, "friction", None)
        if not isinstance(raw, dict) or friction is None:
            continue
        place: Path = ("joints", name, "friction")
        if isinstance(friction, Surfaces):
            if friction.kinetic > 0.0:
                yield Figure(
                    f"friction of {name}",
                    "number",
                    friction.kinetic,
                    spreads.FRICTION,
                    place,
                    "",
                    "friction" in raw,
                )
            continue
        turns = joint.moves[:1] == ("turn",)
        said = _said(readings, "joints", name, "drag_torque" if turns else "drag")
        if friction or said:
            unit = "torque" if turns else "force"
            yield Figure(
                f"friction of {name}",
                unit,
                friction or said or 0.0,
                spreads.FRICTION,
                place,
                "",
                friction > 0.0,
            )


def texts(rig: Rig, figures: Sequence[Figure], values: Sequence[float], digits: int = 4) -> dict[Path, str]:
    """What stands in the rig file at each place with other values of some figures.

    Args:
        rig: as read.
        figures: those that change.
        values: of each, SI.
        digits: significant ones.
    """
    found: dict[Path, str] = {}
    whole: dict[Path, dict[str, str]] = {}
    for figure, value in zip(figures, values, strict=True):
        text = show(value, figure.unit, digits)
        if figure.inside:
            whole.setdefault(figure.place, {})[figure.inside] = text
        else:
            found[figure.place] = text
    return found | {place: _mapping(rig, place, own) for place, own in whole.items()}


def _mapping(rig: Rig, place: Path, own: Mapping[str, str]) -> str:
    """What a text at a place stands for as a mapping, with some of its values others."""
    text = str(_raw(rig, place))
    if place[-1] == "motor":
        row = catalogue_motor(text)
        return _flow({row.kind: {**row.figures, **own}})
    words = text.split()  # a supply: 12 V 5 A
    keys = {"V": "voltage", "A": "limit", "mA": "limit", "Hz": "frequency"}
    return _flow({**{keys[u]: f"{v} {u}" for v, u in zip(words[::2], words[1::2], strict=True)}, **own})


def _flow(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(inner)}" for key, inner in value.items()) + "}"
    return {True: "true", False: "false"}[value] if isinstance(value, bool) else str(value)


def with_values(rig: Rig, figures: Sequence[Figure], values: Sequence[float]) -> Rig:
    """The rig with other values of some figures.

    Raises:
        RigError: where these don't describe anything that can be.
    """
    sets = {dotted(place): text for place, text in texts(rig, figures, values, digits=9).items()}
    return rig_of(replace(rig.source, sets={**rig.source.sets, **sets}))
