"""Checks under several sets of loads, brought down to the worst of each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import inf

from simprop.checking.check import Check


def harder(calm: Sequence[Check], blown: Sequence[Check], words: str) -> list[Check]:
    """Checks under one set of loads, each under another set where that leaves it a lower margin.

    What couldn't be computed under either is told as not computed. Creep is judged under the first: the others (a wind,
    a worst case) don't last all season.

    Args:
        calm: checks under the loads of every night.
        blown: the same under other loads, of one sort or several.
        words: what is assumed of those.

    Example:
        >>> from simprop.checking.check import judge
        >>> one, two = (judge("member", "bending", "arm", x, 8.0, unit="Pa", factor=1.0) for x in (2.0, 4.0))
        >>> [(c.margin, c.assumed) for c in harder([one], [two], "in the wind")]
        [(2.0, ('in the wind',))]
    """
    others = {key: _lowest(rows) for key, rows in _grouped(blown).items() if "creep" not in key[1]}
    least: dict[tuple[str, str], float] = {}
    for check in (*calm, *blown):
        for r in check.remedies:
            spot = (_key(check)[2], r.change)
            least[spot] = min(r.margin, least.get(spot, inf))
    found = []
    for check in calm:
        other = others.pop(_key(check), None)
        if other is not None and _worse(other, check):
            check = _under(other, words)
        changes = (replace(r, margin=least[_key(check)[2], r.change]) for r in check.remedies)
        found.append(replace(check, remedies=tuple(changes)))
    # what has no margin here and there is told once; a life is judged by the loads of every night alone
    return [
        *found,
        *(_under(c, words) for c in others.values() if c.margin is not None or c.group != "fatigue"),
    ]


def _grouped(checks: Sequence[Check]) -> dict[tuple[str, str, str], list[Check]]:
    found: dict[tuple[str, str, str], list[Check]] = {}
    for check in checks:
        if check.verdict != "warning":
            found.setdefault(_key(check), []).append(check)
    return found


def _lowest(checks: Sequence[Check]) -> Check:
    """The one of the same checks with the lowest margin; what couldn't be computed counts as lower than any."""
    return min(checks, key=lambda c: -inf if c.margin is None else c.margin)


def _worse(other: Check, check: Check) -> bool:
    if check.margin is None:
        return False
    return other.group != "fatigue" if other.margin is None else other.margin < check.margin


def _under(check: Check, words: str) -> Check:
    """A check with what was assumed of its loads; where it couldn't be made, the reason says it."""
    if check.margin is None:
        return replace(check, reason=f"{check.reason} ({words})")
    return replace(check, assumed=(*check.assumed, words))


def _key(check: Check) -> tuple[str, str, str]:
    """What a check is of, wherever along a member it is worst."""
    place = check.place.rsplit(", ", 1)[0] if check.place.endswith("from its start") else check.place
    return check.group, check.name.split(" beside ")[0], place
