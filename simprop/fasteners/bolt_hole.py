"""The holes of a bolt: bearing of their walls, and tear-out to the free end."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt

from simprop.catalog.strengths import Strength
from simprop.checking.check import ALLOWABLE, Check, judge, not_computed
from simprop.checking.context import Context, Part
from simprop.checking.setting import least_factor
from simprop.rules import tube_holes

PLATE_YIELD = 110e6
"""Yield of an aluminium plate that is tried as a change, Pa: 6063-T5 minimum."""


@dataclass(frozen=True)
class Loaded:
    """The load of a bolt on its holes.

    Attributes:
        ctx: the held joint.
        diameter: of the bolt, m.
        load: peak of the load across it, N.
        time: of that peak, s.
        planes: shear planes of the bolt, 1 or 2.
        worn: the pivot works in the hole.
        edge: from the middle of the hole to the free end as stated, m; None: not stated.
        gap: between the two parts, m.
    """

    ctx: Context
    diameter: float
    load: float
    time: float
    planes: int
    worn: bool
    edge: float | None
    gap: float


def hole_checks(at: Loaded, part: Part | None) -> list[Check]:
    """Bearing and tear-out of one part's hole; how wood bears is told by the bolt's yield modes.

    Args:
        part: what the bolt goes through; None where nothing is drawn.
    """
    if part is None:
        return [at.ctx.not_computed("hole", "no pipe, bar or block is drawn at the joint")]
    place, s = f"{at.ctx.joint}, hole in {part.label}", part.strength
    weak = f"no strength of {part.material or 'its material'}" if s is None else at.ctx.weakened(s)
    if s is None or isinstance(weak, str):
        return [not_computed("fastener", "hole", place, str(weak))]
    walls, load, assumed = 1, at.load, []
    if part.tube and at.planes == 2:
        walls = 2
    elif part.tube:
        load = tube_holes.near_wall_load(at.load, part.outside, part.wall, at.gap / 2)
        assumed = ["bolt held on one side: the nearer wall carries all"]
    hole = _Hole(at, part, s, weak, place, walls, load)
    pressed = [] if s.family == "wood" else [hole.bearing(assumed)]
    return [*pressed, *hole.tear_out()]


@dataclass(frozen=True)
class _Hole:
    """A part's hole: its strength with the factor for temperature, the walls that carry, and the load on them, N."""

    at: Loaded
    part: Part
    s: Strength
    weak: float
    place: str
    walls: int
    load: float

    def bearing(self, assumed: list[str]) -> Check:
        """Pressure of the bolt on the walls."""
        at, s, size = self.at, self.s, self.at.diameter
        credit = tube_holes.LOOSE_PIN_CREDIT if at.worn else 1.0
        if at.worn:
            assumed = [*assumed, "half of the bearing counts: the pivot works in the hole"]
        stress = (s.yield_strength or 0.0) * self.weak
        factor, source = least_factor(s.family, at.ctx.setting), "F / (n d t); " + s.source
        capacity = tube_holes.bearing_load(stress, size, self.part.wall, self.walls)
        capacity += tube_holes.bearing_load(PLATE_YIELD, size, self.part.plate, self.walls)
        return self._judge("bearing of the hole", capacity * credit, factor, assumed, source)

    def tear_out(self) -> list[Check]:
        """Shear of the walls towards the free end; nothing where there is no end."""
        at, part, s, size = self.at, self.part, self.s, self.at.diameter
        if part.edge is None and at.edge is None:
            return []
        asked = tube_holes.least_edge(size, s.family != "metal")
        drawn = part.edge if part.edge is not None else inf
        assumed: list[str] = []
        edge = at.edge if at.edge is not None else drawn
        if at.edge is None and drawn < size:
            edge = asked
            assumed.append(f"{asked * 1e3:.0f} mm left behind the hole (the part is drawn to the hole)")
        wood = s.family == "wood"
        shear = s.shear_design if wood else (s.yield_strength or 0.0) / sqrt(3) * self.weak
        if shear is None:
            return [not_computed("fastener", "tear-out", self.place, f"no shear strength of {s.name}")]
        capacity = 0.0
        if edge > size / 2:
            capacity = tube_holes.tear_out_load(shear, edge, size, part.wall, self.walls)
            capacity += tube_holes.tear_out_load(PLATE_YIELD / sqrt(3), edge, size, part.plate, self.walls)
        factor = ALLOWABLE if wood else least_factor(s.family, at.ctx.setting)
        source = "two planes a wall of edge - d/2; shear yield / sqrt(3) by von Mises"
        return [self._judge("tear-out to the end", capacity, factor, assumed, source)]

    def _judge(self, name: str, capacity: float, factor: float, assumed: list[str], source: str) -> Check:
        return judge(
            "fastener",
            name,
            self.place,
            self.load,
            capacity,
            unit="N",
            factor=factor,
            assumed=assumed,
            source=source,
            time=self.at.time,
        )
