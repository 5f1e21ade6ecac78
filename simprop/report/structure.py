"""What a report is made of: sections of sentences, lists and tables, which every writer understands.

A section is a function of a run that enters its report by ``LOADS.add`` or ``STRENGTH.add`` (usable as a decorator); it
then stands on the terminal, in Markdown and in JSON.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

if TYPE_CHECKING:
    from simprop.run.run import Run


@dataclass(frozen=True)
class Amount:
    """A number in a table.

    Attributes:
        value: in `unit`; None: not computed.
        unit: of the SI, or a word such as ``nights``.
        text: as people read it (see `simprop.report.figures`).
    """

    value: float | None
    unit: str
    text: str


Cell = str | Amount


@dataclass(frozen=True)
class Table:
    """Headings over rows of cells; a heading that begins with ``>`` stands over numbers set to the right."""

    titles: Sequence[str]
    rows: Sequence[Sequence[Cell]]


@dataclass(frozen=True)
class Items:
    """A list; an item is a sentence, or a heading with sentences below it."""

    items: Sequence[str | Sequence[str]]
    numbered: bool = False


@dataclass(frozen=True)
class Strong:
    """A sentence that stands out."""

    text: str


@dataclass(frozen=True)
class Picture:
    """A picture beside the report, where the writer can show one.

    Attributes:
        file: where it stands, from the folder of the report.
        about: what it shows, in words.
        content: what the file holds, where it isn't written yet; b"" where it is.
        size: "wide" is read at full width only: a narrow screen scrolls it; of "small" ones two stand side by side.
    """

    file: str
    about: str
    content: bytes = b""
    size: Literal["", "wide", "small"] = ""


@dataclass(frozen=True)
class Clip:
    """A moving picture beside the report (MP4).

    Attributes:
        file, still: where it and a picture in its place stand, from the folder of the report.
        about: what it shows, in words.
    """

    file: str
    still: str
    about: str


@dataclass(frozen=True)
class Inset:
    """A document that plays within a page.

    Attributes:
        document: all of its HTML.
        still: a picture in its place on paper, from the folder of the report.
        about: what it shows, in words.
    """

    document: str
    still: str
    about: str


Block = str | Strong | Items | Table | Picture | Clip | Inset


@dataclass(frozen=True)
class Section:
    """One part of a report.

    Attributes:
        key: its name in JSON.
        title: "" for none.
        blocks: what it says.
        brief: what a terminal shows in its place; () nothing, None the same.
        data: what stands for it in JSON, key by key beside the other sections'; None: its blocks under `key`.
    """

    key: str
    title: str = ""
    blocks: Sequence[Block] = ()
    brief: Sequence[Block] | None = None
    data: Mapping[str, Any] | None = None


@dataclass(frozen=True)
class Report:
    """A heading and its sections, empty ones left out."""

    title: str
    sections: Sequence[Section]


class Sections:
    """The sections of one report in the order in which they were added, each a function of a run.

    Args:
        what: end of its heading.
        makers: its first sections.
    """

    def __init__(self, what: str, makers: Sequence[Callable[[Run], Section | None]] = ()):
        self.what = what
        self._made: list[Callable[[Run], Section | None]] = [*makers]

    def add(self, make: Callable[[Run], Section | None]) -> Callable[[Run], Section | None]:
        """Take a section in; hands it back, so that it serves as a decorator."""
        self._made.append(make)
        return make

    def remove(self, make: Callable[[Run], Section | None]) -> None:
        """Take a section out again (a test that added one)."""
        self._made.remove(make)

    def of(self, run: Run) -> Report:
        """The report of a run."""
        found = [make(run) for make in self._made]
        return Report(f"{run.rig.name}: {self.what}", [s for s in found if s is not None])
