"""Checks of one member: strength, sustained stress, shear along the grain, wear, buckling, bending."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.catalog.load import material
from simprop.catalog.strengths import Strength, strength_of
from simprop.checking.check import ALLOWABLE, BUCKLING, Check, Remedy, judge, not_computed, worst
from simprop.checking.life import life_check
from simprop.checking.setting import Setting, least_factor, softened, weakened
from simprop.geometry.arrays import Array
from simprop.parts.part import Shape
from simprop.rules import stress as stresses
from simprop.rules.columns import column_load
from simprop.rules.sections import Section
from simprop.rules.stress import CROSS_HOLE_FACTOR, SectionLoads
from simprop.strength.members.bent import Bent, bending_of
from simprop.strength.members.cuts import BodyHistory, Member
from simprop.strength.members.member_cuts import (
    Cut,
    Governing,
    govern,
    net_of,
    stress_in,
    swing_in,
)


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
    place, section = member.name, shape.section()
    strength = strength_of(shape.material) if shape.material else None
    if section is None or strength is None:
        reason = f"the catalogue has no strength for {shape.material or 'an unnamed material'}"
        return (not_computed("member", "strength", place, reason),), None
    governing = govern(section, strength.family == "wood", history, member)
    if governing is None:
        reason = "it is held to the ground at both ends: statics alone doesn't tell the loads in it"
        return (not_computed("member", "strength", place, reason),), None
    times = history.loads.recording.track
    make = _Maker(place, strength, setting, times.time)
    checks = make.all(section, governing)
    failing = [c for c in checks if c.verdict == "fail"]
    if failing:
        remedies = _remedies(make, shape, governing)
        checks = [replace(c, remedies=remedies) if c.verdict == "fail" else c for c in checks]
    bent, look = bending_of(history, member, strength, setting, governing)
    return (*checks, *look), bent


class _Maker:
    """Makes the checks of one member for any section, so that changes can be tried."""

    def __init__(self, place: str, strength: Strength, setting: Setting, time: Array):
        self.place, self.strength, self.setting, self.time = place, strength, setting, time
        self.modulus = material(strength.name).modulus

    def all(self, section: Section, governing: Governing, share: float = 1.0) -> list[Check]:
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

    def _where(self, cut: Cut) -> str:
        return f"{self.place}, {cut.place * 1e3:.0f} mm from its start"

    def _strength(self, section: Section, cut: Cut, weak: float, share: float) -> Check:
        s = self.strength
        wood = s.family == "wood"
        stress = stress_in(section, cut, wood) * share
        row = int(np.argmax(stress))
        capacity = s.design if wood else s.yield_strength
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

    def _sustained(self, section: Section, cut: Cut, weak: float, share: float) -> Check:
        net, loads = net_of(section, cut)
        mean = SectionLoads(*(np.array([float(np.mean(getattr(loads, f))) * share]) for f in _FIELDS))
        return judge(
            "member",
            "sustained stress (creep)",
            self._where(cut),
            float(stresses.pulling(net, mean)[0]) * cut.factor,
            (self.strength.sustained or 0.0) * weak,
            unit="Pa",
            factor=ALLOWABLE,
            assumed=[
                "hydrostatic design stress used for bending",
                "mean of the run taken as the lasting load",
            ],
            source="largest principal stress of the mean loads; " + self.strength.source,
        )

    def _shear(self, section: Section, cut: Cut, share: float) -> Check:
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

    def _wear(self, section: Section, cut: Cut, weak: float, share: float) -> Check:
        s, line = self.strength, self.strength.fatigue
        if line is None or s.ultimate is None:
            return not_computed(
                "fatigue", "life", self.place, f"no cycles-to-stress figures for {s.name} in the catalogue"
            )
        history, _ = swing_in(section, cut)
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

    def _buckling(self, section: Section, governing: Governing, share: float) -> list[Check]:
        soft = softened(self.strength, self.setting)
        if self.modulus is None or soft is None:
            return [not_computed("member", "buckling", self.place, f"no modulus of {self.strength.name}")]
        least = min(section.inertia_u, section.inertia_v)
        load = stresses.euler_load(self.modulus * soft, least, governing.column, governing.ends)
        crush = self.strength.yield_strength or self.strength.compression or self.strength.design
        if crush is not None:
            load = column_load(load, crush * section.area, self.strength.family == "wood")
        return [
            judge(
                "member",
                "buckling",
                self.place,
                governing.push * share,
                load,
                unit="N",
                factor=BUCKLING,
                source=f"{governing.ends} column of {governing.column * 1e3:.0f} mm between Euler's load and crushing: "
                "AISC 360 E3, timber by Ylinen; from memory",
            )
        ]


_FIELDS = ("axial", "shear_u", "shear_v", "torque", "moment_u", "moment_v")


def _remedies(make: _Maker, shape: Shape, governing: Governing) -> tuple[Remedy, ...]:
    return tuple(
        Remedy(text, worst(make.all(other, governing, share))) for text, other, share in shape.stronger()
    )
