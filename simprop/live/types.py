"""Data of a rig that is looked at while it changes: its state, its controls, and what is told of it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from simprop.geometry.arrays import Array
from simprop.report.structure import Section
from simprop.scene.types import SceneData

Group = Literal["Motion", "Joints", "Motors and supplies", "Strength", "Run"]
Stage = Literal["motion", "loads", "strength"]
"""How much is known of a state; each stage tells all of those before it too."""


@dataclass(frozen=True)
class State:
    """A rig file and what is put over it.

    Attributes:
        text: of the file, with the line ends that it has.
        file: its name.
        sets: fields and the text that stands in them, in the order in which they were changed.
        engine: name of the engine; None: the usual one.
    """

    text: str
    file: str
    sets: tuple[tuple[str, str], ...] = ()
    engine: str | None = None


@dataclass(frozen=True)
class Control:
    """What can be changed of a rig.

    Attributes:
        field: as `--set` has it.
        value: text that stands there now.
        filed: text that stands there in the file.
        choices: what else may stand there; () of a number.
        low, high: between which a number is moved, in `unit`.
        step: of it.
        unit: that the number is written in; "" of a plain one.
    """

    field: str
    value: str
    filed: str
    choices: tuple[str, ...] = ()
    low: float = 0.0
    high: float = 0.0
    step: float = 0.0
    unit: str = ""


@dataclass(frozen=True)
class Figure:
    """A line of a table of answers.

    Attributes:
        group: the table.
        name: what it is of.
        text: as people read it.
        share: of what is allowed, 1 is just enough; None: there is no such thing, or it isn't computed.
        value: what it comes to, in SI units, to be compared with that of another state; None: it is no number.
    """

    group: Group
    name: str
    text: str
    share: float | None = None
    value: float | None = None


@dataclass(frozen=True)
class Fact:
    """What is told of a part or joint that is picked: its name, its line in the rig file, and sentences."""

    name: str
    line: int | None
    told: tuple[str, ...]


@dataclass(frozen=True)
class Plot:
    """Lines over time.

    Attributes:
        name: what they show, with its unit.
        time: (n,) s.
        lines: name and values of each, (n,).
    """

    name: str
    time: Array
    lines: tuple[tuple[str, Array], ...]


@dataclass(frozen=True)
class Span:
    """When a drive is on, and what it is told: share of its supply's voltage, negative backwards."""

    begin: float
    end: float
    share: float


@dataclass(frozen=True)
class View:
    """What is shown of a state at a stage.

    Attributes:
        stage: how much is known.
        settled: the step was halved until the peaks stood still; else it is a draft at one step.
        scene: the moving prop.
        figures: lines of the tables.
        facts: of what can be picked, by its name in the scene.
        plots: lines over time.
        peaks: what peaks and when, s, the largest first.
        told: when each drive is on.
        sections: sentences: what fails first, cautions.
    """

    stage: Stage
    settled: bool
    scene: SceneData
    figures: tuple[Figure, ...]
    facts: dict[str, Fact]
    plots: tuple[Plot, ...]
    peaks: tuple[tuple[str, float], ...]
    told: tuple[tuple[str, tuple[Span, ...]], ...]
    sections: tuple[Section, ...] = ()


@dataclass(frozen=True)
class Job:
    """A state to work out, with its number."""

    number: int
    state: State


@dataclass(frozen=True)
class Told:
    """What came of a job.

    Attributes:
        number: of the job.
        settled: by the process that settles it.
        view: what is shown; None where it can't be run.
        fault: why not, in words, with file and line where it comes from the file; "" where it can.
        seconds: processor time that this stage took.
    """

    number: int
    settled: bool
    view: View | None
    fault: str = ""
    seconds: float = 0.0


@dataclass(frozen=True)
class Held:
    """A state that is kept to be looked at beside a later one.

    Attributes:
        number: of the job that worked it out.
        state: that was run.
        view: of it.
    """

    number: int
    state: State
    view: View
