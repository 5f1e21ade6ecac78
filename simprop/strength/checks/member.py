"""Checks of one member: strength, sustained stress, shear along the grain, fatigue life, buckling."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simprop.catalog.load import material
from simprop.catalog.strengths import Strength, strength_of
from simprop.checking.check import ALLOWABLE, BUCKLING, Check, judge, not_computed, remedied
from simprop.checking.checks import Checks
from simprop.checking.life import life_check
from simprop.checking.setting import Setting, least_factor, softened, weakened
from simprop.geometry.arrays import Array
from simprop.rules import stress as stresses
from simprop.rules.columns import column_load, twisting_load
from simprop.rules.sections import Section
from simprop.rules.stress import SectionLoads
from simprop.strength.members.bent import Bent, bending_of
from simprop.strength.members.cuts import BodyHistory, Member
from simprop.strength.members.member_cuts import Cut, Governing, govern, net_of, stress_in, swing_in

POISSON = 0.3
"""Poisson's ratio where the catalogue has none: 0.25 to 0.4 in handbooks."""
_FIELDS = ("axial", "shear_u", "shear_v", "torque", "moment_u", "moment_v")


@dataclass(frozen=True)
class MemberCase:
    """One member with its loads, and the section that is looked at.

    Attributes:
        place: the member, as a person would call it.
        strength: of its material.
        weak: factor on that at the setting's temperature.
        setting: temperature, season, people.
        time: (n,) s.
        governing: its cuts with the largest loads.
        section: as it is, or one that is tried.
        share: of the loads that the section carries.
        grown: how much larger a section's own weight makes bending and twist, shear and push, each a factor.
    """

    place: str
    strength: Strength
    weak: float
    setting: Setting
    time: Array
    governing: Governing
    section: Section
    share: float = 1.0
    grown: tuple[float, float, float] = (1.0, 1.0, 1.0)

    @property
    def bend(self) -> float:
        """Factor on the bending, pull and twist that it carries."""
        return self.share * self.grown[0]

    def at(self, cut: Cut) -> str:
        """A cut's place in words."""
        return f"{self.place}, {cut.place * 1e3:.0f} mm from its start"


MEMBER_CHECKS: Checks[MemberCase] = Checks()
"""The checks of a member; they are made again for every section that is tried as a change."""


def member_checks(
    history: BodyHistory, member: Member, setting: Setting
) -> tuple[tuple[Check, ...], Bent | None]:
    """All checks of one member, with single changes worked out for those that fail, and its bent shape."""
    shape = history.data.shapes[member.shape]
    place, section = member.name, shape.section()
    strength = strength_of(shape.material) if shape.material else None
    if section is None or strength is None:
        reason = f"the catalogue has no strength for {shape.material or 'an unnamed material'}"
        return (not_computed("member", "strength", place, reason),), None
    governing = govern(section, strength.family == "wood", history, member)
    if governing is None:
        reason = "it is held to the ground at both ends: statics alone doesn't tell the loads in it"
        return (not_computed("member", "strength", place, reason),), None
    weak = weakened(strength, setting)
    if weak is None:
        reason = f"no figures for {strength.name} at {setting.temperature:.0f} degC"
        checks: tuple[Check, ...] = (not_computed("member", "strength", place, reason),)
    else:
        time = history.loads.recording.track.time
        case = MemberCase(place, strength, weak, setting, time, governing, section)
        changes = [
            (text, replace(case, section=s, share=share, grown=_grown(history, member, case, s.area / share)))
            for text, s, share in shape.stronger()
        ]
        checks = remedied(case, MEMBER_CHECKS, lambda _: changes, pairs=False)
    bent, look = bending_of(history, member, strength, setting, governing)
    return (*checks, *look), bent


def _grown(history: BodyHistory, member: Member, case: MemberCase, area: float) -> tuple[float, float, float]:
    """How much larger the loads of a member can be with a heavier section: bending and twist, shear, push.

    Its own weight, shaken as it is, bends it by no more than at an arm to whatever else acts on the body; and no load
    grows by more than the member does. In a wind, which also has more to blow on, by as much as it does.

    Args:
        area: of all the sections that take its place, m^2.
    """
    more = max(0.0, area / case.section.area - 1.0)
    if not case.setting.lasting:
        return (1.0 + more,) * 3
    shape, track = history.data.shapes[member.shape], history.loads.recording.track
    middle = (member.start + member.end) / 2
    spots = np.array([member.start, member.end, *shape.path, *(o.point for o in history.outer)])
    arm = float(np.linalg.norm(spots - middle, axis=1).max())
    lever = history.turn @ middle
    spin, alpha = track.spin[:, history.index], track.spin_acceleration[:, history.index]
    moved = (
        track.acceleration[:, history.index] + np.cross(alpha, lever) + np.cross(spin, np.cross(spin, lever))
    )
    felt = np.linalg.norm(moved - np.asarray(history.loads.recording.assembly.rig.run.gravity), axis=1)
    weight = more * shape.mass * float(felt.max())
    cut, shear = case.governing.strength.loads, case.governing.shear.loads
    sizes = (
        (weight * arm, np.hypot(cut.moment_u, cut.moment_v)),
        (weight, np.hypot(shear.shear_u, shear.shear_v)),
        (weight, np.array([case.governing.push])),
    )
    bend, across, push = (1.0 + min(more, x / max(float(y.max()), 1e-12)) for x, y in sizes)
    return bend, across, push


