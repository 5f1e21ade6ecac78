"""What goes to a process that tries variants, and what comes back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from simprop.study.types import Level, Outcome, Study, Variant

DEATHS = 2
"""A variant of which so many processes have died is lost."""


@dataclass(frozen=True)
class Job:
    """A variant to try.

    Attributes:
        number: by which its outcome is told.
        study: that asks.
        variant: the variant.
        level: down to which.
    """

    number: int
    study: Study
    variant: Variant
    level: Level


class Workers(Protocol):
    """Processes that try variants.

    Attributes:
        width: how many are tried at once.
    """

    width: int

    @property
    def room(self) -> bool:
        """Whether another variant would not wait long."""

    def give(self, job: Job) -> None:
        """Hand over a variant."""

    def take(self) -> tuple[int, Outcome]:
        """Wait for the next outcome of what was given, and its number."""

    def close(self) -> None:
        """End the processes."""


def lost(job: Job, why: str) -> Outcome:
    """The outcome of a variant whose process died.

    Args:
        job: that it had.
        why: in words.
    """
    none = (None,) * len(job.study.asks)
    return Outcome("lost", job.level, none, why, ("not known",) * len(none))
