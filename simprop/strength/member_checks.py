"""Checks of one member: strength, sustained stress, shear along the grain, wear, buckling, bending."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import Array, Shape
from simprop.catalog.fasteners import bolt, roll_pin
from simprop.catalog.load import material, pipe, table
from simprop.catalog.strengths import Strength, strength_of
from simprop.rig.fasteners import BoltHold, RollPinHold
from simprop.strength import members, sections
from simprop.strength.cuts import BodyHistory, Member
from simprop.strength.margins import ALLOWABLE, BUCKLING, Check, Remedy, judge, not_computed, warning, worst
from simprop.strength.members import CROSS_HOLE_FACTOR, SectionLoads
from simprop.strength.sections import Section
from simprop.strength.setting import Setting, least_factor, softened, weakened
from simprop.strength.wear import life_check

CUTS = 13
SLIDING_CUTS = 33
BEND_RADIUS = 4.5
"""Radius of a heat-bent corner over the outside diameter where it isn't drawn: inside radius 4 diameters,
bender manual."""
SAG_SHARE = 1 / 50
"""Bending beyond this share of the length is worth a look. Assumed."""
STEPS_MM = (2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 20, 25, 30, 38, 50, 64, 75, 100)
"""Thicknesses that are tried as a change, mm: common stock, no source."""


@dataclass(frozen=True)
class Bent:
    """A member at its worst moment, to be drawn: straight and bent, world frame.

    Attributes:
        name: of the member.
        body: index.
        time: s.
        row: physics step.
        place: along the member, (k,) m.
        straight: (k, 3) m.
        bent: (k, 3) m, not exaggerated.
        moment: bending moment there, (k,) N*m.
        most: largest deflection, m.
    """

    name: str
    body: int
    time: float
    row: int
    place: Array
    straight: Array
    bent: Array
    moment: Array
    most: float


@dataclass(frozen=True)
class _Cut:
    """A cut with its loads over all steps: where, the hole in it (diameter m; 0: none) and the stress
    factor."""

    place: float
    loads: SectionLoads
    hole: float
    across: bool
    factor: float
    note: str


@dataclass(frozen=True)
class _Governing:
    """The cuts that govern a member: by strength, by wear and by shear; the largest push in it, N."""

    strength: _Cut
    wear: _Cut
    shear: _Cut
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


def member_checks(
    history: BodyHistory, member: Member, setting: Setting
) -> tuple[tuple[Check, ...], Bent | None]:
    """All checks of one member, with single changes worked out for those that fail, and its bent shape.

    Args:
        history: of its body.
        member: one of `history.members`.
        setting: temperature, season, people.
    """
    shape = history.data.shapes[member.shape]
    place, section = member.name, section_of(shape)
    strength = strength_of(shape.material) if shape.material else None
    if section is None or strength is None:
        reason = f"the catalogue has no strength for {shape.material or 'an unnamed material'}"
        return (not_computed("member", "strength", place, reason),), None
    cuts = _cuts(history, member, shape)
    if not cuts:
        reason = "it is held to the ground at both ends: statics alone doesn't tell the loads in it"
        return (not_computed("member", "strength", place, reason),), None
    governing = _govern(section, strength, cuts, history, member)
    times = history.loads.recording.track
    make = _Maker(place, strength, setting, times.time, shape)
    checks = make.all(section, governing)
    failing = [c for c in checks if c.verdict == "fail"]
    if failing:
        remedies = _remedies(make, shape, section, governing)
        checks = [replace(c, remedies=remedies) if c.verdict == "fail" else c for c in checks]
    bent, look = _bending(history, member, strength, setting, governing)
    return (*checks, *look), bent


def _cuts(history: BodyHistory, member: Member, shape: Shape) -> list[_Cut]:
    hangs = history.hangs(member)
    count = SLIDING_CUTS if any(h.path is not None for h in hangs) else CUTS
    places = {(float(p), True) for p in np.linspace(0.0, member.length, count)[:-1]}
    places |= {(member.length, False)}
    places |= {(h.place, side) for h in hangs for side in (False, True)}
    holes = _holes(history, member, shape)
    found = []
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
            found.append(_Cut(place, loads, hole[1], hole[3], factor, note))
        else:
            found.append(_Cut(place, loads, 0.0, False, factor, note))
    return found


def _holes(history: BodyHistory, member: Member, shape: Shape) -> list[tuple[float, float, float, bool]]:
    """Cross holes: (place m, diameter m, angle of the hole from v rad, through the width of a bar)."""
    assembly = history.loads.recording.assembly
    found = []
    for hang in history.hangs(member):
        for j, _ in hang.joints:
            joint = assembly.joints[j]
            hold = assembly.rig.joints[joint.name].held_by
            if hang.masses[0] > 0 or not isinstance(hold, BoltHold | RollPinHold):
                continue
            size = bolt(hold.size).diameter if isinstance(hold, BoltHold) else roll_pin(hold.size).diameter
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


def _net(section: Section, cut: _Cut) -> tuple[Section, SectionLoads]:
    """The section less the hole of a cut, and the loads on its axes."""
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


def _stress(section: Section, cut: _Cut, wood: bool) -> Array:
    net, loads = _net(section, cut)
    if wood:
        return np.asarray((np.abs(loads.axial) / net.area + members.bending(net, loads)) * cut.factor)
    return members.equivalent(net, loads) * cut.factor


def _swing(section: Section, cut: _Cut) -> tuple[Array, float]:
    """The fibre stress (or twisting stress x sqrt 3) that swings most, with its notch factor, (n,) Pa."""
    net, loads = _net(section, cut)
    edge = members.fibres(net, loads)
    twist = np.sqrt(3.0) * loads.torque / net.torsion_modulus
    rows = np.column_stack([edge, twist])
    k = int(np.argmax(np.ptp(rows, axis=0)))
    notch = CROSS_HOLE_FACTOR if cut.hole > 0 else 1.0
    values = np.asarray(rows[:, k] * cut.factor * notch)
    return values, float(np.ptp(values))


def _govern(
    section: Section, strength: Strength, cuts: Sequence[_Cut], history: BodyHistory, member: Member
) -> _Governing:
    wood = strength.family == "wood"
    hardest = max(cuts, key=lambda c: float(_stress(section, c, wood).max()))
    wearing = max(cuts, key=lambda c: _swing(section, c)[1])
    shearing = max(cuts, key=lambda c: float(np.hypot(c.loads.shear_u, c.loads.shear_v).max()))
    push = max(0.0, *(float((-c.loads.axial).max()) for c in cuts))
    first, second = _supports(history, member, 0)
    column = member.length if second is None else second - first
    ends = "cantilever" if second is None else "pinned"
    return _Governing(hardest, wearing, shearing, push, column, ends)


def _supports(history: BodyHistory, member: Member, row: int) -> tuple[float, float | None]:
    """Where a member is held at a step: its first and last joint; at one place (or the ground): fixed in
    direction."""
    hangs = history.hangs(member)
    ground = [h.place for h in hangs if h.ground]
    if ground:
        return ground[0], None
    places = [h.place if h.path is None else float(h.path[row]) for h in hangs if h.joints]
    if not places:
        return 0.0, None
    first, last = min(places), max(places)
    return first, last if last - first > 1e-6 else None


class _Maker:
    """Makes the checks of one member for any section, so that changes can be tried."""

    def __init__(self, place: str, strength: Strength, setting: Setting, time: Array, shape: Shape):
        self.place, self.strength, self.setting, self.time = place, strength, setting, time
        self.shape = shape
        self.modulus = material(strength.name).modulus

    def all(self, section: Section, governing: _Governing, share: float = 1.0) -> list[Check]:
        """Every check; `share` is the part of the loads that this section carries."""
        weak = weakened(self.strength, self.setting)
        if weak is None:
            reason = f"no figures for {self.strength.name} at {self.setting.temperature:.0f} degC"
            return [not_computed("member", "strength", self.place, reason)]
        checks = [self._strength(section, governing.strength, weak, share)]
        if self.strength.sustained is not None:
            checks.append(self._sustained(section, governing.strength, weak, share))
        if self.strength.shear_design is not None:
            checks.append(self._shear(section, governing.shear, share))
        checks.append(self._wear(section, governing.wear, weak, share))
        if governing.push > 0:
            checks += self._buckling(section, governing, share)
        return checks

    def _where(self, cut: _Cut) -> str:
        return f"{self.place}, {cut.place * 1e3:.0f} mm from its start"

    def _strength(self, section: Section, cut: _Cut, weak: float, share: float) -> Check:
        s = self.strength
        wood = s.family == "wood"
        stress = _stress(section, cut, wood) * share
        row = int(np.argmax(stress))
        capacity = s.design if wood else s.yielding
        if capacity is None:
            return not_computed("member", "strength", self.place, f"no strength of {s.name} in the catalogue")
        assumed = [f"{cut.note}"] if cut.note else []
        name = "bending and pull" if wood else "bending, pull and twist"
        if cut.hole > 0:
            name += f" beside its {cut.hole * 1e3:.1f} mm hole"
        return judge(
            "member",
            name,
            self._where(cut),
            float(stress[row]),
            capacity * weak,
            unit="Pa",
            factor=ALLOWABLE if wood else least_factor(s.family, self.setting),
            assumed=assumed,
            source=f"von Mises at the worst point of the section; {s.source}" if not wood else s.source,
            time=float(self.time[row]),
        )

    def _sustained(self, section: Section, cut: _Cut, weak: float, share: float) -> Check:
        net, loads = _net(section, cut)
        mean = SectionLoads(*(np.array([float(np.mean(getattr(loads, f))) * share]) for f in _FIELDS))
        return judge(
            "member",
            "sustained stress (creep)",
            self._where(cut),
            float(members.pulling(net, mean)[0]) * cut.factor,
            (self.strength.sustained or 0.0) * weak,
            unit="Pa",
            factor=ALLOWABLE,
            assumed=[
                "hydrostatic design stress used for bending",
                "mean of the run taken as the lasting load",
            ],
            source="largest principal stress of the mean loads; " + self.strength.source,
        )

    def _shear(self, section: Section, cut: _Cut, share: float) -> Check:
        size = np.hypot(cut.loads.shear_u, cut.loads.shear_v) * share
        row = int(np.argmax(size))
        return judge(
            "member",
            "shear along the grain",
            self._where(cut),
            float(section.shear_factor * size[row] / section.area),
            self.strength.shear_design or 0.0,
            unit="Pa",
            factor=ALLOWABLE,
            source="3/2 V/A; " + self.strength.source,
            time=float(self.time[row]),
        )

    def _wear(self, section: Section, cut: _Cut, weak: float, share: float) -> Check:
        s, line = self.strength, self.strength.fatigue
        if line is None or s.ultimate is None:
            return not_computed(
                "fatigue", "life", self.place, f"no cycles-to-stress figures for {s.name} in the catalogue"
            )
        history, _ = _swing(section, cut)
        assumed = [*(f"{a} of {s.name}" for a in s.assumed if a.startswith("fatigue"))]
        if cut.hole > 0:
            assumed.append(f"stress factor {CROSS_HOLE_FACTOR} beside the hole")
        return life_check(
            self._where(cut),
            history * share / weak,
            line=line,
            ultimate=s.ultimate,
            setting=self.setting,
            step=float(self.time[1] - self.time[0]) if len(self.time) > 1 else 0.0,
            assumed=assumed,
            source=s.source,
        )

    def _buckling(self, section: Section, governing: _Governing, share: float) -> list[Check]:
        soft = softened(self.strength, self.setting)
        if self.modulus is None or soft is None:
            return [not_computed("member", "buckling", self.place, f"no modulus of {self.strength.name}")]
        least = min(section.inertia_u, section.inertia_v)
        load = members.euler_load(self.modulus * soft, least, governing.column, governing.ends)
        crush = self.strength.yielding or self.strength.compression or self.strength.design
        if crush is not None:
            load = min(load, crush * section.area)
        return [
            judge(
                "member",
                "buckling",
                self.place,
                governing.push * share,
                load,
                unit="N",
                factor=BUCKLING,
                source=f"Euler, {governing.ends} column of {governing.column * 1e3:.0f} mm; or crushing, if less",
            )
        ]


_FIELDS = ("axial", "shear_u", "shear_v", "torque", "moment_u", "moment_v")


def _remedies(make: _Maker, shape: Shape, section: Section, governing: _Governing) -> tuple[Remedy, ...]:
    tried: list[Remedy] = []
    for text, other, share in _alternatives(shape, section):
        tried.append(Remedy(text, worst(make.all(other, governing, share))))
    return tuple(tried)


def _alternatives(shape: Shape, section: Section) -> list[tuple[str, Section, float]]:
    if shape.kind == "pipe" and shape.material == "PVC":
        result = []
        for name in table("pipes"):
            data = pipe(name)
            if data.material == "PVC" and data.outside > shape.size[0] + 1e-6:
                size = sections.tube(data.outside, data.outside - 2 * data.wall)
                result.append((f"{data.name} pipe", size, 1.0))
        return result
    if shape.kind == "pipe":
        solid = len(shape.size) < 2 or shape.size[1] <= 0
        wall = shape.size[0] / 2 if solid else (shape.size[0] - shape.size[1]) / 2
        sizes = [s * 1e-3 for s in STEPS_MM if s * 1e-3 > shape.size[0] * 1.02]
        word = "rod" if solid else f"tube with a {wall * 1e3:.1f} mm wall"
        return [
            (f"{d * 1e3:.0f} mm {word}", sections.tube(d, 0.0 if solid else d - 2 * wall), 1.0) for d in sizes
        ]
    width, thick = shape.size
    thicker = [t * 1e-3 for t in STEPS_MM if thick * 1.02 < t * 1e-3 <= 4 * thick]
    wider = [w * 1e-3 for w in STEPS_MM if width * 1.02 < w * 1e-3 <= 3 * width]
    return [
        (f"a second {width * 1e3:.0f} x {thick * 1e3:.0f} mm bar beside it, fastened to it", section, 0.5),
        *((f"{width * 1e3:.0f} x {t * 1e3:.0f} mm bar", sections.rectangle(width, t), 1.0) for t in thicker),
        *((f"{w * 1e3:.0f} x {thick * 1e3:.0f} mm bar", sections.rectangle(w, thick), 1.0) for w in wider),
    ]


def _bending(
    history: BodyHistory, member: Member, strength: Strength, setting: Setting, governing: _Governing
) -> tuple[Bent | None, list[Check]]:
    section = section_of(history.data.shapes[member.shape])
    modulus, soft = material(strength.name).modulus, softened(strength, setting)
    if modulus is None or soft is None or section is None:
        return None, [not_computed("member", "deflection", member.name, f"no modulus of {strength.name}")]
    row = int(np.argmax(_stress(section, governing.strength, strength.family == "wood")))
    places = _ladder(history, member)
    found = [history.cut(member, p, side) for p, side in places]
    if any(c is None for c in found):
        return None, []
    at = np.array([p for p, _ in places])
    rows = [c for c in found if c is not None]
    about_u = np.array([float(c.moment_u[row]) for c in rows])
    about_v = np.array([float(c.moment_v[row]) for c in rows])
    first, second = _supports(history, member, row)
    stiff = modulus * soft
    along_v = members.deflection(at, -about_u, stiff * section.inertia_u, first, second)
    along_u = members.deflection(at, about_v, stiff * section.inertia_v, first, second)
    size = np.hypot(along_u, along_v)
    most = float(size.max())
    line = member.start + at[:, None] * member.along
    moved = line + along_u[:, None] * member.u + along_v[:, None] * member.v
    turn, centre = history.turn[row], history.centre[row]
    time = float(history.loads.recording.track.time[row])
    bent = Bent(
        member.name,
        member.body,
        time,
        row,
        at,
        line @ turn.T + centre,
        moved @ turn.T + centre,
        np.hypot(about_u, about_v),
        most,
    )
    limit = SAG_SHARE * member.length
    assumed = [f"a {1 / SAG_SHARE:.0f}th of its length looks straight"]
    against = "its end fixed in direction" if second is None else "a straight line between its joints"
    if most > limit:
        reason = f"bends {most * 1e3:.1f} mm off {against}; the motion as simulated takes it as stiff"
        return bent, [
            warning(
                "member",
                "deflection",
                member.name,
                reason,
                demand=most,
                capacity=limit,
                unit="m",
                assumed=assumed,
                time=time,
            )
        ]
    return bent, [
        judge(
            "member",
            "deflection",
            member.name,
            most,
            limit,
            unit="m",
            factor=ALLOWABLE,
            assumed=assumed,
            source=f"Euler-Bernoulli, against {against}",
            time=time,
        )
    ]


def _ladder(history: BodyHistory, member: Member) -> list[tuple[float, bool]]:
    """Places for a bending-moment diagram, both sides of whatever hangs on the member."""
    places = {(float(p), True) for p in np.linspace(0.0, member.length, 25)[:-1]} | {(member.length, False)}
    for hang in history.hangs(member):
        if hang.place > 1e-9:
            places.add((hang.place, False))
        if hang.place < member.length - 1e-9:
            places.add((hang.place, True))
    return sorted(places)
