"""Which pieces come off which length of stock: the fewest lengths, and the offcuts in as few long ends as can be.

The plan is an integer programme over the ways to cut one length, solved by HiGHS in scipy, which the package needs
anyway: it proves that no plan takes fewer lengths, where packing libraries of one dimension search by rules of thumb.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import ceil
from typing import Any

import numpy as np

UNIT = 1e-4
"""Lengths are counted in these, m."""
MOST_WAYS = 3_000
"""Ways to cut one length that are looked at; beyond that the plan isn't proven to be the least."""
MOST_NODES = 2_000
"""Branches that the solver looks at: a number of them, not a time, so that the same pieces give the same plan."""


@dataclass(frozen=True)
class Cut:
    """One length of stock and what is cut off it.

    Attributes:
        pieces: indices of the pieces, in the order in which they were handed in.
        left: what is left of it behind the last cut, m.
    """

    pieces: tuple[int, ...]
    left: float


@dataclass(frozen=True)
class CutPlan:
    """How pieces are cut off lengths of stock.

    Attributes:
        cuts: one for each length, fullest first.
        proven: no plan takes fewer lengths.
        too_long: indices of pieces that are longer than a length of stock.
    """

    cuts: tuple[Cut, ...]
    proven: bool
    too_long: tuple[int, ...] = ()


def first_fit(pieces: Sequence[float], stock: float, kerf: float = 0.0) -> tuple[tuple[int, ...], ...]:
    """Pieces put, longest first, on the first length that has room for them: indices of each length's pieces.

    Args:
        pieces: lengths, m, none longer than the stock.
        stock: length of the stock, m.
        kerf: what a saw takes between two pieces, m.

    Source: first-fit decreasing, any text on bin packing.

    Example:
        >>> first_fit([1.0, 2.0, 1.4], 3.0)
        ((1, 0), (2,))
    """
    sizes, room = _whole(pieces, stock, kerf)
    bars: list[list[int]] = []
    for i in sorted(range(len(sizes)), key=lambda k: (-sizes[k], k)):
        bar = next((b for b in bars if sum(sizes[k] for k in b) + sizes[i] <= room), None)
        if bar is None:
            bars.append([i])
        else:
            bar.append(i)
    return tuple(map(tuple, bars))


def cut_plan(pieces: Sequence[float], stock: float, kerf: float = 0.0) -> CutPlan:
    """The plan that takes the fewest lengths, and of those the one whose offcuts are longest.

    Args:
        pieces: lengths, m.
        stock: length of the stock, m.
        kerf: what a saw takes between two pieces, m.

    Source: cutting stock by patterns (Gilmore and Gomory), all patterns listed; any text on integer programming.

    Example:
        >>> plan = cut_plan([1.4, 1.4, 0.8, 0.8, 0.8, 0.8], 3.0)
        >>> [cut.pieces for cut in plan.cuts], plan.proven
        ([(0, 2, 3), (1, 4, 5)], True)
    """
    long = tuple(i for i, piece in enumerate(pieces) if round(piece / UNIT) > round(stock / UNIT))
    own = [i for i in range(len(pieces)) if i not in long]
    if not own:
        return CutPlan((), True, long)
    sizes, room = _whole([pieces[i] for i in own], stock, kerf)
    rough = first_fit([pieces[i] for i in own], stock, kerf)
    kinds = sorted(Counter(sizes).items(), reverse=True)
    least = ceil(sum(sizes) / room)
    bars, proven = _solved(kinds, room, [Counter(sizes[k] for k in bar) for bar in rough], least)
    stacks = {size: [own[k] for k in range(len(own)) if sizes[k] == size][::-1] for size, _ in kinds}
    cuts, saw = [], round(kerf / UNIT)
    for bar in bars:
        taken = tuple(
            stacks[size].pop() for size, count in sorted(bar.items(), reverse=True) for _ in range(count)
        )
        cuts.append(Cut(taken, max(room - saw - sum(s * n for s, n in bar.items()), 0) * UNIT))
    return CutPlan(tuple(sorted(cuts, key=lambda cut: (cut.left, cut.pieces))), proven, long)


def _whole(pieces: Sequence[float], stock: float, kerf: float) -> tuple[list[int], int]:
    """Pieces with a cut each, and a length with one cut more, so that n pieces need n - 1 cuts, in `UNIT`."""
    cut = round(kerf / UNIT)
    return [round(piece / UNIT) + cut for piece in pieces], round(stock / UNIT) + cut


Kinds = Sequence[tuple[int, int]]
"""Size and number of the pieces of each size, longest first."""


def _ways(kinds: Kinds, room: int) -> Iterator[tuple[int, ...]]:
    """All ways to cut one length, fullest of the longest first."""
    if not kinds:
        yield ()
        return
    (size, many), rest = kinds[0], kinds[1:]
    for count in range(min(many, room // size), -1, -1):
        for tail in _ways(rest, room - count * size):
            yield (count, *tail)


def _solved(
    kinds: Kinds, room: int, rough: Sequence[Counter[int]], least: int
) -> tuple[list[Counter[int]], bool]:
    """The pieces of each length of the best plan found, and whether no plan takes fewer."""
    ways: list[tuple[int, ...]] = []
    whole, tight = True, len(rough) == least
    for way in _ways(kinds, room):
        if any(way):
            ways.append(way)
        if len(ways) >= MOST_WAYS:
            whole = False
            break
    if tight and not whole:
        return list(rough), True
    known = [tuple(bar[size] for size, _ in kinds) for bar in rough]
    ways += [way for way in dict.fromkeys(known) if not whole and way not in ways]
    table = np.array(ways, dtype=float).T
    wanted = np.array([many for _, many in kinds], dtype=float)
    left = (room - np.array([size for size, _ in kinds]) @ table) / room
    count, ended = len(rough), True
    found = None
    if not tight:
        found, ended = _least(np.ones(len(ways)), table, wanted)
        if found is None or found.sum() > count:
            return list(rough), False
        count = int(found.sum())
    # Of the plans with so few lengths: the squares of the offcuts as large as can be; ties go by the order of the ways.
    cost = -(left**2) + 1e-6 * np.arange(len(ways)) / len(ways)
    tidy, _ = _least(cost, np.vstack([table, np.ones(len(ways))]), np.append(wanted, count))
    chosen = found if tidy is None else tidy
    if chosen is None:
        return list(rough), True
    bars = [
        Counter({size: n for (size, _), n in zip(kinds, ways[k], strict=True) if n})
        for k in np.flatnonzero(chosen)
        for _ in range(int(chosen[k]))
    ]
    return bars, count == least or (whole and ended)


def _least(cost: Any, table: Any, wanted: Any) -> tuple[Any, bool]:
    """Whole numbers of each way that cut just what is wanted at the least cost; None if none was found."""
    from scipy.optimize import LinearConstraint, milp

    result = milp(
        cost,
        integrality=np.ones(len(cost)),
        constraints=LinearConstraint(table, wanted, wanted),
        options={"node_limit": MOST_NODES, "mip_rel_gap": 0.0},
    )
    return (None if result.x is None else np.round(result.x).astype(int)), result.status == 0
