"""What is bought for a bolt: its length from what it goes through, its nut, washers, spacers and sleeves."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil
from typing import Protocol

from simprop.catalog.bolts import NUTS, BoltSizes, bolt_length, bolt_sizes, inch_words
from simprop.catalog.bought import Bought, Grip


class Bolts(Protocol):
    """What is asked of bolts: see `simprop.fasteners.bolt.Bolt`."""

    @property
    def size(self) -> str:
        """Such as ``M6``."""

    @property
    def count(self) -> int:
        """How many."""

    @property
    def grade(self) -> str | None:
        """Of their steel."""

    @property
    def nut(self) -> str | None:
        """What keeps them on."""

    @property
    def sleeve(self) -> bool:
        """A sleeve carries the pivot."""

    @property
    def gap(self) -> float:
        """Between two parts, m."""

    @property
    def diameter(self) -> float:
        """Of each, m."""


SPACED = 2.5
"""A gap as wide as so many washers, or wider, is filled by a spacer."""
EYE = 1.5
"""A part narrower than so many bolts has no room for the bolt's hole: it needs an eye."""
UNDONE = "lock nuts are renewed when undone"
SLEEVE = "worn by turning"


def bolted(hold: Bolts, grip: Grip) -> tuple[Bought, ...]:
    """What one place held by bolts takes.

    Args:
        hold: the bolts.
        grip: what they go through.
    """
    sizes = bolt_sizes(hold.size)
    between = _between(hold, grip, sizes)
    return (
        _bolt(hold, grip, sizes, stack(hold, grip)),
        *_nuts(hold, grip, sizes),
        Bought(
            "nuts and washers",
            f"plain washer for {sizes.name}",
            hold.count * (2 + sum(n for n, _ in between)),
        ),
        *_spacers(hold, sizes, between),
        *_sleeves(hold, grip, sizes),
    )


def stack(hold: Bolts, grip: Grip) -> float | None:
    """Thickness of all between head and nut, washers and all, m; None where it can't be told.

    Args:
        hold: the bolts.
        grip: what they go through.
    """
    if grip.unknown or not grip.thick:
        return None
    sizes = bolt_sizes(hold.size)
    between = sum(n * sizes.washer + spacer for n, spacer in _between(hold, grip, sizes))
    return sum(grip.thick) + between + 2 * sizes.washer


def _between(hold: Bolts, grip: Grip, sizes: BoltSizes) -> list[tuple[int, float]]:
    """Washers, and length of a spacer, in each gap between what it goes through."""
    if not grip.moving:
        return [(0, gap) for gap in grip.apart if gap > 0.0]
    gaps = [max(gap, hold.gap) for gap in grip.apart]
    return [
        (2, gap - 2 * sizes.washer)
        if gap > SPACED * sizes.washer
        else (max(1, ceil(gap / sizes.washer - 1e-6)), 0.0)
        for gap in gaps
    ]


def _bolt(hold: Bolts, grip: Grip, sizes: BoltSizes, whole: float | None) -> Bought:
    grade = f", {'grade' if sizes.inch else 'class'} {hold.grade}" if hold.grade else ""
    word = "machine screw, hexagon head," if sizes.name in ("8-32", "10-24") else "hexagon bolt"
    length = None if whole is None else bolt_length(sizes, whole, hold.nut)
    note = list(_told(hold, grip, sizes, whole, length))
    if length is None:
        return Bought(
            "bolts", f"{word} {sizes.name}, length not told{grade}", hold.count, note="; ".join(note)
        )
    size = inch_words(length) if sizes.inch else f"{1e3 * length:.0f} mm"
    return Bought("bolts", f"{word} {sizes.name} x {size}{grade}", hold.count, note="; ".join(note))


def _told(
    hold: Bolts, grip: Grip, sizes: BoltSizes, whole: float | None, length: float | None
) -> Iterator[str]:
    if grip.unknown:
        yield f"length: {grip.unknown}"
    elif length is None:
        yield f"nothing so long is sold ({1e3 * (whole or 0.0):.0f} mm to clamp): threaded rod with a nut at each end"
    elif length > sizes.usual + 1e-9:
        yield f"longer than usual ({1e3 * sizes.usual:.0f} mm): ask for it, or threaded rod with a nut at each end"
    if grip.assumed and not grip.unknown:
        yield grip.assumed
    if grip.slim is not None and grip.slim < EYE * hold.diameter:
        yield f"the part there is only {1e3 * grip.slim:.3g} mm wide: bend or weld an eye on it"
    if grip.stands_for:
        yield f"{grip.stands_for} drawn there is this bolt itself, or is tapped for it"
    if hold.grade is None:
        yield "grade not stated"


def _nuts(hold: Bolts, grip: Grip, sizes: BoltSizes) -> Iterator[Bought]:
    count = hold.count * NUTS[hold.nut or "plain"]
    words = {
        "nylon insert": f"lock nut {sizes.name} with nylon insert",
        "double": f"plain nut {sizes.name}",
        "castle and split pin": f"castle nut {sizes.name}",
        "plain": f"plain nut {sizes.name}",
        "plain and thread locker": f"plain nut {sizes.name}",
        "wing": f"wing nut {sizes.name}",
        None: f"nut {sizes.name}, kind not stated",
    }
    wears = UNDONE if hold.nut == "nylon insert" and grip.moving else ""
    note = "two locked against each other" if hold.nut == "double" else ""
    yield Bought("nuts and washers", words[hold.nut], count, wears=wears, note=note)
    if hold.nut == "castle and split pin":
        yield Bought("nuts and washers", f"split pin for {sizes.name}", hold.count, wears="used once")
    if hold.nut == "plain and thread locker":
        yield Bought("glue and welds", "thread locker, medium", 1)


def _spacers(hold: Bolts, sizes: BoltSizes, between: list[tuple[int, float]]) -> Iterator[Bought]:
    for _, spacer in between:
        if spacer > 1e-4:
            words = f"spacer for {sizes.name}, {1e3 * spacer:.1f} mm long".replace(".0 mm", " mm")
            yield Bought("bearings and spacers", words, hold.count)


def _sleeves(hold: Bolts, grip: Grip, sizes: BoltSizes) -> Iterator[Bought]:
    if hold.sleeve:
        long = (
            ""
            if grip.unknown or not grip.thick
            else f", {1e3 * grip.thick[grip.turns]:.1f} mm long".replace(".0 mm", " mm")
        )
        words = f"sleeve or bushing, bore for {sizes.name}{long}"
        yield Bought("bearings and spacers", words, hold.count, wears=SLEEVE, note="in the part that turns")
