"""What pipes are cut to: from middle to middle of their fittings, less what the fittings keep."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from simprop.geometry.arrays import Array
from simprop.parts.part import NEAR, Shape


@dataclass(frozen=True)
class CutPipe:
    """A pipe as drawn, and what it is cut to.

    Attributes:
        part: index of the part.
        name: label of the part.
        outside: diameter, m.
        drawn: length as drawn, along its corners, m.
        spans: where each piece to cut begins and ends along it, m from its first point; more than one where a fitting
            sits on it that it doesn't run through.
    """

    part: int
    name: str
    outside: float
    drawn: float
    spans: tuple[tuple[float, float], ...]

    @property
    def pieces(self) -> tuple[float, ...]:
        """Length of each piece to cut, m."""
        return tuple(cut_length(end, start) for start, end in self.spans)


def cut_length(middles: float, *kept: float) -> float:
    """What a pipe between two fittings is cut to, m.

    Args:
        middles: from the middle of one fitting to that of the other, m.
        kept: how far from its middle each of the two keeps the end of a pipe, m.

    Returns:
        Never below 0.

    Source: geometry; the laying length of a fitting is from its middle to the bottom of its socket.

    Example:
        >>> round(cut_length(0.5, 0.0127, 0.0127), 4)
        0.4746
    """
    return max(middles - sum(kept), 0.0)


def cut_pipes(shapes: Sequence[Shape]) -> tuple[CutPipe, ...]:
    """What each pipe of a body is cut to; pipes at which no fitting sits are as long as drawn.

    Args:
        shapes: the parts of a body.
    """
    return tuple(
        CutPipe(i, shape.name, shape.fitted, shape.laid, tuple(_spans(shape, shape.fitted, shapes)))
        for i, shape in enumerate(shapes)
        if shape.fitted is not None
    )


def _spans(shape: Shape, outside: float, shapes: Sequence[Shape]) -> Iterator[tuple[float, float]]:
    """Stretches between what interrupts a pipe: its ends and the fittings on it."""
    path, near = shape.path, NEAR * outside
    length = shape.laid
    first, last = _unit(path[1] - path[0]), _unit(path[-1] - path[-2])
    begin, end, cuts = 0.0, length, []
    for hub in (s for s in shapes if s.knot is not None):
        middle = hub.path[0]
        ahead, behind = hub.takes(first), hub.takes(-last)
        at_start = float((middle - path[0]) @ first)
        at_end = float((middle - path[-1]) @ last)
        if ahead is not None and np.linalg.norm(path[0] + at_start * first - middle) < near > abs(at_start):
            begin = at_start + ahead
        elif behind is not None and np.linalg.norm(path[-1] + at_end * last - middle) < near > abs(at_end):
            end = length + at_end - behind
        elif len(path) == 2 and ahead and behind and near < at_start < length - near:
            off = float(np.linalg.norm(path[0] + at_start * first - middle))
            cuts += [(at_start - behind, at_start + ahead)] if off < near else []
    for stop, go in sorted(cuts):
        yield begin, stop
        begin = go
    yield begin, end


def _unit(line: Array) -> Array:
    return np.asarray(line / np.linalg.norm(line))
