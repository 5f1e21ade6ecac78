"""Swept envelope, gaps that close, speed, energy and pressing force where visitors can reach: warnings to judge."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import Assembly, BodyData
from simprop.checking.check import Check, warning
from simprop.checking.checks import Checks
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex
from simprop.geometry.gaps import gap_over
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rig.site import Visitors
from simprop.rules import reach
from simprop.strength.checks.press import Power, Press

SAMPLES = 240
"""Instants of a run at which gaps are looked at."""
CLEAR_OF_JOINT = 0.12
"""Around a joint two parts always touch; gaps count from this far on: an arm's thickness, m."""
SIDES = {"-y": (1, -1.0), "y": (1, 1.0), "-x": (0, -1.0), "x": (0, 1.0)}
"""Axis and sense of each side that visitors may come from."""
STILL = 0.003
"""A gap that changes less than this is no pinch point, m."""
LEG_HEIGHT = 0.6
"""Toes, feet and legs count only for gaps that reach lower than this above z = 0, m. Assumed."""
_ROWS = 2000
"""Instants of a run at which the outline of a body is placed."""
_WAYS = 400
"""Directions in which the outline of a body with many corners is kept: a ball is 0.2 % short between two of them."""


@dataclass(frozen=True)
class Envelope:
    """Where a moving body goes, and how hard.

    Attributes:
        body: its name.
        low: lowest x, y, z, (3,) m.
        high: highest x, y, z, (3,) m.
        speed: highest speed of any of its points, m/s.
        energy: highest kinetic energy, J.
        press: what can press at its fastest point, the strongest first.
        fence: for each side that visitors come from, how far from the origin a fence keeps arms off, m.
        reachable: visitors can reach it over the fence that is stated.
    """

    body: str
    low: Array
    high: Array
    speed: float
    energy: float
    press: Press
    fence: dict[str, float]
    reachable: bool


@dataclass(frozen=True)
class ReachCase:
    """Where the moving bodies of a run go.

    Attributes:
        loads: of the run.
        envelopes: of each moving body that is drawn.
        assumed: what was assumed.
    """

    loads: JointLoads
    envelopes: tuple[Envelope, ...]
    assumed: tuple[str, ...]

    @property
    def reachable(self) -> list[Envelope]:
        """Those that visitors can reach."""
        return [e for e in self.envelopes if e.reachable]


REACH_CHECKS: Checks[ReachCase] = Checks()
"""The checks of what visitors can reach: warnings for a person to judge."""


def reach_checks(loads: JointLoads) -> tuple[tuple[Check, ...], tuple[Envelope, ...]]:
    """Warnings about gaps, forces and energies in reach, and the envelope of each moving body."""
    bodies, visitors = loads.recording.assembly.bodies, loads.recording.assembly.rig.visitors
    power = Power(loads)
    found: dict[str, list[Envelope]] = {}
    for i, b in enumerate(bodies):
        if not b.fixed and b.shapes:
            found.setdefault(b.called, []).append(_envelope(loads, i, visitors or Visitors(), power))
    envelopes = tuple(_joined(pieces) for pieces in found.values())
    assumed = () if visitors is not None else ("everything is in reach (`visitors` isn't stated)",)
    if visitors is not None and visitors.barrier is not None and visitors.height < reach.FENCE_HEIGHTS[0]:
        assumed = ("a fence under 1 m keeps nobody off (ISO 13857, from memory)",)
    return tuple(REACH_CHECKS(ReachCase(loads, envelopes, assumed))), envelopes


@REACH_CHECKS.add
def pressing_force(case: ReachCase) -> list[Check]:
    """One warning for each drive, or the springs and weights, that press harder than the cautious line in reach.

    Args:
        case: the run.
    """
    hard = [e for e in case.reachable if (e.press.force or 0.0) > reach.VISITOR_FORCE]
    by = dict.fromkeys(e.press.by for e in hard)
    return [_force([e for e in hard if e.press.by == name], case.assumed) for name in by]


