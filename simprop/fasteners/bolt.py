"""A through-bolt: shear, bending, holes of both parts, slip, fatigue life, nut, side clearance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, inf
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.catalog.load import pipe, table
from simprop.catalog.strengths import FatigueLine
from simprop.checking.check import ALLOWABLE, Check, judge, warning
from simprop.checking.context import Context, Part, peak
from simprop.checking.life import life_check
from simprop.checking.setting import least_factor
from simprop.fasteners import wood_member
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.fasteners.bolt_buying import bolted
from simprop.fasteners.bolt_hole import Loaded, hole_checks
from simprop.fasteners.hexagon import hexagon_bolt
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.reading.fields import Size
from simprop.rules import bolts, sections, tube_holes, washers, wood_joints
from simprop.rules.nuts import Nut, nut_warning

SHEAR_LINE = FatigueLine(50e6, 2e6, 5.0, False, False)
"""Bolts in shear: detail category 100 (range, MPa at 2e6), slope 5; EN 1993-1-9, from memory."""
BOLT_YIELD = 45e3 * wood_joints.PSI
"""Bending yield of a bolt in wood, Pa: AWC NDS for ordinary bolts (ASTM A307), from memory."""
DOUBLER = 3e-3
"""Thickness of an aluminium plate that is tried as a change, m."""
NO_DIRECTION = "the bolt's direction isn't said (`along`): the whole force counts across and along it"
LEAST_LEVER = 0.005
"""Half width that a pivot pries over where no part is drawn, m. Assumed: a washer's."""
OFFSET_SHARE = 0.25
"""A side offset that takes more than this share of what a pipe may bear is told."""
SLIP_FRICTION = 0.2
"""Between clamped parts: untreated surfaces, EN 1993-1-8 class D."""
IN_LINE = 2e-3
"""Parts whose middles are drawn closer than this along the bolt lie in one plane, m."""


