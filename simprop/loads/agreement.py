"""Two engines on one prop: each peak side by side, and what to think of a difference."""

from __future__ import annotations

from dataclasses import dataclass

from simprop.loads.joints import JointLoads, Peak, all_peaks

AGREES = 0.02
"""Relative difference of a peak between two engines above which it is flagged."""
SMALL = 0.02
"""Peaks under this share of the largest of their kind are measured against that share."""


@dataclass(frozen=True)
class Pair:
    """One peak by two engines.

    Attributes:
        key: of the peak.
        one: by the first engine.
        two: by the second engine.
        difference: relative to the larger of the two (or to a small share of the largest peak of its kind).
        flagged: True when they differ by more than 2 %.
        reason: for a flagged pair, the likely reason.
    """

    key: str
    one: Peak
    two: Peak
    difference: float
    flagged: bool
    reason: str


def side_by_side(one: JointLoads, two: JointLoads) -> list[Pair]:
    """Every peak of two runs of the same prop, paired.

    Args:
        one: by the first engine.
    """
    second = {p.key: p for p in all_peaks(two)}
    pairs = []
    for first in all_peaks(one):
        other = second.get(first.key)
        if other is None:  # a start that the other engine's run doesn't tell apart
            continue
        largest = max(p.value for p in all_peaks(one) if p.kind == first.kind)
        scale = max(first.value, other.value, first.of, SMALL * largest, 1e-9)
        difference = abs(first.value - other.value) / scale
        flagged = difference > AGREES
        pairs.append(
            Pair(first.key, first, other, difference, flagged, _reason(first, other) if flagged else "")
        )
    return pairs


def _reason(one: Peak, two: Peak) -> str:
    unsettled = [p for p in (one, two) if p.band is not None and not p.band.settled]
    if unsettled:
        return "not settled at the finest step"
    if one.band is None or two.band is None:
        return "only one step was run"
    if abs(one.time - two.time) > 0.02:
        return "the peaks are different events of the run: small differences in timing choose between them"
    if abs(one.value - two.value) <= one.band.change + two.band.change:
        return "within the two bands"
    return "a blow, or a motor that reverses at another instant: each engine times it a little differently"