def _force(found: list[Envelope], assumed: tuple[str, ...]) -> Check:
    worst = max(found, key=lambda e: e.press.force or 0.0)
    force = worst.press.force or 0.0
    over = [part for part, limit in reach.CONTACT_FORCES.items() if force > limit]
    words = (
        f"over what ISO/TS 15066 allows adult workers at {', '.join(over)}"
        if over
        else "over the cautious line"
    )
    rest = ", ".join(f"{e.body} {e.press.force:.0f} N" for e in found if e is not worst)
    reason = (
        f"can press with {force:.0f} N at the fastest point of {worst.body}{f' ({rest})' if rest else ''}, more at "
        f"slower points and near a dead centre; {words}. Fence it off, guard it, or limit what drives it"
    )
    return warning(
        "reach",
        "pressing force",
        worst.press.by,
        reason,
        demand=force,
        capacity=reach.VISITOR_FORCE,
        unit="N",
        assumed=(
            *assumed,
            "pressing force by virtual work: drive, springs and weights together, friction left out",
        ),
        source="cautious line of 50 N for visitors, assumed",
    )


@REACH_CHECKS.add
def energy(case: ReachCase) -> list[Check]:
    """A warning for each body in reach that hits harder than a powered door may."""
    return [
        warning(
            "reach",
            "energy",
            e.body,
            f"it hits with {e.energy:.1f} J at up to {e.speed:.2f} m/s: fence it off or slow it down",
            demand=e.energy,
            capacity=reach.VISITOR_ENERGY,
            unit="J",
            assumed=case.assumed,
            source="low-energy limit of powered doors, from memory",
        )
        for e in case.reachable
        if e.energy > reach.VISITOR_ENERGY
    ]


@REACH_CHECKS.add
def gaps_that_close(case: ReachCase) -> list[Check]:
    """A warning for each two bodies whose gap opens for a part of a person and closes on it."""
    loads, track = case.loads, case.loads.recording.track
    rows = np.unique(np.linspace(0, len(track.time) - 1, SAMPLES).astype(int))
    names = [b.called for b in loads.recording.assembly.bodies]
    reachable = {e.body for e in case.reachable}
    pairs = ((a, b) for a in range(len(names)) for b in range(a + 1, len(names)))
    found: dict[tuple[str, str], Check] = {}
    for a, b in pairs:
        if names[a] == names[b] or not {names[a], names[b]} & reachable:
            continue
        check = _gap(loads, a, b, rows, case.assumed)
        both = (names[a], names[b])
        if check is not None and (both not in found or _demand(check) < _demand(found[both])):
            found[both] = check  # of several pieces of one member those that come nearest
    return list(found.values())


def _demand(check: Check) -> float:
    return np.inf if check.demand is None else check.demand


def _envelope(loads: JointLoads, index: int, visitors: Visitors, power: Power) -> Envelope:
    assembly, track = loads.recording.assembly, loads.recording.track
    body = assembly.bodies[index]
    spots = _outline(body)
    rows = np.unique(np.linspace(0, len(track.time) - 1, _ROWS).astype(int))
    arm = np.einsum("nij,kj->nki", matrices(track.rotation[rows, index]), spots)
    at = track.position[rows, index][:, None] + arm
    moving = track.velocity[rows, index][:, None] + np.cross(track.spin[rows, index][:, None], arm)
    speed = np.linalg.norm(moving, axis=2)
    spot = int(np.argmax(speed.max(axis=0)))
    sides = list(SIDES) if visitors.side == "all" else [visitors.side]
    behind = reach.over_reach(at[:, :, 2], max(visitors.height, reach.FENCE_HEIGHTS[0]))
    ways = [(side, *SIDES[side]) for side in sides]
    fence = {side: float((sign * at[:, :, axis] + behind).max()) for side, axis, sign in ways}
    turn = matrices(track.rotation[:, index])
    spin = np.einsum("nji,nj->ni", turn, track.spin[:, index])
    energy = reach.kinetic_energy(body.mass, body.inertia, track.velocity[:, index], spin)
    reachable = (
        visitors.barrier is None
        or visitors.height < reach.FENCE_HEIGHTS[0]
        or any(need > visitors.barrier for need in fence.values())
    )
    return Envelope(
        body.called,
        at.min(axis=(0, 1)),
        at.max(axis=(0, 1)),
        float(speed.max()),
        float(energy.max()),
        power.press(index, rows, speed[:, spot]),
        fence,
        reachable,
    )