class Bolt(Fastener):
    """A through-bolt.

    Attributes:
        bolt: size, such as ``1/4-20`` or ``M6``.
        grade: SAE grade (2, 5, 8) or ISO class (4.6, 8.8...).
        nut: what keeps it on.
        shear: single (parts side by side) or double (one part in a fork).
        threads: whether the threads lie in the shear plane.
        sleeve: a tube or bushing carries the pivot in the hole, so the bolt doesn't work in the wall.
        edge: from the middle of the hole to the free end of the part, m; None: assumed by common practice.
        gap: space between the two parts along the bolt (washers), m.
        tightened: clamps the parts together; only where the joint doesn't move.
    """

    kind: Literal["bolt"] = "bolt"
    size: Annotated[str, known(fasteners.bolt)] = Field(alias="bolt")
    grade: Annotated[str, known(fasteners.grade)] | None = None
    nut: Nut | None = None
    shear: Literal["single", "double"] = "single"
    threads: Literal["in", "out"] = "in"
    sleeve: bool = False
    edge: Size | None = None
    gap: Size = 0.001
    tightened: bool = False
    PIVOT: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "its nut creeping off, an oval hole, a rubbed shank",
        "snug, so that what moves still does; after the first night, then each week; a stroke of paint over nut and "
        "bolt shows what creeps",
        "nylon insert nuts each time they come off; the bolt when its shank is grooved; the part when its hole is oval "
        "by 0.5 mm",
    )

    @property
    def diameter(self) -> float:
        return fasteners.bolt(self.size).diameter

    def drawn(self, start: float, end: float) -> Surface:
        return hexagon_bolt(start, end, self.diameter)

    def checks(self, ctx: Context) -> list[Check]:
        load = self._each(ctx)
        if load is None:
            reason = "one bolt can't stop the parts from turning: say `count` and `spacing`"
            return [ctx.not_computed("bolt group", reason)]
        size = fasteners.bolt(self.size)
        grade = fasteners.grade(self.grade or ("4.6" if size.name.startswith("M") else "2"))
        at = _Bolted(ctx, self, size, grade, *load)
        most, row = peak(at.shear)
        loaded = Loaded(
            ctx, size.diameter, most, float(ctx.time[row]), at.planes, at.worn, self.edge, self.gap
        )
        found = [at.in_shear()]
        if any(ctx.parts):
            found.append(at.in_bending(loaded))
        for part in ctx.parts:
            found += hole_checks(loaded, part)
        if any(wood_member.is_wood(ctx, k) for k in (0, 1)):
            found.append(at.in_wood())
        found.append(at.life(most))
        if self.tightened and not ctx.moving:
            found.append(at.slip(most))
        return found + at.nut() + self._clearance(ctx) + self._offset(ctx, most)

    def changes(self, ctx: Context) -> list[Change]:
        found: list[Change] = []
        if self.grade in (None, "2", "4.6", "4.8"):
            better = "8.8" if self.size.upper().startswith("M") else "5"
            found.append(self.change(f"a grade {better} bolt", ctx, grade=better))
        if self.edge is not None:
            edge = ceil(1e3 * max(4 * self.diameter, 2 * self.edge))
            found.append(self.change(f"leave {edge} mm behind the hole", ctx, edge=edge * 1e-3))
        if ctx.moving and not self.sleeve:
            text = "a sleeve or bushing in the hole that carries the pivot"
            found.append(self.change(text, ctx, sleeve=True))
        name: str | None = self.size
        for _ in range(2):
            name = fasteners.next_size(name, "bolt") if name else None
            if name:
                found.append(self.change(f"a {name} bolt", ctx, size=name))
        first, second = ctx.parts
        if not any(p.plate for p in ctx.parts if p is not None):
            text = f"a {DOUBLER * 1e3:.0f} mm aluminium plate over the hole on each loaded wall"
            found.append((text, (self, replace(ctx, parts=(_plated(first), _plated(second))))))
        if self.shear == "single":
            text = "double shear: a fork or a second plate, so that the bolt is held on both sides"
            found.append(self.change(text, ctx, shear="double"))
        for part in ctx.parts:
            if part is None or not part.tube or part.material != "PVC":
                continue
            for size in table("pipes"):
                data = pipe(size)
                if data.outside > part.outside + 1e-6:
                    other = replace(part, outside=data.outside, wall=data.wall, half=data.outside / 2)
                    parts = (other, second) if part is first else (first, other)
                    found.append((f"{part.body} of {data.name} pipe", (self, replace(ctx, parts=parts))))
        return found

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        """Bolts of the length that covers what they go through, with washers, nuts, spacers and sleeves."""
        return bolted(self, grip)

    def _each(self, ctx: Context) -> tuple[Array, Array] | None:
        """Load across and along the worst bolt of the row, (n,) N each."""
        load = ctx.row(self.count, self.spacing)
        if load is None or not ctx.moving:
            return load
        lever = min((p.half for p in ctx.parts if p is not None), default=LEAST_LEVER)
        return load[0], load[1] + ctx.tilt / lever

    def _clearance(self, ctx: Context) -> list[Check]:
        first, second = ctx.parts
        if not ctx.moving or first is None or second is None or self.shear == "double":
            return []
        spacing = abs(first.middle - second.middle)
        gap = washers.side_clearance(spacing, first.half, second.half)
        if spacing < IN_LINE or gap >= washers.LEAST_CLEARANCE:
            return []
        need = first.half + second.half + self.gap
        reason = (
            f"the parts are drawn {spacing * 1e3:.0f} mm apart along the bolt and run into each other: "
            f"{need * 1e3:.0f} mm are needed"
        )
        return [ctx.warning("side clearance", reason)]

    def _offset(self, ctx: Context, most: float) -> list[Check]:
        """Parts side by side are drawn in one plane: the couple of their real offset isn't in the members' loads."""
        first, second = ctx.parts
        if first is None or second is None or self.shear == "double":
            return []
        if abs(first.middle - second.middle) > IN_LINE:
            return []
        apart = first.half + second.half + self.gap
        couple = most * apart
        found = []
        for part in (first, second):
            s = part.strength
            if part.tube and s is not None and s.yield_strength is not None:
                modulus = sections.tube(part.outside, part.outside - 2 * part.wall).modulus_u
                if couple / modulus > OFFSET_SHARE * s.yield_strength / least_factor(s.family, ctx.setting):
                    found.append(part.label)
        if not found:
            return []
        reason = (
            f"drawn in one plane, but side by side on the bolt the middles are {apart * 1e3:.0f} mm apart: up to "
            f"{couple:.2g} N*m more than drawn bends {' and '.join(found)}; a fork (double shear) avoids it"
        )
        return [ctx.warning("side offset", reason)]


def _plated(part: Part | None) -> Part | None:
    return None if part is None else replace(part, plate=DOUBLER)


