"""The cut list: what is cut off which stock, how long, and the plan by which it comes off it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from simprop.assembly.types import Assembly
from simprop.catalog.stock import stock_length
from simprop.making.numbers import Numbered, PartNumbers, part_numbers
from simprop.making.offcuts import CutPlan, cut_plan
from simprop.making.pieces import Piece
from simprop.making.stacks import Pierced, fixings
from simprop.parts.part import Panel, Stock

EYE = 1.5
"""A part narrower than so many bolts has no room for their hole, and ends in an eye (assumed)."""
ALIKE = 1e-5
"""Stock whose sizes differ by less is the same stock, m."""


@dataclass(frozen=True)
class Off:
    """All that comes off one stock.

    Attributes:
        stock: of the first part; of the others but for the length.
        length: of the stock as sold, m.
        kerf: what a saw takes with each cut, m.
        stated: the rig states the length.
        source: where length and kerf come from.
        parts: cut off it, in the order of their numbers.
        lengths: of each piece to cut, m.
        numbers: number of the part that each piece belongs to.
        plan: which pieces come off which length, by indices of `lengths`.
    """

    stock: Stock
    length: float
    kerf: float
    stated: bool
    source: str
    parts: tuple[Numbered, ...]
    lengths: tuple[float, ...]
    numbers: tuple[int, ...]
    plan: CutPlan


@dataclass(frozen=True)
class CutList:
    """What is cut.

    Attributes:
        numbers: the parts of the prop.
        off: what comes off stock that is sold by length.
        panels: what is cut out of sheets and boards, with its size.
        others: what is shaped, bought or found.
        eyes: by the number of a part, the joints at whose middle it ends without a hole: by an eye or a rod end.
    """

    numbers: PartNumbers
    off: tuple[Off, ...]
    panels: tuple[tuple[Numbered, Panel], ...]
    others: tuple[Numbered, ...]
    eyes: Mapping[int, tuple[str, ...]]


def cut_list(assembly: Assembly, inches: bool = False) -> CutList:
    """What is cut off which stock.

    Args:
        assembly: the prop.
        inches: the stock is sold by feet; else by metres. What the rig states goes before.

    Example:
        >>> import simprop
        >>> from simprop.assembly.assemble import assemble
        >>> rig = simprop.parse_rig('''
        ... rig: 1
        ... name: A rod
        ... bodies: {post: {fixed: true, parts: [{rod: 8 mm, of: steel, from: 0 0 0 mm, to: 0 0 300 mm}]}}
        ... run: {for: 1 s}
        ... ''')
        >>> off = cut_list(assemble(rig)).off[0]
        >>> off.stock.sort, off.length, off.lengths
        ('rod', 2.0, (0.3,))
    """
    numbers = part_numbers(assembly)
    rows: dict[tuple[object, ...], list[tuple[Numbered, Stock]]] = {}
    panels, others = [], []
    for part in numbers.parts:
        cut = part.pieces[0].cut_from
        if isinstance(cut, Stock):
            key = (cut.sort, cut.of, cut.name, *(round(size / ALIKE) for size in cut.sizes))
            rows.setdefault(key, []).append((part, cut))
        elif isinstance(cut, Panel):
            panels.append((part, cut))
        else:
            others.append(part)
    off = tuple(_off(assembly, inches, own) for own in rows.values())
    return CutList(numbers, off, tuple(panels), tuple(others), _eyes(assembly, numbers))


def _eyes(assembly: Assembly, numbers: PartNumbers) -> dict[int, tuple[str, ...]]:
    """The joints at whose middle each part ends without a hole, by an eye or a rod end."""
    found: dict[int, tuple[str, ...]] = {}
    for fixing in fixings(assembly):
        hold = fixing.hold
        if fixing.sort != "joint" or hold is None or not hold.PIVOT:
            continue
        for layer in fixing.layers:
            for pierced in layer.parts[:1]:
                number = numbers.of[layer.body, pierced.part]
                pieces = numbers.parts[number - 1].pieces
                piece = next(p for p in pieces if p.place == (layer.body, pierced.part))
                eyed = pierced.across and (hold.EYED or pierced.width < EYE * (hold.diameter or 0.0))
                if eyed and _ends_at(piece, pierced) and all(h.joint != fixing.name for h in piece.holes):
                    found[number] = tuple(dict.fromkeys((*found.get(number, ()), fixing.name)))
    return found


def _ends_at(piece: Piece, pierced: Pierced) -> bool:
    """Whether a part ends where something goes through it, to within its width."""
    along = pierced.along
    return along is not None and min(along, piece.drawn - along) < pierced.width


def _off(assembly: Assembly, inches: bool, rows: list[tuple[Numbered, Stock]]) -> Off:
    stock = rows[0][1]
    sold, own = stock_length(stock.sort), assembly.rig.stock.get(stock.sort)
    stated = own is not None and own.length is not None
    length = (
        own.length if own is not None and own.length is not None else sold.inch if inches else sold.metric
    )
    kerf = sold.kerf if own is None or own.kerf is None else own.kerf
    pieces = list(_pieces(rows))
    lengths = tuple(length for _, length in pieces)
    return Off(
        stock,
        length,
        kerf,
        stated,
        "as the rig says" if stated else sold.source,
        tuple(part for part, _ in rows),
        lengths,
        tuple(number for number, _ in pieces),
        cut_plan(lengths, length, kerf),
    )


def _pieces(rows: list[tuple[Numbered, Stock]]) -> Iterator[tuple[int, float]]:
    for part, _ in rows:
        for piece in part.pieces:
            for length in piece.lengths:
                yield part.number, length
