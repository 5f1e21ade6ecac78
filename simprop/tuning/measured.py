"""The file that takes what was measured on the built prop: its own small format, read as a rig file is."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from math import nan
from pathlib import Path as FilePath
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, ValidationError, ValidationInfo

from simprop.catalog.spreads import COVER
from simprop.errors import Fault, RigError, listed, nearest
from simprop.quantities import KINDS, show
from simprop.reading.base import Record
from simprop.reading.faults import faults_of, ordered
from simprop.reading.fields import Angle, Size, Voltage, fault, read_scalar, scope_of
from simprop.reading.text import Document, Path, dotted, read_text, text_of
from simprop.run.run import Run
from simprop.tuning.sheet import Row, allowed, row_of
from simprop.tuning.sorts import SORTS, names, usual

_OFF = re.compile(r"\s*(?:\+-|\+/-|±)\s*")
MOST_OFF = 0.5
"""A reading that may be off by more than this share of itself tells nothing."""


@dataclass(frozen=True)
class Stated:
    """A reading as written.

    Attributes:
        value: SI, above zero.
        off: share of it that it may be off by; None: not stated.
    """

    value: float
    off: float | None = None


def _reads(kind: str) -> Callable[[Any, ValidationInfo], Stated | None]:
    unit = KINDS[kind][1].split(",", maxsplit=1)[0]
    example = f"{unit}, or {unit} +- 2 %"

    def read(value: Any, info: ValidationInfo) -> Stated | None:
        if value is None or isinstance(value, Stated):
            return value
        text, *off = _OFF.split(str(value).strip(), maxsplit=1)
        number = read_scalar(value if not off else text, kind, scope_of(info))
        if number <= 0.0:
            raise fault("a reading is above zero; leave blank what wasn't measured", example)
        if not off:
            return Stated(number)
        percent = re.fullmatch(r"([0-9.]+)\s*%", off[0])
        share = float(percent[1]) / 100 if percent else read_scalar(off[0], kind, scope_of(info)) / number
        if not 0.0 < share <= MOST_OFF:
            most = f"above zero, up to {show(MOST_OFF * number, kind)}"
            raise fault("what a reading may be off by is a part of it", most)
        return Stated(number, share)

    return read


Spin = Annotated[Stated | None, BeforeValidator(_reads("spin"))]
Speed = Annotated[Stated | None, BeforeValidator(_reads("speed"))]
Time = Annotated[Stated | None, BeforeValidator(_reads("time"))]
Mass = Annotated[Stated | None, BeforeValidator(_reads("mass"))]
Current = Annotated[Stated | None, BeforeValidator(_reads("current"))]
Resistance = Annotated[Stated | None, BeforeValidator(_reads("resistance"))]
Tension = Annotated[Stated | None, BeforeValidator(_reads("voltage"))]
Force = Annotated[Stated | None, BeforeValidator(_reads("force"))]
Torque = Annotated[Stated | None, BeforeValidator(_reads("torque"))]
Way = Annotated[Stated | None, BeforeValidator(_reads("length"))]


class MotorReadings(Record):
    """Of a motor; `voltage` is that at which it ran without load and was held still."""

    voltage: Voltage | None = None
    no_load_speed: Spin = None
    no_load_current: Current = None
    resistance: Resistance = None
    stall_torque: Torque = None
    cycle_time: Time = None
    peak_current: Current = None
    loaded_voltage: Tension = None


class PusherReadings(Record):
    """Of a pusher; `voltage` is that at which it ran without load."""

    voltage: Voltage | None = None
    no_load_speed: Speed = None
    idle_current: Current = None
    stroke_speed: Speed = None
    stroke_current: Current = None


class BodyReadings(Record):
    """Of a body."""

    weight: Mass = None


class PullAt(Record):
    """What a spring pulls or pushes at a length."""

    length: Size
    pull: Force = None


class TwistAt(Record):
    """What a spring about a pin gives at an angle from the start pose."""

    angle: Angle
    torque: Torque = None


class SpringReadings(Record):
    """Of a spring."""

    pulls: tuple[PullAt, ...] = ()
    twists: tuple[TwistAt, ...] = ()


class JointReadings(Record):
    """Of a joint."""

    drag: Force = None
    drag_torque: Torque = None


class WatchReadings(Record):
    """How far a watched point moves."""

    sideways: Way = None
    to_and_fro: Way = None
    up_and_down: Way = None


class Measured(Record):
    """What was measured on a prop.

    Attributes:
        version: of the format: 1.
        rig: name of the rig that it belongs to; None: not said.
    """

    version: Literal[1] = Field(alias="measured")
    rig: str | None = None
    motors: dict[str, MotorReadings | None] = {}
    pushers: dict[str, PusherReadings | None] = {}
    bodies: dict[str, BodyReadings | None] = {}
    springs: dict[str, SpringReadings | None] = {}
    joints: dict[str, JointReadings | None] = {}
    watch: dict[str, WatchReadings | None] = {}


@dataclass(frozen=True)
class Reading:
    """A reading with what the rig says of it.

    Attributes:
        row: of the sheet, under the condition that it was taken.
        value: SI.
        off: share of it that it may be off by (two standard deviations).
        field: its place in the file.
    """

    row: Row
    value: float
    off: float
    field: str


@dataclass(frozen=True)
class Sheet:
    """A filled-in sheet as read.

    Attributes:
        measured: what it says.
        document: the text with its lines.
    """

    measured: Measured
    document: Document


def load_measured(path: str | FilePath) -> Sheet:
    """Read a filled-in sheet.

    Raises:
        RigError: with every fault of its form.
    """
    return parse_measured(text_of(path), str(path))


def parse_measured(text: str, file: str = "measured.yaml") -> Sheet:
    """The same from its text.

    Raises:
        RigError: with every fault of its form.

    Example:
        >>> parse_measured("measured: 1\\nbodies: {mast: {weight: 450 g +- 2 %}}").measured.bodies["mast"].weight
        Stated(value=0.45, off=0.02)
    """
    document = read_text(text, file)
    if not isinstance(document.data, dict):
        raise RigError([Fault("a sheet is a mapping", file=file, line=1, allowed="measured: 1, motors: ...")])
    faults = list(document.faults)
    data = {key: value for key, value in document.data.items() if value is not None}
    try:
        measured = Measured.model_validate(data)
    except ValidationError as error:
        faults += faults_of(error, Measured, data, document)
    if faults:
        raise RigError(ordered(faults))
    return Sheet(measured, document)


def readings_of(sheet: Sheet, run: Run) -> tuple[Reading, ...]:
    """The readings of a sheet beside what a run of the rig says of each.

    Raises:
        RigError: for names that the rig doesn't have, readings that its run doesn't have, and where none is filled in.
    """
    said = sheet.measured.rig
    if said is not None and " ".join(said.split()) != " ".join(run.rig.name.split()):
        raise _raised(sheet, ("rig",), "this sheet belongs to another rig", said, run.rig.name)
    found: list[Reading] = []
    faults: list[Fault] = []
    for section in dict.fromkeys(sort.section for sort in SORTS):
        known = names(run, section)
        for name, record in getattr(sheet.measured, section).items():
            if name not in known:
                faults.append(_unknown(sheet, section, name, known))
            elif record is not None:
                for path, at, stated in _filled(section, name, record):
                    reading = _reading(sheet, run, path, at, stated)
                    (found if isinstance(reading, Reading) else faults).append(reading)  # type: ignore[arg-type]
    if faults:
        raise RigError(ordered(faults))
    if not found:
        raise RigError([Fault("no reading is filled in", file=sheet.document.file, allowed="one or more")])
    return tuple(found)


def _raised(sheet: Sheet, path: Path, message: str, value: str, right: str) -> RigError:
    return RigError([sheet.document.located(Fault(message, field=dotted(path), value=value, allowed=right))])


def _unknown(sheet: Sheet, section: str, name: str, known: tuple[str, ...]) -> Fault:
    told = Fault(
        f"the rig has no such name in {section}",
        field=f"{section}.{name}",
        allowed=listed(known) or "none",
        nearest=nearest(name, known),
    )
    return sheet.document.located(told)


def _filled(section: str, name: str, record: Record) -> Iterator[tuple[Path, float | None, Stated]]:
    """Place, condition and value of all that is filled in of one thing; None where its usual condition holds."""
    at = getattr(record, "voltage", None)
    for key in type(record).model_fields:
        value = getattr(record, key)
        if isinstance(value, Stated):
            yield (section, name, key), at, value
        elif isinstance(value, tuple):
            for k, one in enumerate(value):
                condition, inner = type(one).model_fields
                stated = getattr(one, inner)
                if stated is not None:
                    yield (section, name, key, k, inner), getattr(one, condition), stated


def _reading(sheet: Sheet, run: Run, path: Path, at: float | None, stated: Stated) -> Reading | Fault:
    section, name, key = str(path[0]), str(path[1]), str(path[-1])
    sort = next(s for s in SORTS if (s.section, s.key) == (section, key))
    where = (
        at if sort.condition and at is not None else nan if not sort.condition else usual(run, sort, name)[0]
    )
    row = row_of(run, sort, name, where)
    document, field = sheet.document, dotted(path)
    if row is None and section == "joints":  # none stated: it begins with what was measured
        row = _bare_drag(run, path, stated)
    if row is None:
        told = Fault(
            "by the rig there is no such reading, or it is nought",
            field=field,
            value=show(stated.value, sort.unit),
            allowed=listed(allowed(run, section, name)) or "none of this one",
        )
        return document.located(told)
    off = sort.accuracy if stated.off is None else stated.off
    return Reading(row, stated.value, off, field)


def _bare_drag(run: Run, path: Path, stated: Stated) -> Row | None:
    """A drag reading of a joint whose rig states no friction."""
    joint, turns = run.rig.joints[str(path[1])], path[-1] == "drag_torque"
    fits = len(joint.moves) == 1 and (joint.moves[0] == "turn") == turns and hasattr(joint, "friction")
    if not fits or joint.losses[0].grip is not None:
        return None
    sort = next(s for s in SORTS if (s.section, s.key) == ("joints", path[-1]))
    return Row(sort, str(path[1]), nan, stated.value)


def accuracy(reading: Reading) -> float:
    """Standard deviation of a reading's logarithm."""
    return reading.off / COVER
