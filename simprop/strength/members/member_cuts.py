"""The cuts of a member that govern its strength: with holes, bends and the load at every step."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import Shape
from simprop.geometry.arrays import Array
from simprop.rules import sections
from simprop.rules.sections import Section
from simprop.strength.members import members
from simprop.strength.members.cuts import BodyHistory, Member
from simprop.strength.members.members import CROSS_HOLE_FACTOR, SectionLoads

CUTS = 13
SLIDING_CUTS = 33
"""Cuts along a member, and along one that something slides on."""
BEND_RADIUS = 4.5
"""Radius of a heat-bent corner over the outside diameter where it isn't drawn: 4 inside, bender manual."""


@dataclass(frozen=True)
class Cut:
    """A cut with its loads over all steps: where, the hole in it (diameter m; 0: none) and the stress factor."""

    place: float
    loads: SectionLoads
    hole: float
    across: bool
    factor: float
    note: str


@dataclass(frozen=True)
class Governing:
    """The cuts that govern a member: by strength, by wear and by shear; the largest push in it, N."""

    strength: Cut
    wear: Cut
    shear: Cut
    push: float
    column: float
    ends: str


def section_of(shape: Shape) -> Section | None:
    """Cross-section of a part; None where it has none (a slender weight).

    Args:
        shape: the part.
    """
    if shape.kind == "pipe":
        return sections.tube(shape.size[0], shape.size[1] if len(shape.size) > 1 else 0.0)
    return sections.rectangle(*shape.size) if shape.kind == "bar" else None


def cuts_of(history: BodyHistory, member: Member, shape: Shape) -> Iterator[Cut]:
    """The cuts of a member, one after the other, both sides of whatever hangs on it.

    Args:
        history: of its body.
        member: one of `history.members`.
        shape: its part.
    """
    hangs = history.hangs(member)
    count = SLIDING_CUTS if any(h.path is not None for h in hangs) else CUTS
    places = {(float(p), True) for p in np.linspace(0.0, member.length, count)[:-1]}
    places |= {(member.length, False)}
    places |= {(h.place, side) for h in hangs for side in (False, True)}
    holes = _holes(history, member, shape)
    for place, after in sorted(places):
        loads = history.cut(member, place, after)
        if loads is None:
            continue
        at_start, at_end = member.corners
        elbow = shape.kind == "pipe" and (
            (at_start and place < 1e-9) or (at_end and place > member.length - 1e-9)
        )
        factor, note = 1.0, ""
        if elbow:
            wall = (shape.size[0] - shape.size[1]) / 2
            factor = members.elbow_factor(shape.size[0], wall, BEND_RADIUS * shape.size[0])
            note = "corner bent with heat at 4 diameters inside radius"
        hole = next((h for h in holes if abs(h[0] - place) < 1e-6), None)
        if hole is not None:
            loads = _turned(loads, hole[2]) if shape.kind == "pipe" else loads
            yield Cut(place, loads, hole[1], hole[3], factor, note)
        else:
            yield Cut(place, loads, 0.0, False, factor, note)


def _holes(history: BodyHistory, member: Member, shape: Shape) -> list[tuple[float, float, float, bool]]:
    """Cross holes: (place m, diameter m, angle of the hole from v rad, through the width of a bar)."""
    assembly = history.loads.recording.assembly
    found = []
    for hang in history.hangs(member):
        for j in hang.joints:
            joint = assembly.joints[j]
            hold = assembly.rig.joints[joint.name].held_by
            size = None if hold is None else hold.diameter
            if hang.masses[0] > 0 or size is None:
                continue
            flat = joint.axis - float(joint.axis @ member.along) * member.along
            if float(np.linalg.norm(flat)) < 0.5 or size >= 0.9 * min(shape.size[0], max(shape.size)):
                continue
            angle = float(np.arctan2(flat @ member.u, flat @ member.v))
            found.append((hang.place, size, angle, abs(float(flat @ member.u)) > 0.7))
    return found


