"""The whole rig file as one frozen record."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, PrivateAttr, ValidationInfo, model_validator

from simprop.cords.base import Cord, span_names
from simprop.couplings.kinds import Coupling
from simprop.cues.records import Cues
from simprop.drives.kinds import Motor, Pusher
from simprop.drives.supplies import SupplyField, share_supplies
from simprop.errors import Fault, RigError
from simprop.fasteners.ends import Ended
from simprop.forces.contacts import AnyContact
from simprop.forces.springs import AnySpring
from simprop.forces.stops import AnyStop
from simprop.joints.kinds import Joint
from simprop.parts.kinds import Body
from simprop.pulls.kinds import Pull
from simprop.reading.base import Record
from simprop.reading.fields import (
    Duration,
    Point,
    Step,
    Temperature,
    Vector,
    fault,
    read_row,
    read_scalar,
    scope_of,
)
from simprop.reading.text import Document, dotted
from simprop.rig.site import Season, Stand, StockLengths, Visitors, Wind
from simprop.strips.base import Strips


def _gravity(value: Any, info: ValidationInfo) -> Vector:
    scope = scope_of(info)
    words = str(value).split()
    if isinstance(value, list) or len(words) > 2:
        x, y, z = read_row(value, "acceleration", 3, scope)
        return (x, y, z)
    return (0.0, 0.0, -read_scalar(value, "acceleration", scope))


STANDARD_GRAVITY: Vector = (0.0, 0.0, -9.80665)


def _rate(value: Any, info: ValidationInfo) -> tuple[float, str]:
    scope = scope_of(info)
    try:
        return (read_scalar(value, "spin", scope), "turn")
    except Exception:
        pass
    try:
        return (read_scalar(value, "speed", scope), "slide")
    except Exception:
        raise fault("a joint's speed is a turning speed or a speed", "45 rpm, 25 rad/s, 0.1 m/s") from None


class Run(Record):
    """How long to run, and how.

    Attributes:
        duration: simulated time, s (``for`` in the file).
        step: coarsest physics step, s; None: the program chooses.
        frames: picture frames a second.
        gravity: m/s^2: one number pulls down, three are along x, y, z.
        start_speeds: how fast a joint moves at the start, by its name: {shaft: 45 rpm}.
        seed: of what comes by chance (a mains motor that starts either way).
        wind: the rig's wind blows in the run, on strips and on bodies with drag; else the air is still.
        bend: every slender part of a body that moves bends, not only what says so itself.
        begin: how what bends begins: sagged under its weight as it hangs at rest, or straight as drawn, so that its
            weight comes on at once.
    """

    duration: Duration = Field(alias="for")
    step: Step | None = None
    frames: Annotated[int, Field(ge=1, le=120, strict=True)] = 25
    gravity: Annotated[Vector, BeforeValidator(_gravity)] = STANDARD_GRAVITY
    start_speeds: dict[str, Annotated[tuple[float, str], BeforeValidator(_rate)]] = {}
    seed: Annotated[int, Field(strict=True)] = 1
    wind: Annotated[bool, Field(strict=True)] = False
    bend: Annotated[bool, Field(strict=True)] = False
    begin: Literal["sagged", "straight"] = "sagged"


class Camera(Record):
    """Where the picture is taken from.

    Attributes:
        view: the side that is seen; follow moves with the first watched point.
        light: by day or by night.
        whole: all of the prop is in the picture, not what moves with what stands near it.
    """

    view: Literal["front", "side", "three_quarter", "top", "follow"] = "three_quarter"
    light: Literal["night", "day"] = "day"
    whole: Annotated[bool, Field(strict=True)] = False


LARGEST = 50_000_000
"""Largest file that a rig may name, bytes."""


@dataclass(frozen=True)
class Source:
    """What a rig was read from.

    Attributes:
        text: YAML.
        file: its name.
        sets: values set over those of the text.
        files: content of the files that it names, by their names in the rig; what isn't there is read from the folder
            of `file`.
        document: the text with its lines.
        elsewhere: files outside the folder of `file` may be read too.
    """

    text: str
    file: str
    sets: Mapping[str, str]
    files: Mapping[str, bytes] = field(default_factory=dict)
    document: Document = field(default=Document("", None, {}, ()), repr=False)
    elsewhere: bool = False

    def read(self, name: str) -> bytes:
        """Content of a file that the rig names (a sound, a mesh).

        Raises:
            OSError: when it can't be read.
        """
        if name in self.files:
            return self.files[name]
        return self.place(name).read_bytes()

    def place(self, name: str) -> Path:
        """Where a file is that the rig names.

        Raises:
            OSError: when it isn't there, too large, or outside the folder of the rig without that being allowed.
        """
        folder = Path(self.file).parent
        path = folder / name
        if not self.elsewhere and not path.resolve().is_relative_to(folder.resolve()):
            raise PermissionError("outside the folder of the rig, which nothing is read from unasked")
        if not path.is_file():
            raise FileNotFoundError(f"there is no file {path}")
        if path.stat().st_size > LARGEST:
            raise OSError(f"{path} is larger than {LARGEST / 1e6:g} MB")
        return path


class Rig(Record):
    """A prop as measured on the bench, in its start pose.

    Attributes:
        version: of the format: 1.
        name: what it is called in reports.
        about: what it does, a sentence or two.
        params: named values, such as throw: 50 mm; others may be worked out from them (reach: 2 * throw).
        points: named places in the start pose, such as neck: 0 0 900 mm; other points and ends may name them.
        bodies: what moves as one piece, by name.
        joints: what holds two bodies together, by name.
        couplings: gears, racks, chains and belts that tie two joints together, by name.
        springs: between two points, or about a pin.
        stops: where a joint's motion ends.
        contacts: what may touch what.
        supplies: what feeds several motors, by name; a motor may also have its own.
        motors: what turns a joint.
        pushers: linear actuators, air cylinders, solenoids between two points.
        pulls: what pulls or pushes without a motor: gas spring, strip, counterweight, rope.
        cords: one cord over many places (eyes, pulleys, bars, drums), by name.
        strips: cloth, straw and yarn that hang on bodies and fly, by name.
        cues: what the controller does and when.
        run: how long to run, and how.
        watch: points whose path is drawn and written, as POINT or BODY.POINT where the point lies on a joint.
        camera: where the picture is taken from.
        wind: a steady wind.
        stand: how the prop stands, and on what.
        season: how long it plays.
        temperature: of the air, for the strength of plastics.
        visitors: how near they come.
        stock: lengths in which pipe, battens and the like are sold, for the cut list, such as pipe: 10 ft.
    """

    version: Literal[1] = Field(alias="rig")
    name: Annotated[str, Field(min_length=1)]
    about: str = ""
    params: dict[str, Any] = {}
    points: dict[str, Point] = {}
    bodies: Annotated[dict[str, Body], Field(min_length=1)]
    joints: dict[str, Joint] = {}
    couplings: dict[str, Coupling] = {}
    springs: dict[str, AnySpring] = {}
    stops: dict[str, AnyStop] = {}
    contacts: dict[str, AnyContact] = {}
    supplies: dict[str, SupplyField] = {}
    motors: dict[str, Motor] = {}
    pushers: dict[str, Pusher] = {}
    pulls: dict[str, Pull] = {}
    cords: dict[str, Cord] = {}
    strips: dict[str, Strips] = {}
    cues: Cues | None = None
    run: Run
    watch: tuple[str, ...] = ()
    camera: Camera = Camera()
    wind: Wind | None = None
    stand: Stand | None = None
    season: Season | None = None
    temperature: Temperature | None = None
    visitors: Visitors | None = None
    stock: StockLengths = {}

    @model_validator(mode="before")
    @classmethod
    def _share_supplies(cls, data: Any) -> Any:
        return share_supplies(data)

    _source: Source = PrivateAttr(default_factory=lambda: Source("", "", {}))

    _told: tuple[str, ...] = PrivateAttr(default=())

    def set_told(self, told: tuple[str, ...]) -> None:
        """Remember what a person should know of how the rig was read, one sentence each."""
        object.__setattr__(self, "_told", told)

    @property
    def told(self) -> tuple[str, ...]:
        """What a person should know of how the rig was read, one sentence each."""
        return self._told

    def set_source(self, source: Source) -> None:
        """Remember what the rig was read from, so that a recording can carry it."""
        object.__setattr__(self, "_source", source)

    @contextmanager
    def locating(self) -> Iterator[None]:
        """Gives faults that are found in this rig after it was read their file and line."""
        try:
            yield
        except RigError as error:
            place = self._source.document.located
            raise RigError([f if f.file else place(f) for f in error.faults]) from None

    @property
    def source(self) -> Source:
        """What the rig was read from."""
        return self._source

    def check_files(self) -> None:
        """Refuse files that the rig names and that aren't to be had.

        Raises:
            RigError: with the places where they are named.
        """
        faults = [f for name in self.file_names for f in self._trouble(name)]
        if faults:
            raise RigError(faults)

    def _trouble(self, name: str) -> Iterator[Fault]:
        source = self._source
        if name in source.files:
            return
        try:
            source.place(name)
        except OSError as error:
            paths = list(source.document.where(name)) or [
                (field,) for field, text in source.sets.items() if name in text
            ]
            allowed = "a file beside the rig" + (
                "" if source.elsewhere else ", or the option --files-elsewhere"
            )
            for path in paths:
                message = f"the {path[-1]} can't be read: {error}"
                yield Fault(message, field=dotted(path), value=name, allowed=allowed)

    @property
    def lines(self) -> tuple[tuple[str, str], ...]:
        """Name and sort (spring, pusher, pull, cord) of all that acts between two points, in the order of runs."""
        return tuple((name, sort) for name, sort, _ in self.between_points)

    @property
    def between_points(self) -> tuple[tuple[str, str, Ended], ...]:
        """The same with the record of each."""
        return (
            *((name, "spring", spring) for name, spring in self.springs.items() if spring.line() is not None),
            *((name, "pusher", pusher) for name, pusher in self.pushers.items()),
            *((name, "pull", pull) for name, pull in self.pulls.items()),
            *(
                (name, "cord", span)
                for whole, cord in self.cords.items()
                for name, span in zip(span_names(whole, cord), cord.spans, strict=True)
            ),
        )

    @property
    def file_names(self) -> tuple[str, ...]:
        """The files that the rig names (sounds, meshes), each once."""
        things: list[object] = [p for body in self.bodies.values() for p in body.parts]
        things += [c for scene in (self.cues.scenes.values() if self.cues else ()) for c in scene.do]
        return tuple(dict.fromkeys(t.file for t in things if hasattr(t, "file")))
