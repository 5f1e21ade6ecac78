"""Swept envelope, gaps that close, speed, energy and stall force where visitors can reach: warnings to judge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.checking.check import Check, warning
from simprop.checking.checks import Checks
from simprop.geometry.arrays import Array
from simprop.geometry.convex import Convex, gap_over
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rig.site import Visitors
from simprop.rules import reach
from simprop.strength.members.pieces import pieces

SAMPLES = 240
"""Instants of a run at which gaps are looked at."""
CLEAR_OF_JOINT = 0.12
"""Around a joint two parts always touch; gaps count from this far on: an arm's thickness, m."""
STILL = 0.003
"""A gap that changes less than this is no pinch point, m."""
LEG_HEIGHT = 0.6
"""Toes, feet and legs count only for gaps that reach lower than this above z = 0, m. Assumed."""
STANDING_REACH = 2.7
"""Above this nobody reaches, m: ISO 13857, high risk, from memory."""


@dataclass(frozen=True)
class Envelope:
    """Where a moving body goes, and how hard.

    Attributes:
        body: its name.
        low: lowest x, y, z, (3,) m.
        high: highest x, y, z, (3,) m.
        speed: highest speed of any of its points, m/s.
        energy: highest kinetic energy, J.
        force: stall force of the strongest motor at its fastest point, N; None where no motor moves it.
        motor: that motor's name, or "".
        reachable: visitors can reach it.
    """

    body: str
    low: Array
    high: Array
    speed: float
    energy: float
    force: float | None
    motor: str
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
    envelopes = tuple(_envelope(loads, i, visitors) for i, b in enumerate(bodies) if not b.fixed and b.shapes)
    assumed = () if visitors is not None else ("everything is in reach (`visitors` isn't stated)",)
    return tuple(REACH_CHECKS(ReachCase(loads, envelopes, assumed))), envelopes


@REACH_CHECKS.add
def stall_force(case: ReachCase) -> list[Check]:
    """One warning for each motor that can press harder than the cautious line on something in reach."""
    hard = [e for e in case.reachable if e.force is not None and e.force > reach.VISITOR_FORCE]
    motors = dict.fromkeys(e.motor for e in hard)
    return [_force([e for e in hard if e.motor == motor], case.assumed) for motor in motors]


def _force(found: list[Envelope], assumed: tuple[str, ...]) -> Check:
    worst = max(found, key=lambda e: e.force or 0.0)
    force = worst.force or 0.0
    over = [part for part, limit in reach.CONTACT_FORCES.items() if force > limit]
    words = (
        f"over what ISO/TS 15066 allows adult workers at {', '.join(over)}"
        if over
        else "over the cautious line"
    )
    rest = ", ".join(f"{e.body} {e.force:.0f} N" for e in found if e is not worst)
    reason = (
        f"can press with {force:.0f} N at the fastest point of {worst.body} before it stalls"
        f"{f' ({rest})' if rest else ''}, more near a dead centre; {words}. Fence it off, guard it, or "
        "limit the current"
    )
    return warning(
        "reach",
        "stall force",
        worst.motor,
        reason,
        demand=force,
        capacity=reach.VISITOR_FORCE,
        unit="N",
        assumed=(*assumed, "stall force by virtual work, weight and friction left out"),
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
    names = [b.name for b in loads.recording.assembly.bodies]
    reachable = {e.body for e in case.reachable}
    pairs = ((a, b) for a in range(len(names)) for b in range(a + 1, len(names)))
    found = (_gap(loads, a, b, rows, case.assumed) for a, b in pairs if {names[a], names[b]} & reachable)
    return [check for check in found if check is not None]


def _envelope(loads: JointLoads, index: int, visitors: Visitors | None) -> Envelope:
    assembly, track = loads.recording.assembly, loads.recording.track
    body = assembly.bodies[index]
    turn = matrices(track.rotation[:, index])
    spin = track.spin[:, index]
    low, high = np.full(3, np.inf), np.full(3, -np.inf)
    fastest, point_speed = 0.0, np.zeros(len(track.time))
    for local, radius in ((spot, p.radius) for p in pieces(body) for spot in p.spots()):
        arm = turn @ local
        at = track.position[:, index] + arm
        low = np.minimum(low, at.min(axis=0) - radius)
        high = np.maximum(high, at.max(axis=0) + radius)
        speed = np.linalg.norm(track.velocity[:, index] + np.cross(spin, arm), axis=1)
        if float(speed.max()) > fastest:
            fastest, point_speed = float(speed.max()), speed
    energy = reach.kinetic_energy(
        body.mass, body.inertia, track.velocity[:, index], np.einsum("nji,nj->ni", turn, spin)
    )
    force, motor = _stall(loads, point_speed)
    return Envelope(
        body.name, low, high, fastest, float(energy.max()), force, motor, _reachable(low, high, visitors)
    )


def _stall(loads: JointLoads, speed: Array) -> tuple[float | None, str]:
    best: tuple[float | None, str] = (None, "")
    for motor, load in zip(loads.recording.laws.motors, loads.motors, strict=True):
        if load.able is None:
            continue
        force = reach.lever_force(load.able, loads.recording.track.rate[:, motor.axis], speed)
        if force is not None and force > (best[0] or 0.0):
            best = (force, motor.name)
    return best


def _reachable(low: Array, high: Array, visitors: Visitors | None) -> bool:
    if visitors is None or visitors.barrier is None:
        return True
    if float(low[2]) > STANDING_REACH:
        return False
    line = visitors.barrier - reach.ARM_REACH
    sides = {"-y": -low[1], "y": high[1], "-x": -low[0], "x": high[0]}
    wanted = sides.values() if visitors.side == "all" else [sides[visitors.side]]
    return any(float(s) > line for s in wanted)


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
    reason = (
        f"opens to {most * 1e3:.0f} mm and closes to {least * 1e3:.0f} mm{through}: room for {', '.join(parts)}; "
        "keep hands out with a guard or a gap that stays wider"
    )
    return warning(
        "reach",
        "gap that closes",
        f"{first.name} and {second.name}",
        reason,
        demand=least,
        capacity=reach.CRUSH_GAPS[parts[-1]],
        unit="m",
        assumed=(*assumed, "parts as drawn"),
        source="ISO 13854, adults; children need more",
        time=time,
    )


def _trimmed(assembly: Assembly, index: int, pair: set[int]) -> list[Convex]:
    """The pieces of a body without what lies close to the joints that it shares with the other body."""
    body = assembly.bodies[index]
    result: list[Convex] = list(pieces(body))
    for joint in assembly.joints:
        if {joint.first, joint.second} == pair:
            result = [kept for p in result for kept in p.without(joint.point - body.com, CLEAR_OF_JOINT)]
    return result
