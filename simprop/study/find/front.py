"""Of several goals: the variants that no other beats, and a few of them that stand for all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simprop.study.find.wanted import Candidate, Wanted, aims


def front(wanted: Wanted, tried: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """The Pareto set: variants that hold and that no other beats in one goal without losing in another.

    Args:
        wanted: with the goals.
        tried: any variants.

    Returns:
        In the order of the first goal; of equal ones the first.
    """
    holding = [one for one in tried if one.holds and one.variant.sets]
    values = [aims(wanted, one) for one in holding]
    kept = dict[tuple[float, ...], Candidate]()
    for one, own in zip(holding, values, strict=True):
        if not any(_beats(other, own) for other in values):
            kept.setdefault(own, one)
    return tuple(kept[own] for own in sorted(kept))


def _beats(one: Sequence[float], other: Sequence[float]) -> bool:
    """Whether one is nowhere worse than the other and somewhere better."""
    pairs = list(zip(one, other, strict=True))
    return all(a <= b for a, b in pairs) and any(a < b for a, b in pairs)


def spread(wanted: Wanted, found: Sequence[Candidate], few: int) -> tuple[Candidate, ...]:
    """A few of a front that lie far apart in their goals.

    First the one nearest to the best of each goal, then always the one that is farthest from those taken.

    Args:
        wanted: with the goals.
        found: a front.
        few: how many at most.

    Returns:
        The middle one first, then the others in the order of the first goal.
    """
    if not found:
        return ()
    values = np.array([aims(wanted, one) for one in found])
    low, wide = values.min(axis=0), np.ptp(values, axis=0)
    shares = (values - low) / np.where(wide > 0.0, wide, 1.0)
    taken = [int(np.argmin(np.linalg.norm(shares, axis=1)))]
    while len(taken) < min(few, len(found)):
        apart = np.linalg.norm(shares[:, None] - shares[taken], axis=2).min(axis=1)
        taken.append(int(np.argmax(apart)))
    return (found[taken[0]], *(found[k] for k in sorted(taken[1:])))