def _turned(loads: SectionLoads, angle: float) -> SectionLoads:
    """The same loads on axes turned about the member so that v lies along the hole."""
    c, s = np.cos(angle), np.sin(angle)
    return replace(
        loads,
        shear_u=c * loads.shear_u - s * loads.shear_v,
        shear_v=s * loads.shear_u + c * loads.shear_v,
        moment_u=c * loads.moment_u - s * loads.moment_v,
        moment_v=s * loads.moment_u + c * loads.moment_v,
    )


def net_of(section: Section, cut: Cut) -> tuple[Section, SectionLoads]:
    """The section less the hole of a cut, and the loads on its axes.

    Args:
        section: whole cross-section.
        cut: where, with its loads.
    """
    if cut.hole <= 0:
        return section, cut.loads
    if section.kind == "tube":
        outside = 2 * section.half_u
        inside = _inside(section)
        if cut.hole >= outside:
            return section, cut.loads
        return sections.tube_with_cross_hole(outside, inside, cut.hole), cut.loads
    width, thick = 2 * section.half_u, 2 * section.half_v
    if cut.across:
        if cut.hole >= thick:
            return section, cut.loads
        turned = replace(
            cut.loads,
            shear_u=cut.loads.shear_v,
            shear_v=cut.loads.shear_u,
            moment_u=cut.loads.moment_v,
            moment_v=cut.loads.moment_u,
        )
        return sections.rectangle_with_hole(thick, width, cut.hole), turned
    if cut.hole >= width:
        return section, cut.loads
    return sections.rectangle_with_hole(width, thick, cut.hole), cut.loads


def _inside(section: Section) -> float:
    """Inside diameter of a round section from its area, m."""
    square = (2 * section.half_u) ** 2 - 4 * section.area / np.pi
    return float(np.sqrt(max(square, 0.0)))


def stress_in(section: Section, cut: Cut, wood: bool) -> Array:
    """Stress that counts for strength: von Mises, or pull and bending of wood, (n,) Pa.

    Args:
        section: whole cross-section.
        cut: where, with its loads.
        wood: nominal stress without shear.
    """
    net, loads = net_of(section, cut)
    if wood:
        return np.asarray((np.abs(loads.axial) / net.area + members.bending(net, loads)) * cut.factor)
    return members.equivalent(net, loads) * cut.factor


def swing_in(section: Section, cut: Cut) -> tuple[Array, float]:
    """The fibre stress (or twisting stress x sqrt 3) that swings most, with its notch factor, (n,) Pa.

    Args:
        section: whole cross-section.
        cut: where, with its loads.
    """
    net, loads = net_of(section, cut)
    edge = members.fibres(net, loads)
    twist = np.sqrt(3.0) * loads.torque / net.torsion_modulus
    rows = np.vstack([edge, twist])
    k = int(np.argmax(np.ptp(rows, axis=1)))
    notch = CROSS_HOLE_FACTOR if cut.hole > 0 else 1.0
    values = np.asarray(rows[k] * cut.factor * notch)
    return values, float(np.ptp(values))


def govern(section: Section, wood: bool, history: BodyHistory, member: Member) -> Governing | None:
    """The cuts that govern a member; only these are kept, so that long runs fit into memory.

    Args:
        section: its cross-section.
        wood: nominal stress, as wood is judged by.
        history: of its body.
        member: one of `history.members`.

    Returns:
        None where no cut is determined: the member is held to the ground on both sides.
    """
    best: dict[str, tuple[float, Cut]] = {}
    push = 0.0
    shape = history.data.shapes[member.shape]
    for cut in cuts_of(history, member, shape):
        sizes = {
            "strength": float(stress_in(section, cut, wood).max()),
            "wear": swing_in(section, cut)[1],
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
    return Governing(best["strength"][1], best["wear"][1], best["shear"][1], push, column, ends)


def supports(history: BodyHistory, member: Member, row: int) -> tuple[float, float | None]:
    """Where a member is held at a step: its first and last joint; at one place (or the ground): fixed in direction.

    Args:
        history: of its body.
        member: one of `history.members`.
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
