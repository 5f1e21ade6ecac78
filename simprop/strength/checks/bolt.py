"""A through-bolt at a joint: shear, bending, holes of both parts, tear-out, slip, wear, nut, side clearance."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, sqrt
from typing import cast

import numpy as np

from simprop.catalog import fasteners
from simprop.catalog.load import pipe, table
from simprop.catalog.strengths import FatigueLine, Strength
from simprop.fasteners.kinds import BoltHold
from simprop.geometry.arrays import Array
from simprop.rules import bolts, sections, tube_holes, washers
from simprop.rules.nuts import nut_warning
from simprop.rules.sections import modulus_u
from simprop.rules.wood_screws import dowel_bearing
from simprop.strength.checks.fatigue_life import life_check
from simprop.strength.context import Context, Part, group_arm, peak, sideways
from simprop.strength.margins import ALLOWABLE, Check, Remedy, judge, not_computed, warning, worst
from simprop.strength.setting import least_factor, weakened

Change = tuple[str, BoltHold, tuple[Part | None, Part | None], float]
"""A change in words, and the bolt, the parts and the plate (m) after it."""
SHEAR_LINE = FatigueLine(50e6, 2e6, 5.0, False, False)
"""Bolts in shear: detail category 100 (range, MPa at 2e6), slope 5; EN 1993-1-9, from memory."""
DOUBLER = 3e-3
"""Thickness of an aluminium plate that is tried as a change, m."""
PLATE_YIELD = 110e6
"""Yield of that plate, Pa: 6063-T5 minimum."""
NO_DIRECTION = "the bolt's direction isn't said (`along`): the whole force counts across and along it"
LEAST_LEVER = 0.005
"""Half width that a pivot pries over where no part is drawn, m. Assumed: a washer's."""
OFFSET_SHARE = 0.25
"""A side offset that takes more than this share of what a pipe may bear is told."""
SLIP_FRICTION = 0.2
"""Between clamped parts: untreated surfaces, EN 1993-1-8 class D."""
WOOD_REDUCTION = 4.0
"""Bearing strength over allowable load of a bolt in wood, AWC NDS yield modes I."""


def bolt_checks(ctx: Context) -> tuple[Check, ...]:
    """All checks of a bolted joint, with changes worked out for those that fail.

    Every single change is tried; where none is enough, the first pair that is.

    Args:
        ctx: the held joint with its loads.
    """
    hold = cast(BoltHold, ctx.hold)
    checks = _checks(ctx, hold, ctx.parts)
    if not any(c.verdict == "fail" for c in checks):
        return tuple(checks)
    changes = _changes(ctx, hold)
    remedies = [Remedy(c[0], worst(_checks(ctx, c[1], c[2], c[3]))) for c in changes]
    if all(r.margin < 1 for r in remedies):
        remedies += _pairs(ctx, changes)
    return tuple(replace(c, remedies=tuple(remedies)) if c.verdict == "fail" else c for c in checks)


def _pairs(ctx: Context, changes: list[Change]) -> list[Remedy]:
    """The first two changes that are enough together, or nothing."""
    for text, hold, parts, plate in changes:
        for more, other, others, second in _changes(replace(ctx, parts=parts), hold):
            if second and plate:
                continue
            margin = worst(_checks(ctx, other, others, max(plate, second)))
            if margin >= 1:
                return [Remedy(f"{text}, and {more}", margin)]
    return []


def _changes(ctx: Context, hold: BoltHold) -> list[Change]:
    """Single changes in the order of effort."""
    found: list[Change] = []
    if hold.grade in (None, "2", "4.6", "4.8"):
        better = "8.8" if hold.size.upper().startswith("M") else "5"
        found.append((f"a grade {better} bolt", hold.model_copy(update={"grade": better}), ctx.parts, 0.0))
    if hold.edge is not None:
        size = fasteners.bolt(hold.size).diameter
        edge = max(4 * size, 2 * hold.edge)
        text = f"leave {edge * 1e3:.0f} mm behind the hole"
        found.append((text, hold.model_copy(update={"edge": edge}), ctx.parts, 0.0))
    if ctx.moving and not hold.sleeve:
        text = "a sleeve or bushing in the hole that carries the pivot"
        found.append((text, hold.model_copy(update={"sleeve": True}), ctx.parts, 0.0))
    name: str | None = hold.size
    for _ in range(2):
        name = fasteners.next_size(name, "bolt") if name else None
        if name:
            found.append((f"a {name} bolt", hold.model_copy(update={"size": name}), ctx.parts, 0.0))
    text = f"a {DOUBLER * 1e3:.0f} mm aluminium plate over the hole on each loaded wall"
    found.append((text, hold, ctx.parts, DOUBLER))
    if hold.shear == "single":
        text = "double shear: a fork or a second plate, so that the bolt is held on both sides"
        found.append((text, hold.model_copy(update={"shear": "double"}), ctx.parts, 0.0))
    return found + _pipe_changes(ctx, hold)


