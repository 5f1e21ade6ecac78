"""Data of a study: one prop, what is asked of it, its variants, and what came of each."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

Level = Literal["still", "swept", "draft", "settled"]
"""How deep a variant was looked into, and how deep it may be: put together alone; its mechanism taken through its way
without loads; run at one step; run until its peaks stand still."""

Ended = Literal["done", "ruled out", "refused", "open", "jams", "wrong", "lost"]
"""How it ended: all was asked; a limit was missed before that; the rig file can't be so; the mechanism doesn't close;
it locks on its way; the run went wrong (it runs away, it comes apart); the process died of it."""


@dataclass(frozen=True)
class Limit:
    """Between what an answer has to lie.

    Attributes:
        ask: which question, counted from 0.
        least: in the SI; None: no such side.
        most: likewise.
    """

    ask: int
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class Study:
    """What all variants of a study share; it goes to every process once.

    Attributes:
        text: of the rig file.
        file: its name.
        sets: values put over the rig's in every variant, as `--set` has them.
        files: content of the sounds and meshes that it names.
        engine: name of the engine; None: the usual one.
        asks: expressions of measures, such as ``travel(neck, z)``.
        limits: which variants are worth no more time: cheap answers are looked at first.
    """

    text: str
    file: str
    sets: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, bytes] = field(default_factory=dict)
    engine: str | None = None
    asks: tuple[str, ...] = ()
    limits: tuple[Limit, ...] = ()


@dataclass(frozen=True)
class Variant:
    """One build of a prop.

    Attributes:
        sets: fields and the text that stands in them, as `--set` has them.
        scatter: how far a thing is off what the rig says, by its place: a share (0.1: 10 % more), or metres for what is
            measured as a place.
    """

    sets: tuple[tuple[str, str], ...] = ()
    scatter: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Answer:
    """An answer with its unit.

    Attributes:
        value: in `unit`.
        unit: as people write it; "" of a plain number.
        si: the same in base units of the SI.
    """

    value: float
    unit: str
    si: float


@dataclass(frozen=True)
class Outcome:
    """What came of a variant.

    Attributes:
        ended: how.
        level: how deep it was looked into.
        answers: to each question of the study, in its order; None where it isn't known.
        reason: why it didn't end as done, in words; "" of what is done.
        unknown: why an answer isn't known, by question; "" where it is.
        seconds: processor time.
    """

    ended: Ended
    level: Level
    answers: tuple[Answer | None, ...]
    reason: str = ""
    unknown: tuple[str, ...] = ()
    seconds: float = 0.0