@MEMBER_CHECKS.add
def strength_of_section(case: MemberCase) -> list[Check]:
    """Bending, pull and twist at the worst cut."""
    s, cut = case.strength, case.governing.strength
    wood = s.family == "wood"
    stress = stress_in(case.section, cut, wood) * case.bend
    row = int(np.argmax(stress))
    capacity = s.design if wood else s.yield_strength
    if capacity is None:
        return [not_computed("member", "strength", case.place, f"no strength of {s.name} in the catalogue")]
    name = "bending and pull" if wood else "bending, pull and twist"
    if cut.hole > 0:
        name += f" beside its {cut.hole * 1e3:.1f} mm hole"
    return [
        judge(
            "member",
            name,
            case.at(cut),
            float(stress[row]),
            capacity * case.weak,
            unit="Pa",
            factor=ALLOWABLE if wood else least_factor(s.family, case.setting),
            assumed=[cut.note] if cut.note else [],
            source=s.source if wood else f"von Mises at the worst point of the section; {s.source}",
            time=float(case.time[row]),
        )
    ]


@MEMBER_CHECKS.add
def sustained_stress(case: MemberCase) -> list[Check]:
    """Creep under the mean loads, where the material is known for it."""
    s, cut = case.strength, case.governing.strength
    if s.sustained is None or not case.setting.lasting:
        return []
    net, loads = net_of(case.section, cut)
    mean = SectionLoads(*(np.array([float(np.mean(getattr(loads, f))) * case.bend]) for f in _FIELDS))
    return [
        judge(
            "member",
            "sustained stress (creep)",
            case.at(cut),
            float(stresses.pulling(net, mean)[0]) * cut.factor,
            s.sustained * case.weak,
            unit="Pa",
            factor=ALLOWABLE,
            assumed=[
                "hydrostatic design stress used for bending",
                "mean of the run taken as the lasting load",
            ],
            source="largest principal stress of the mean loads; " + s.source,
        )
    ]


@MEMBER_CHECKS.add
def shear_along_the_grain(case: MemberCase) -> list[Check]:
    """Shear along the grain of wood."""
    s, cut = case.strength, case.governing.shear
    if s.shear_design is None:
        return []
    size = np.hypot(cut.loads.shear_u, cut.loads.shear_v) * case.share * case.grown[1]
    row = int(np.argmax(size))
    return [
        judge(
            "member",
            "shear along the grain",
            case.at(cut),
            float(case.section.shear_factor * size[row] / case.section.area),
            s.shear_design,
            unit="Pa",
            factor=ALLOWABLE,
            source="3/2 V/A; " + s.source,
            time=float(case.time[row]),
        )
    ]


@MEMBER_CHECKS.add
def fatigue_life(case: MemberCase) -> list[Check]:
    """Fatigue life of the fibre whose stress swings most."""
    s, cut = case.strength, case.governing.fatigue
    if s.fatigue is None or s.ultimate is None:
        reason = f"no cycles-to-stress figures for {s.name} in the catalogue"
        return [not_computed("fatigue", "life", case.place, reason)]
    history, _ = swing_in(case.section, cut)
    assumed = [f"{a} of {s.name}" for a in s.assumed if a.startswith("fatigue")]
    if cut.notch > 1.0:
        assumed.append(
            f"stress factor {cut.notch:g} {'beside the hole' if cut.hole > 0 else 'of its notches'}"
        )
    return [
        life_check(
            case.at(cut),
            history * case.bend / case.weak,
            line=s.fatigue,
            ultimate=s.ultimate,
            setting=case.setting,
            step=float(case.time[1] - case.time[0]) if len(case.time) > 1 else 0.0,
            assumed=assumed,
            source=s.source,
        )
    ]


def _slender(section: Section, stiff: float, shear: float, governing: Governing) -> float:
    """Push at which a member buckles however strong it is: by bending, or by bending and twisting at once, N."""
    one, two = (
        stresses.euler_load(stiff, inertia, governing.column, governing.ends)
        for inertia in (section.inertia_u, section.inertia_v)
    )
    off = section.centre_u, section.centre_v
    if off == (0.0, 0.0):
        return min(one, two)
    square = (section.inertia_u + section.inertia_v) / section.area + off[0] ** 2 + off[1] ** 2
    return twisting_load(one, two, shear * section.torsion, square, off)


@MEMBER_CHECKS.add
def buckling(case: MemberCase) -> list[Check]:
    """Buckling under the largest push, where there is one."""
    s, governing, section = case.strength, case.governing, case.section
    if governing.push <= 0:
        return []
    modulus, soft = material(s.name).modulus, softened(s, case.setting)
    if modulus is None or soft is None:
        return [not_computed("member", "buckling", case.place, f"no modulus of {s.name}")]
    stiff = modulus * soft
    load = _slender(section, stiff, stiff / (2 + 2 * (material(s.name).poisson or POISSON)), governing)
    crush = s.yield_strength or s.compression or s.design
    if crush is not None:
        load = column_load(load, crush * section.area, s.family == "wood")
    return [
        judge(
            "member",
            "buckling",
            case.place,
            governing.push * case.share * case.grown[2],
            load,
            unit="N",
            factor=BUCKLING,
            source=f"{governing.ends} column of {governing.column * 1e3:.0f} mm between Euler's load and crushing: "
            "AISC 360 E3, timber by Ylinen; from memory",
        )
    ]