def _pipe_changes(ctx: Context, hold: BoltHold) -> list[Change]:
    found: list[Change] = []
    for i, part in enumerate(ctx.parts):
        if part is None or part.kind != "tube" or part.material != "PVC":
            continue
        for size in table("pipes"):
            data = pipe(size)
            if data.outside > part.outside + 1e-6:
                other = replace(part, outside=data.outside, wall=data.wall, half=data.outside / 2)
                parts = (other, ctx.parts[1]) if i == 0 else (ctx.parts[0], other)
                found.append((f"{part.body} of {data.name} pipe", hold, parts, 0.0))
    return found


@dataclass(frozen=True)
class _Bolted:
    """A bolted joint with the peak shear in its worst bolt, N, its row, and a plate that is tried, m."""

    ctx: Context
    hold: BoltHold
    bolt: fasteners.Bolt
    grade: fasteners.Grade
    parts: tuple[Part | None, Part | None]
    plate: float
    shear: Array
    pull: Array
    most: float
    row: int

    @property
    def planes(self) -> int:
        """How many shear planes the bolt has."""
        return 2 if self.hold.shear == "double" else 1

    @property
    def time(self) -> float:
        """When the shear peaks, s."""
        return float(self.ctx.time[self.row])


def _checks(
    ctx: Context, hold: BoltHold, parts: tuple[Part | None, Part | None], plate: float = 0.0
) -> list[Check]:
    bolt = fasteners.bolt(hold.size)
    grade = fasteners.grade(hold.grade or ("4.6" if bolt.name.startswith("M") else "2"))
    load = _each(ctx, hold)
    if load is None:
        reason = "one bolt can't stop the parts from turning: say `count` and `spacing`"
        return [not_computed("fastener", "bolt group", ctx.joint, reason)]
    at = _Bolted(ctx, hold, bolt, grade, parts, plate, *load, *peak(load[0]))
    checks = [_shear(at)]
    if any(parts):
        checks.append(_bending(at))
    for part in parts:
        checks += _hole(at, part)
    checks.append(_wear(at))
    if hold.tightened and not ctx.moving:
        checks.append(_slip(at))
    return checks + _nut(at) + _clearance(at) + _offset(at)


def _shear(at: _Bolted) -> Check:
    assumed = [] if at.hold.grade else [f"grade {at.grade.name} (not stated)"]
    if at.ctx.shared:
        assumed.append(f"{at.ctx.shared} shared as if all joints were equally stiff")
    if not at.ctx.axis.any():
        assumed.append(NO_DIRECTION)
    bolt, grade = at.bolt, at.grade
    inside = at.hold.threads == "in"
    shear_limit = bolts.shear_capacity(
        bolt.diameter, bolt.area, grade.ultimate, grade.shear_factor, at.planes, threads_in=inside
    )
    pull_limit = bolts.tension_capacity(bolt.area, grade.ultimate)
    use = np.maximum(at.shear / shear_limit + at.pull / (1.4 * pull_limit), at.pull / pull_limit)
    row = int(np.argmax(use))
    return judge(
        "fastener",
        f"{bolt.name} bolt in {at.hold.shear} shear and pull",
        at.ctx.joint,
        bolts.shear_and_tension(float(at.shear[row]), float(at.pull[row]), shear_limit, pull_limit),
        1.0,
        unit="of its resistance",
        factor=least_factor("metal", at.ctx.setting) / bolts.GAMMA,
        assumed=assumed,
        source=f"EN 1993-1-8 table 3.4 (its 1.25 is in the resistance); {grade.source}",
        time=float(at.ctx.time[row]),
    )


def _each(ctx: Context, hold: BoltHold) -> tuple[Array, Array] | None:
    """Load across and along the worst bolt of the row, (n,) N each."""
    shear, pull = sideways(ctx) / hold.count, np.abs(ctx.along) / hold.count
    if ctx.moving:
        return shear, pull + ctx.tilt / _lever(ctx)
    arm = group_arm(hold.count, hold.spacing)
    twist, pry = peak(ctx.torque)[0], peak(ctx.tilt)[0]
    small = 1e-3
    if arm is None:
        if twist > small or pry > small:
            return None
        return shear, pull
    return shear + np.abs(ctx.torque) * arm[0] / arm[1], pull + ctx.tilt * arm[0] / arm[1]