def _joined(pieces: Sequence[Envelope]) -> Envelope:
    """The envelope of a member that bends from those of its pieces; its energy is at most the sum of theirs."""
    return replace(
        max(pieces, key=lambda e: e.press.force or 0.0),
        low=np.min([e.low for e in pieces], axis=0),
        high=np.max([e.high for e in pieces], axis=0),
        speed=max(e.speed for e in pieces),
        energy=sum(e.energy for e in pieces),
        fence={side: max(e.fence[side] for e in pieces) for side in pieces[0].fence},
        reachable=any(e.reachable for e in pieces),
    )


def _outline(body: BodyData) -> Array:
    """Corners of the hull of all that is drawn of a body, body frame, (k, 3) m; of many those that stick out most."""
    from scipy.spatial import ConvexHull, QhullError

    points = np.vstack([surface.vertices for shape in body.shapes for surface in shape.surfaces()])
    with suppress(QhullError):  # all in one plane
        points = points[ConvexHull(points).vertices]
    if len(points) <= _WAYS:
        return np.asarray(points)
    k = np.arange(_WAYS) + 0.5
    up, turn = 1 - 2 * k / _WAYS, np.pi * (1 + 5**0.5) * k
    flat = np.sqrt(1 - up**2)
    ways = np.stack([flat * np.cos(turn), flat * np.sin(turn), up])
    return np.asarray(points[np.unique(np.argmax(points @ ways, axis=0))])


def _gap(loads: JointLoads, a: int, b: int, rows: Array, assumed: tuple[str, ...]) -> Check | None:
    """A warning for two bodies whose gap opens far enough for a part of a person and then closes on it."""
    assembly, track = loads.recording.assembly, loads.recording.track
    first, second = assembly.bodies[a], assembly.bodies[b]
    if first.fixed and second.fixed:
        return None
    one, two = (_trimmed(assembly, i, {a, b}) for i in (a, b))
    worst: tuple[float, float, float, tuple[str, ...]] | None = None
    turns = matrices(track.rotation[rows, a]), matrices(track.rotation[rows, b])
    places = track.position[rows, a], track.position[rows, b]
    for p in one:
        for q in two:
            gap = gap_over(p, q, turns, places)
            least, most = float(gap.min()), float(gap.max())
            k = int(np.argmin(gap))
            low = min(
                float((turn[k] @ spot + place[k])[2])
                for solid, turn, place in zip((p, q), turns, places, strict=True)
                for spot in solid.spots()
            )
            parts = tuple(
                x for x in reach.crushed(least, most) if low < LEG_HEIGHT or x not in reach.LOWER_LIMBS
            )
            if most - least < STILL or not parts:
                continue
            if worst is None or least < worst[0]:
                worst = (least, most, float(track.time[rows[k]]), parts)
    if worst is None:
        return None
    least, most, time, parts = worst
    meets = any({t.first, t.second} == {a, b} for t in loads.recording.laws.touches)
    through = (
        "" if least > 0.0 or meets else " - they run into each other, and the motion goes on through that -"
    )
    who = "people" if {"head", "body"} & set(parts) else "hands"
    reason = (
        f"opens to {most * 1e3:.0f} mm and closes to {least * 1e3:.0f} mm{through}: room for {', '.join(parts)}; "
        f"keep {who} out with a guard or a gap that stays wider"
    )
    return warning(
        "reach",
        "gap that closes",
        f"{first.called} and {second.called}",
        reason,
        demand=least,
        capacity=reach.CRUSH_GAPS[parts[-1]],
        unit="m",
        assumed=(*assumed, "parts as drawn"),
        source="ISO 13854, adults; children need more",
        time=time,
    )


def _trimmed(assembly: Assembly, index: int, pair: set[int]) -> list[Convex]:
    """The solids of a body without what lies close to the joints that it shares with the other body."""
    body = assembly.bodies[index]
    result = [solid for shape in body.shapes for solid in shape.solids()]
    for joint in assembly.joints:
        if {joint.first, joint.second} == pair:
            result = [kept for p in result for kept in p.without(joint.point - body.com, CLEAR_OF_JOINT)]
    return result
