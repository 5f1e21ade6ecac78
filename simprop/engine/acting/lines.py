"""Pushers and pulls of a rig as lines that are decided once a step, and the supplies that feed what drives it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np

from simprop.assembly.types import Assembly
from simprop.drives.kinds import Pusher
from simprop.drives.supplies import SupplySpec, source_of
from simprop.engine.acting.stepper import LineDrive
from simprop.errors import Fault, RigError
from simprop.geometry.arrays import Array
from simprop.geometry.turning import rotate
from simprop.laws.cues import Command, largest
from simprop.laws.forms import LinePull, Mounted, Mounting, Note
from simprop.laws.springs import LineLaw
from simprop.laws.supply import Source
from simprop.pulls.base import PullBase

T = TypeVar("T")

NEAREST = 1e-3
"""Least distance of the two ends of a straight drive, m."""


@dataclass(frozen=True)
class LineData:
    """A spring, straight drive or pull between two points: bodies by index, points in their body frames."""

    name: str
    first: int
    second: int
    first_point: Array
    second_point: Array
    law: LineLaw | Mounted


def line_ends(lines: Sequence[LineData], position: Array, rotation: Array) -> tuple[Array, Array]:
    """World places of the two ends of each line, (n, L, 3) m each.

    Args:
        lines: of an `Actuation`.
        position: centres of mass of the bodies, (n, B, 3) m.
        rotation: of the bodies from the start, (n, B, 4).
    """
    shape = (len(position), len(lines), 3)
    start, end = np.zeros(shape), np.zeros(shape)
    for k, line in enumerate(lines):
        one, two = line.first, line.second
        start[:, k] = position[:, one] + rotate(rotation[:, one], line.first_point)
        end[:, k] = position[:, two] + rotate(rotation[:, two], line.second_point)
    return start, end


class Supplies:
    """Sources by the drives that use them; a supply named in `supplies` is one source for all."""

    def __init__(self) -> None:
        self.sources: list[Source] = []
        self._shared: dict[str, int] = {}

    def index(self, supply: SupplySpec | None, rated: float) -> int:
        """Index of a drive's source."""
        name = None if supply is None else supply.shared
        if name in self._shared:
            return self._shared[name]
        self.sources.append(source_of(supply, rated))
        if name is not None:
            self._shared[name] = len(self.sources) - 1
        return len(self.sources) - 1


class Lines:
    """What acts between two points, in the order in which it is put in; the attributes are those of `Actuation`.

    Args:
        assembly: with the rig.
        note: takes what was assumed, one sentence each.
    """

    def __init__(self, assembly: Assembly, note: Note):
        self.assembly, self.note = assembly, note
        self.lines: list[LineData] = []
        self.line_drives: list[LineDrive] = []

    def add(self, name: str, item: Any, law: LineLaw | Mounted) -> int:
        """Put a line in: name, its record (`between`, `start`, `end`), law. Returns its index."""
        first, second = self._ends(item)
        bodies = self.assembly.bodies
        ends = bodies[first].local(item.start), bodies[second].local(item.end)
        self.lines.append(LineData(name, first, second, *ends, law))
        return len(self.lines) - 1

    def _ends(self, item: Any) -> tuple[int, int]:
        """The bodies that its two ends are on."""
        one, two = item.between
        return self.assembly.carrier(one, item.start), self.assembly.carrier(two, item.end)

    def pusher(self, name: str, pusher: Pusher, command: Command, supplies: Supplies, column: int) -> None:
        """Put a pusher in, with its column of current and voltage."""
        figures = pusher.figures
        mounted = self._mounted(f"pushers.{name}", pusher, pusher.extension, figures.pull)
        self.line_drives.append(
            LineDrive(
                name,
                self.add(name, pusher, mounted),
                mounted,
                column if figures.electric else -1,
                supplies.index(pusher.supply, figures.rated) if figures.electric else -1,
                command.drive,
                -1.0 if pusher.reverse else 1.0,
                figures.able(pusher.source, largest(command.drive)),
            )
        )

    def pull(self, name: str, held: PullBase) -> None:
        """Put a pull in."""
        mounted = self._mounted(f"pulls.{name}", held, 0.0, held.law)
        self.line_drives.append(LineDrive(name, self.add(name, held, mounted), mounted))

    def _mounted(
        self,
        field: str,
        item: Pusher | PullBase,
        extension: float,
        law: Callable[[Mounting, Note], LinePull],
    ) -> Mounted:
        bodies = self.assembly.bodies
        held = [bodies[i] for i in self._ends(item)]
        one, two = (body.placement.world(p) for body, p in zip(held, (item.start, item.end), strict=True))
        length = float(np.linalg.norm(two - one))
        if length < NEAREST:
            message = (
                f"its two ends are on one spot in the start pose: {1e3 * NEAREST:g} mm apart is the least"
            )
            raise RigError([Fault(message, field=field)])
        gravity = float(np.linalg.norm(self.assembly.rig.run.gravity))
        mounting = Mounting(length, extension, min(b.mass for b in held if not b.fixed), gravity)
        made = in_place(field, law, mounting, lambda text: self.note(f"{field}: {text}"))
        return Mounted(made, mounting)


def in_place(field: str, what: Callable[..., T], *inputs: Any) -> T:
    """A law worked out, with the place of its faults.

    Args:
        field: of the rig.
        what: makes the law.
        inputs: of it.

    Raises:
        RigError: with the field of the figures that are wrong.
    """
    try:
        return what(*inputs)
    except RigError as error:
        faults = [replace(f, field=f"{field}.{f.field}".rstrip(".")) for f in error.faults]
        raise RigError(faults) from None