def _lever(ctx: Context) -> float:
    """Half width that a pivot's parts pry over when the joint is tilted, m."""
    return min((p.half for p in ctx.parts if p is not None), default=LEAST_LEVER)


def _bending(at: _Bolted) -> Check:
    size = at.bolt.diameter
    walls = [p.wall if p.kind == "tube" else min(p.wall, size) for p in at.parts if p is not None]
    if at.hold.shear == "double":
        arm, share = at.hold.gap + max(walls) / 2 + min(walls) / 2, at.most / 2
    else:
        arm, share = at.hold.gap / 2 + max(walls) / 2, at.most
    return judge(
        "fastener",
        f"{at.bolt.name} bolt in bending",
        at.ctx.joint,
        bolts.bending_stress(share, arm, at.bolt.area),
        at.grade.yielding,
        unit="Pa",
        factor=least_factor("metal", at.ctx.setting),
        assumed=[
            f"{at.hold.gap * 1e3:.1f} mm between the parts, the load in the middle of the nearest walls"
        ],
        source="statics; bending of a rod of the stress area",
        time=at.time,
    )


def _hole(at: _Bolted, part: Part | None) -> list[Check]:
    if part is None:
        reason = "no pipe, bar or block is drawn at the joint"
        return [not_computed("fastener", "hole", at.ctx.joint, reason)]
    s = part.strength
    place = f"{at.ctx.joint}, hole in {part.label}"
    if s is None:
        return [not_computed("fastener", "hole", place, f"no strength of {part.material or 'its material'}")]
    weak = weakened(s, at.ctx.setting)
    if weak is None:
        reason = f"no figures for {s.name} at {at.ctx.setting.temperature:.0f} degC"
        return [not_computed("fastener", "hole", place, reason)]
    walls, load, assumed = _share(at, part)
    bearing = _bearing(at, part, s, weak, (place, walls, load, assumed))
    return [bearing, *_tear_out(at, part, s, weak, (place, walls, load))]


def _share(at: _Bolted, part: Part) -> tuple[int, float, list[str]]:
    """Walls that carry, the load on them N, and what was assumed."""
    if part.kind != "tube":
        return 1, at.most, []
    if at.hold.shear == "double":
        return 2, at.most, []
    load = tube_holes.near_wall_load(at.most, part.outside, part.wall, at.hold.gap / 2)
    return 1, load, ["bolt held on one side: the nearer wall carries all"]


def _bearing(
    at: _Bolted, part: Part, s: Strength, weak: float, where: tuple[str, int, float, list[str]]
) -> Check:
    place, walls, load, assumed = where
    size = at.bolt.diameter
    worn = at.ctx.moving and not at.hold.sleeve
    credit = tube_holes.LOOSE_PIN_CREDIT if worn else 1.0
    if worn:
        assumed = [*assumed, "half of the bearing counts: the pivot works in the hole"]
    if s.family == "wood":
        if s.gravity is None:
            return not_computed("fastener", "bearing of the hole", place, f"no specific gravity of {s.name}")
        stress = dowel_bearing(s.gravity, size, along_grain=False) / WOOD_REDUCTION
        factor, source = ALLOWABLE, "AWC NDS yield mode I across the grain, from memory; " + s.source
    else:
        stress = (s.yielding or 0.0) * weak
        factor, source = least_factor(s.family, at.ctx.setting), "F / (n d t); " + s.source
    capacity = tube_holes.bearing_load(stress, size, part.wall, walls) * credit
    capacity += tube_holes.bearing_load(PLATE_YIELD, size, at.plate, walls) * credit
    return judge(
        "fastener",
        "bearing of the hole",
        place,
        load,
        capacity,
        unit="N",
        factor=factor,
        assumed=assumed,
        source=source,
        time=at.time,
    )


