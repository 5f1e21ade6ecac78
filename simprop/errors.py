"""What can go wrong, as exceptions that carry the facts a person needs to put it right.

Nothing in the package raises a bare `ValueError` at a user: input faults are collected as `Fault`
rows and raised together as one `RigError`; everything else is a child of `SimpropError`.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from typing import TypeVar

T = TypeVar("T")


@dataclass(frozen=True)
class Fault:
    """One thing wrong in an input file.

    Attributes:
        message: what is wrong, one sentence without a full stop.
        file: path of the file as the user wrote it, or None.
        line: line number counted from 1, or None.
        field: dotted path of the field, e.g. ``joints.wrist.at``, or "".
        value: the offending value as written, or None.
        allowed: what would have been right, or None.
        nearest: the nearest allowed name, or None.
    """

    message: str
    file: str | None = None
    line: int | None = None
    field: str = ""
    value: str | None = None
    allowed: str | None = None
    nearest: str | None = None

    def __str__(self) -> str:
        """The fault as one line: ``file:line: field: message (got ...; allowed: ...; nearest: ...)``.

        Example:
            >>> str(Fault("unknown key", file="a.yaml", line=3, field="joints.wist", nearest="wrist"))
            "a.yaml:3: joints.wist: unknown key (did you mean 'wrist'?)"
        """
        where = "" if self.file is None else self.file + (f":{self.line}" if self.line else "") + ": "
        field = f"{cut(self.field, 120)}: " if self.field else ""
        notes = []
        if self.value is not None:
            notes.append(f"got {cut(self.value, 60)!r}")
        if self.allowed is not None:
            notes.append(f"allowed: {cut(self.allowed, 1000)}")
        if self.nearest is not None:
            notes.append(f"did you mean {cut(self.nearest, 60)!r}?")
        return where + field + cut(self.message, 300) + (f" ({'; '.join(notes)})" if notes else "")


def cut(text: str, most: int) -> str:
    """Text cut to a length, so that a message stays readable whatever stands in a file.

    Example:
        >>> cut("wrist", 9), cut("crankpin of the left arm", 9)
        ('wrist', 'crankp...')
    """
    return text if len(text) <= most else text[: most - 3] + "..."


class SimpropError(Exception):
    """Parent of every error the package raises on purpose."""


class RigError(SimpropError):
    """A rig file (or `--set`) that can't be used; `faults` holds every fault found, in file order."""

    def __init__(self, faults: Sequence[Fault]):
        self.faults = tuple(faults)
        super().__init__("\n".join(str(f) for f in self.faults))


def together(readers: Iterable[Callable[[], T]]) -> list[T]:
    """What each of several reads; where any of them can't, the faults of all of them in one error.

    Args:
        readers: called one after the other, whatever the ones before found.

    Raises:
        RigError: with every fault, in their order.

    Example:
        >>> together([lambda: 1, lambda: 2])
        [1, 2]
    """
    found, faults = list[T](), list[Fault]()
    for read in readers:
        try:
            found.append(read())
        except RigError as error:
            faults += error.faults
    if faults:
        raise RigError(faults)
    return found


class AssemblyError(SimpropError):
    """The parts as described don't go together: the message names the joint and the gap."""


class OpenLoopError(AssemblyError):
    """A loop of joints doesn't close."""


class EngineError(SimpropError):
    """The simulation can't go on: the message names the time, the body and the likely cause."""


class EngineMissingError(SimpropError):
    """The asked-for engine isn't installed here."""


class RecordingError(SimpropError):
    """A recording file that can't be read or doesn't fit."""


class WriteError(SimpropError):
    """A file that can't be written; the message names the folder and why."""


class RenderError(SimpropError):
    """A picture, clip or export that can't be made."""


def nearest(name: str, allowed: Iterable[str]) -> str | None:
    """The allowed name that looks most like `name`, or None when nothing is close.

    Returns:
        The closest name by difflib's ratio at a cutoff of 0.6, or None.

    Example:
        >>> nearest("wist", ["shaft", "wrist"])
        'wrist'
    """
    found = difflib.get_close_matches(str(name), [str(a) for a in allowed], n=1, cutoff=0.6)
    return found[0] if found else None


def meant(name: str, allowed: Iterable[str]) -> str:
    """The end of a message that offers the allowed name that looks most like `name`; "" when nothing is close.

    Example:
        >>> meant("wist", ["shaft", "wrist"])
        "; did you mean 'wrist'?"
    """
    found = nearest(name, allowed)
    return f"; did you mean {found!r}?" if found else ""


def one_of(name: str, allowed: Collection[str], what: str) -> None:
    """Raise RenderError unless a name is one of those allowed; `what` it should be: ``joint``.

    Example:
        >>> one_of("wrist", ["shaft", "wrist"], "joint")
    """
    if name not in allowed:
        raise RenderError(f"{name!r} is not a {what}; allowed: {', '.join(allowed)}{meant(name, allowed)}")


def listed(names: Iterable[str], most: int = 12) -> str:
    """Names as a list for a message, cut after `most`.

    Example:
        >>> listed(["a", "b", "c"], most=2)
        'a, b and 1 more'
    """
    names = list(names)
    more = len(names) - most
    return ", ".join(names[:most]) + (f" and {more} more" if more > 0 else "")


class UnknownNameError(SimpropError):
    """A name that isn't in the catalogue; `allowed` lists the names that are."""

    def __init__(self, what: str, value: str, allowed: Iterable[str]):
        self.what, self.value, self.allowed = what, value, tuple(allowed)
        self.nearest = nearest(cut(value, 60), self.allowed)
        super().__init__(f"{cut(value, 60)!r} is not a known {what}{meant(cut(value, 60), self.allowed)}")


def signal_behind(error: BaseException | None) -> BaseException | None:
    """The Ctrl-C or end of the program that an error came from, however deep; None where it came from none.

    Foreign code that is stopped while it starts or returns tells it as an error of its own.

    Args:
        error: any.

    Example:
        >>> signal_behind(ImportError("no")) is None
        True
    """
    while error is not None and not isinstance(error, KeyboardInterrupt | SystemExit):
        error = error.__cause__ or error.__context__
    return error
