"""The cuts of a member that govern its strength: with holes, bends and the load at every step."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simprop.fasteners.base import Fastener
from simprop.geometry.arrays import Array
from simprop.rules import stress
from simprop.rules.sections import Section
from simprop.rules.stress import CROSS_HOLE_FACTOR, SectionLoads
from simprop.strength.members.cuts import BodyHistory, Member
from simprop.strength.members.outer import Outer

CUTS = 13
SLIDING_CUTS = 33
"""Cuts along a member, and along one that something slides on."""


@dataclass(frozen=True)
class Cut:
    """A cut with its loads over all steps: place, hole (diameter m, 0: none; angle from v, rad), stress factor.

    `notch` is a factor on the stress that tires it alone.
    """

    place: float
    loads: SectionLoads
    hole: float
    angle: float
    factor: float
    note: str
    notch: float = 1.0


@dataclass(frozen=True)
class Governing:
    """The cuts that govern a member: by strength, by fatigue and by shear; the largest push in it, N."""

    strength: Cut
    fatigue: Cut
    shear: Cut
    push: float
    column: float
    ends: str


def cuts_of(section: Section, history: BodyHistory, member: Member) -> Iterator[Cut]:
    """The cuts of a member, one after the other, both sides of whatever hangs on it."""
    shape = history.data.shapes[member.shape]
    hangs = history.hangs(member)
    count = SLIDING_CUTS if any(h.path is not None for h in hangs) else CUTS
    places = {(float(p), True) for p in np.linspace(0.0, member.length, count)[:-1]}
    places |= {(member.length, False)}
    places |= {(h.place, side) for h in hangs for side in (False, True)}
    holes = _holes(history, member, 2 * section.half_u)
    for place, after in sorted(places):
        loads = history.cut(member, place, after)
        if loads is None:
            continue
        at_start, at_end = member.corners
        bent = (at_start and place < 1e-9) or (at_end and place > member.length - 1e-9)
        factor, note = shape.corner() if bent else (1.0, "")
        hole, angle = next((h[1:] for h in holes if abs(h[0] - place) < 1e-6), (0.0, 0.0))
        notch = max(shape.notch, CROSS_HOLE_FACTOR if hole > 0 else 1.0)
        yield Cut(place, loads, hole, angle, factor, note, notch)


def _holes(history: BodyHistory, member: Member, width: float) -> list[tuple[float, float, float]]:
    """Cross holes: place m, diameter m, angle of the hole from v, rad."""
    found = []
    for hang in history.hangs(member):
        for load in (history.outer[k] for k in hang.outer if hang.masses[0] <= 0):
            hold, axis = _fastener(history, load)
            size = None if hold is None else hold.diameter
            flat = axis - float(axis @ member.along) * member.along
            if size is None or float(np.linalg.norm(flat)) < 0.5 or size >= 0.9 * width:
                continue
            found.append((hang.place, size, float(np.arctan2(flat @ member.u, flat @ member.v))))
    return found


def _fastener(history: BodyHistory, load: Outer) -> tuple[Fastener | None, Array]:
    """What goes through the member where a load acts on it, and in which direction (zeros where that isn't known)."""
    assembly, axis = history.loads.recording.assembly, np.zeros(3)
    hold: Fastener | None = None
    if load.kind == "joint":
        joint = assembly.joints[load.index]
        hold, axis = joint.kind.held_by, joint.axis
    elif load.kind == "line":
        line = history.loads.recording.laws.lines[load.index]
        hold = assembly.rig.between_points[load.index][2].ends[0 if load.other == line.second else 1]
    if hold is not None and hold.along is not None:
        axis = np.asarray(hold.along, float)
    return hold, axis


def net_of(section: Section, cut: Cut) -> tuple[Section, SectionLoads]:
    """The section less the hole of a cut, and the loads on its axes."""
    net = section.net(cut.hole, cut.angle) if cut.hole > 0 else None
    return (section, cut.loads) if net is None else (net[0], cut.loads.turned(net[1]))


def stress_in(section: Section, cut: Cut, wood: bool) -> Array:
    """Stress that counts for strength: von Mises, or pull and bending of wood, (n,) Pa.

    Args:
        wood: nominal stress without shear.
    """
    net, loads = net_of(section, cut)
    if wood:
        return np.asarray(
            (np.abs(loads.axial) / net.area + net.bending(loads.moment_u, loads.moment_v)) * cut.factor
        )
    return stress.equivalent(net, loads) * cut.factor


def swing_in(section: Section, cut: Cut) -> tuple[Array, float]:
    """The fibre stress (or twisting stress x sqrt 3) that swings most, with its notch factor, (n,) Pa."""
    net, loads = net_of(section, cut)
    edge = stress.fibres(net, loads)
    twist = np.sqrt(3.0) * stress.twisting(net, loads) / net.torsion_modulus
    rows = np.vstack([edge, twist])
    k = int(np.argmax(np.ptp(rows, axis=1)))
    values = np.asarray(rows[k] * cut.factor * cut.notch)
    return values, float(np.ptp(values))


def govern(section: Section, wood: bool, history: BodyHistory, member: Member) -> Governing | None:
    """The cuts that govern a member; only these are kept, so that long runs fit into memory.

    Args:
        wood: nominal stress, as wood is judged by.

    Returns:
        None where no cut is determined: the member is held to the ground on both sides.
    """
    best: dict[str, tuple[float, Cut]] = {}
    push = 0.0
    for cut in cuts_of(section, history, member):
        sizes = {
            "strength": float(stress_in(section, cut, wood).max()),
            "fatigue": swing_in(section, cut)[1],
            "shear": float(np.hypot(cut.loads.shear_u, cut.loads.shear_v).max()),
        }
        push = max(push, float((-cut.loads.axial).max()))
        for what, size in sizes.items():
            if what not in best or size > best[what][0]:
                best[what] = (size, cut)
    if not best:
        return None
    first, second = supports(history, member, 0)
    column = member.length if second is None else second - first
    ends = "cantilever" if second is None else "pinned"
    return Governing(best["strength"][1], best["fatigue"][1], best["shear"][1], push, column, ends)


def supports(history: BodyHistory, member: Member, row: int) -> tuple[float, float | None]:
    """Where a member is held at a step: its first and last joint; at one place (or the ground): fixed in direction.

    Args:
        row: physics step.
    """
    hangs = history.hangs(member)
    ground = [h.place for h in hangs if h.ground]
    if ground:
        return ground[0], None
    places = [h.place if h.path is None else float(h.path[row]) for h in hangs if h.joints]
    if not places:
        return 0.0, None
    first, last = min(places), max(places)
    return first, last if last - first > 1e-6 else None