def _tear_out(
    at: _Bolted, part: Part, s: Strength, weak: float, where: tuple[str, int, float]
) -> list[Check]:
    if part.edge is None and at.hold.edge is None:
        return []
    place, walls, load = where
    size = at.bolt.diameter
    asked = tube_holes.least_edge(size, s.family != "metal")
    drawn = part.edge if part.edge is not None else inf
    assumed: list[str] = []
    edge = at.hold.edge if at.hold.edge is not None else drawn
    if at.hold.edge is None and drawn < size:
        edge = asked
        assumed.append(f"{asked * 1e3:.0f} mm left behind the hole (the part is drawn to the hole)")
    wood = s.family == "wood"
    shear = s.shear_design if wood else (s.yielding or 0.0) / sqrt(3) * weak
    if shear is None:
        return [not_computed("fastener", "tear-out", place, f"no shear strength of {s.name}")]
    capacity = 0.0
    if edge > size / 2:
        capacity = tube_holes.tear_out_load(shear, edge, size, part.wall, walls)
        capacity += tube_holes.tear_out_load(PLATE_YIELD / sqrt(3), edge, size, at.plate, walls)
    check = judge(
        "fastener",
        "tear-out to the end",
        place,
        load,
        capacity,
        unit="N",
        factor=ALLOWABLE if wood else least_factor(s.family, at.ctx.setting),
        assumed=assumed,
        source="two planes a wall of edge - d/2; shear yield / sqrt(3) by von Mises",
        time=at.time,
    )
    return [check]


def _wear(at: _Bolted) -> Check:
    across = at.ctx.across
    values, vectors = np.linalg.eigh(across.T @ across)
    way = vectors[:, int(np.argmax(values))]
    share = at.most / max(float(sideways(at.ctx).max()), 1e-12)
    return life_check(
        f"{at.ctx.joint}, {at.bolt.name} bolt",
        across @ way * share / (at.planes * at.bolt.area),
        line=SHEAR_LINE,
        ultimate=inf,
        setting=at.ctx.setting,
        step=float(at.ctx.time[1] - at.ctx.time[0]) if len(at.ctx.time) > 1 else 0.0,
        source="EN 1993-1-9 detail category 100, slope 5, from memory",
    )


def _slip(at: _Bolted) -> Check:
    limit = bolts.slip_load(bolts.clamp_load(at.grade.proof, at.bolt.area), SLIP_FRICTION)
    name, place = "slip of the clamped joint", at.ctx.joint
    assumed = [f"tightened to 75 % of proof, friction {SLIP_FRICTION}"]
    if at.most > limit:
        reason = "it slips until the bolt bears on the hole: expect play"
        return warning(
            "fastener", name, place, reason, demand=at.most, capacity=limit, unit="N", assumed=assumed
        )
    source = "fastener tables; Coulomb"
    return judge(
        "fastener", name, place, at.most, limit, unit="N", factor=ALLOWABLE, assumed=assumed, source=source
    )


def _nut(at: _Bolted) -> list[Check]:
    if at.hold.nut is None:
        if not at.ctx.moving:
            return []
        reason = "the rig doesn't say which nut: on a moving joint only a nylon-insert or double nut stays on"
        return [warning("fastener", "nut", at.ctx.joint, reason)]
    text = nut_warning(at.hold.nut, at.ctx.moving, at.ctx.setting.temperature)
    return [] if text is None else [warning("fastener", "nut", at.ctx.joint, text)]


def _clearance(at: _Bolted) -> list[Check]:
    first, second = at.parts
    if not at.ctx.moving or first is None or second is None or at.hold.shear == "double":
        return []
    spacing = abs(first.middle - second.middle)
    gap = washers.side_clearance(spacing, first.half, second.half)
    if spacing < 2e-3 or gap >= washers.LEAST_CLEARANCE:
        return []
    need = first.half + second.half + at.hold.gap
    reason = (
        f"the parts are drawn {spacing * 1e3:.0f} mm apart along the bolt and run into each other: "
        f"{need * 1e3:.0f} mm are needed"
    )
    return [warning("fastener", "side clearance", at.ctx.joint, reason)]


def _offset(at: _Bolted) -> list[Check]:
    """Parts side by side are drawn in one plane: the couple of their real offset isn't in the members' loads."""
    first, second = at.parts
    if (
        first is None
        or second is None
        or at.hold.shear == "double"
        or abs(first.middle - second.middle) > 2e-3
    ):
        return []
    apart = first.half + second.half + at.hold.gap
    couple = at.most * apart
    found = []
    for part in at.parts:
        if part is None or part.kind != "tube" or part.strength is None or part.strength.yielding is None:
            continue
        modulus = modulus_u(sections.tube(part.outside, part.outside - 2 * part.wall))
        allowed = part.strength.yielding / least_factor(part.strength.family, at.ctx.setting)
        if couple / modulus > OFFSET_SHARE * allowed:
            found.append(part.label)
    if not found:
        return []
    reason = (
        f"drawn in one plane, but side by side on the bolt the middles are {apart * 1e3:.0f} mm apart: up to "
        f"{couple:.2g} N*m more than drawn bends {' and '.join(found)}; a fork (double shear) avoids it"
    )
    return [warning("fastener", "side offset", at.ctx.joint, reason)]
