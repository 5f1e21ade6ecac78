"""What each part is sawn to: as drawn, with what stands behind its holes, less what fittings keep."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from simprop.assembly.cut_lengths import cut_length, cut_pipes
from simprop.assembly.types import Assembly, BodyData
from simprop.making.holes import Hole, Place, holes, left_behind
from simprop.parts.kinds import Borne
from simprop.parts.part import Panel, Shape, Stock

BUILT = ("plain", "post", "board")
"""Looks of what is built of stock; all else is shaped, bought or found."""


@dataclass(frozen=True)
class Piece:
    """A part that is built, and what it is cut to.

    Attributes:
        place: which.
        shape: as drawn, in the frame of its body.
        cut_from: what it is cut from; None of what is shaped, bought or found.
        drawn: its length as drawn, m.
        behind: what is left behind a hole at its beginning and at its end beyond what is drawn, m.
        spans: where along it, from its first point as drawn, each piece of it begins and ends, m: more than one where a
            fitting parts it.
        holes: across it, in the order of the joints.
    """

    place: Place
    shape: Shape
    cut_from: Stock | Panel | None
    drawn: float
    behind: tuple[float, float]
    spans: tuple[tuple[float, float], ...]
    holes: tuple[Hole, ...]

    @property
    def lengths(self) -> tuple[float, ...]:
        """What it is cut to, m; () of what isn't cut by length."""
        cut = isinstance(self.cut_from, Stock)
        return tuple(cut_length(end, start) for start, end in self.spans) if cut else ()

    @property
    def kept(self) -> float:
        """What fittings keep of it, m: from their middles to the ends of the pipe."""
        return max(self.drawn + sum(self.behind) - sum(self.lengths), 0.0) if self.lengths else 0.0


def pieces_of(assembly: Assembly) -> dict[Place, Piece]:
    """What is built and what it is cut to; scenery, and weights of springs and the like, are left out.

    A part that is drawn to a hole, less than the hole's width from its end, goes on behind it: as far as the fastener
    states its `edge`, else 2 holes' widths in metal and 3 in wood and plastic (see `rules.tube_holes.least_edge`).

    Args:
        assembly: the prop.
    """
    drilled = holes(assembly)
    found = {}
    for body in assembly.drawn:
        if not body.scenery:
            for piece in _of_body(assembly, body, drilled):
                found[piece.place] = piece
    return found


def _of_body(
    assembly: Assembly, body: BodyData, drilled: Mapping[Place, tuple[Hole, ...]]
) -> Iterator[Piece]:
    pipes = {pipe.part: pipe.spans for pipe in cut_pipes(body.shapes)}
    for i, (record, shape) in enumerate(zip(assembly.rig.bodies[body.name].parts, body.shapes, strict=True)):
        if isinstance(record, Borne):
            continue
        place = (body.name, i)
        cut, own = shape.cut_from if shape.looks in BUILT else None, drilled.get(place, ())
        behind = left_behind(shape, own)
        drawn = cut.length if isinstance(cut, Stock) else shape.laid
        if isinstance(cut, Panel):
            cut = _lengthened(cut, shape.laid, sum(behind))
        rows = [list(span) for span in pipes.get(i, ((0.0, drawn),))]
        rows[0][0] -= behind[0]
        rows[-1][1] += behind[1]
        yield Piece(place, shape, cut, drawn, behind, tuple((start, end) for start, end in rows), own)


def _lengthened(panel: Panel, laid: float, more: float) -> Panel:
    """A strip as much longer than it is drawn as holes at its ends ask for, m."""
    if not more:
        return panel
    other = panel.size[1] if abs(panel.size[0] - laid) < 1e-9 else panel.size[0]
    return replace(panel, size=(max(laid + more, other), min(laid + more, other)))