@dataclass(frozen=True)
class _Bolted:
    """A bolt with its size, its steel, and the load across and along the worst of the row, (n,) N."""

    ctx: Context
    hold: Bolt
    size: fasteners.Bolt
    grade: fasteners.Grade
    shear: Array
    pull: Array

    @property
    def worn(self) -> bool:
        """Whether the pivot works in the hole."""
        return self.ctx.moving and not self.hold.sleeve

    @property
    def planes(self) -> int:
        """How many shear planes the bolt has."""
        return 2 if self.hold.shear == "double" else 1

    def in_shear(self) -> Check:
        """Shear and pull together."""
        bolt, grade = self.size, self.grade
        assumed = [] if self.hold.grade else [f"grade {grade.name} (not stated)"]
        if self.ctx.shared:
            assumed.append(f"{self.ctx.shared} shared as joints and bodies give")
        if not self.ctx.axis.any():
            assumed.append(NO_DIRECTION)
        across = bolts.shear_capacity(
            bolt.diameter,
            bolt.area,
            grade.ultimate,
            grade.shear_factor,
            self.planes,
            threads_in=self.hold.threads == "in",
        )
        along = bolts.tension_capacity(bolt.area, grade.ultimate)
        use = bolts.shear_and_tension(self.shear, self.pull, across, along)
        return self.ctx.against(
            f"{bolt.name} bolt in {self.hold.shear} shear and pull",
            use,
            1.0,
            unit="of its resistance",
            factor=least_factor("metal", self.ctx.setting) / bolts.GAMMA,
            assumed=assumed,
            source=f"EN 1993-1-8 table 3.4 (its 1.25 is in the resistance); {grade.source}",
        )

    def in_bending(self, at: Loaded) -> Check:
        """Bending between the nearest walls."""
        size, gap = self.size.diameter, self.hold.gap
        walls = [p.wall if p.tube else min(p.wall, size) for p in self.ctx.parts if p is not None]
        arm, share = gap / 2 + max(walls) / 2, 1.0
        if self.planes == 2:
            arm, share = gap + max(walls) / 2 + min(walls) / 2, 0.5
        return self.ctx.against(
            f"{self.size.name} bolt in bending",
            self.shear * (share * bolts.bending_stress(1.0, arm, self.size.area)),
            self.grade.yield_strength,
            unit="Pa",
            factor=least_factor("metal", self.ctx.setting),
            assumed=[f"{gap * 1e3:.1f} mm between the parts, the load in the middle of the nearest walls"],
            source="statics; bending of a rod of the stress area",
        )

    def in_wood(self) -> Check:
        """Sideways load by the yield modes of a bolt in wood."""
        ctx, size, name = self.ctx, self.size.diameter, f"{self.size.name} bolt in wood"
        one, two = (wood_member.bearing(ctx, k, size) for k in (0, 1))
        if one is None or two is None:
            return ctx.not_computed(
                name, "the strength of both parts that the bolt goes through must be known"
            )
        walls = [p.wall for p in ctx.parts if p is not None]
        middle = 1 if walls[1] >= walls[0] and self.planes == 2 else 0
        modes = wood_joints.lateral_modes(
            size,
            BOLT_YIELD,
            walls[middle],
            walls[1 - middle] / (2 if self.planes == 2 else 1),
            main_bearing=two if middle else one,
            side_bearing=one if middle else two,
            angle=wood_member.angle(ctx),
            shear=self.hold.shear,
        )
        allowed = np.min(list(modes.values()), axis=0) * (tube_holes.LOOSE_PIN_CREDIT if self.worn else 1.0)
        assumed = ["half of the bearing counts: the pivot works in the hole"] if self.worn else []
        if self.planes == 2:
            assumed.append("the thicker part in the middle, half of the other on each side")
        return ctx.against(
            name,
            self.shear / allowed,
            1.0,
            unit="of its allowable load",
            factor=ALLOWABLE,
            assumed=assumed,
            source="AWC NDS yield limit equations, all modes, at the load's angle to the grain; from memory",
        )

    def life(self, most: float) -> Check:
        """Fatigue life in shear."""
        across = self.ctx.across
        _, vectors = np.linalg.eigh(across.T @ across)
        share = most / max(float(self.ctx.sideways.max()), 1e-12)
        return life_check(
            f"{self.ctx.joint}, {self.size.name} bolt",
            across @ vectors[:, -1] * share / (self.planes * self.size.area),
            line=SHEAR_LINE,
            ultimate=inf,
            setting=self.ctx.setting,
            step=self.ctx.step,
            source="EN 1993-1-9 detail category 100, slope 5, from memory",
        )

    def slip(self, most: float) -> Check:
        """Slip of a joint that is clamped together."""
        limit = bolts.slip_load(bolts.clamp_load(self.grade.proof, self.size.area), SLIP_FRICTION)
        name, place = "slip of the clamped joint", self.ctx.joint
        assumed = [f"tightened to 75 % of proof, friction {SLIP_FRICTION}"]
        if most > limit:
            reason = "it slips until the bolt bears on the hole: expect play"
            return warning(
                "fastener", name, place, reason, demand=most, capacity=limit, unit="N", assumed=assumed
            )
        source = "fastener tables; Coulomb"
        return judge(
            "fastener", name, place, most, limit, unit="N", factor=ALLOWABLE, assumed=assumed, source=source
        )

    def nut(self) -> list[Check]:
        """Whether the nut stays on."""
        ctx, nut = self.ctx, self.hold.nut
        text = None if nut is None else nut_warning(nut, ctx.moving, ctx.setting.temperature)
        if nut is None and ctx.moving:
            text = (
                "the rig doesn't say which nut: on a moving joint only a nylon-insert or double nut stays on"
            )
        return [] if text is None else [ctx.warning("nut", text)]
