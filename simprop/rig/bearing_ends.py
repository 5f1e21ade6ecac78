"""The weight of springs and pushers, borne by the bodies at their ends."""

from __future__ import annotations

from collections.abc import Mapping

from simprop.drives.kinds import Pusher
from simprop.forces.springs import Line, Spring
from simprop.parts.kinds import Body, Borne
from simprop.quantities import show
from simprop.reading.fields import Point

SEEN = 0.004
"""Diameter at which such a weight is drawn, m: within the hook."""


def shares(mass: float, still: tuple[bool, bool]) -> tuple[float, float]:
    """What each end of something long and even takes of its mass, kg.

    A third of it moves with an end whose other end stands still; the rest, which hardly moves, stands there, so that
    all of it is weighed. Where both move, or neither does, each takes a half.

    Args:
        mass: kg.
        still: whether each end stands still.

    Source: the mass matrix of a bar whose speed goes evenly from end to end, m / 3 and m / 6; Rayleigh's third.

    Example:
        >>> [round(share, 3) for share in shares(0.3, (True, False))], shares(0.3, (False, False))
        ([0.2, 0.1], (0.15, 0.15))
    """
    if still == (True, False):
        return 2 * mass / 3, mass / 3
    if still == (False, True):
        return mass / 3, 2 * mass / 3
    return mass / 2, mass / 2


def borne(
    bodies: Mapping[str, Body], springs: Mapping[str, Spring], pushers: Mapping[str, Pusher]
) -> tuple[dict[str, Body], list[str]]:
    """The bodies with the weights that hang on their ends, and what there is to say of each.

    Args:
        bodies: of a rig.
        springs: of the rig.
        pushers: of the rig.
    """
    found, told = dict(bodies), []
    rows: list[tuple[str, str, Line | Pusher | None, float, str]]
    rows = [("springs", name, spring.line(), spring.mass, "") for name, spring in springs.items()]
    rows += [("pushers", name, pusher, pusher.weight, pusher.class_words) for name, pusher in pushers.items()]
    for section, name, line, mass, words in rows:
        if line is None or mass <= 0:
            continue
        first, second = line.between
        still = found[first].still, found[second].still
        parts = (mass / 2, mass / 2) if section == "pushers" else shares(mass, still)
        for body, place, share in zip((first, second), (line.start, line.end), parts, strict=True):
            found[body] = _with(found[body], f"{section[:-1]} {name}", place, share)
        said = "a half at each end"
        if parts[0] != parts[1]:
            more = show(mass / 6, "mass", 2)
            said = f"a third at the end that moves, as it swings, the rest stands (at rest {more} more hang on it)"
        told.append(f"{section}.{name}: {show(mass, 'mass')}, {said}{words}")
    return found, told


def _with(body: Body, name: str, place: Point, mass: float) -> Body:
    part = Borne.model_construct(weight=mass, at=place, name=name, across=SEEN)
    return body.model_copy(update={"parts": (*body.parts, part)})
