"""A screw and its nut."""

from __future__ import annotations

from math import atan, atan2, degrees, pi
from typing import Annotated, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.bought import Bought
from simprop.catalog.friction import Surfaces, surfaces
from simprop.checking.check import ALLOWABLE, Check, judge, not_computed
from simprop.couplings.base import COUPLINGS, PARALLEL, Asked, CouplingBase, Rub, Side, Tie, turning
from simprop.couplings.looks import Drawn, nut, spindle
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.laws.threads import Mesh, screw_mesh
from simprop.reading.fields import Angle, Size, fault
from simprop.reading.friction import Rubbing
from simprop.rules.power_screws import flank_pressure, safe_pressure

OILED = "greased steel on bronze"
"""What a thread is where the rig states no friction (assumed)."""
Starts = Annotated[int, Field(ge=1, le=20, strict=True)]
Hand = Literal["right", "left"]


@COUPLINGS.add
class Screw(CouplingBase):
    """A spindle on the first joint, which turns, and its nut on the second, which slides along the spindle's axis.

    Both may be one cylindrical joint: then what turns in it is screwed along it.

    Attributes:
        lead: travel of the nut for one turn, m.
        diameter: outside the thread, m.
        starts: threads side by side.
        thread_angle: between the two flanks, rad: 30 deg of a trapezoidal thread (ISO 2904), 29 deg of an Acme one,
            60 deg of a bolt or threaded rod, 0 of a square one.
        friction: of the flanks.
        nut: its length, m; None: how its flanks bear isn't known. Of bronze, on steel.
        hand: a right-handed screw that turns clockwise, seen from its end, goes away into its nut.
    """

    motions = ("turn", "slide")
    one_joint = True

    kind: Literal["screw"] = "screw"
    joints: Pair = Field(alias="screw")
    lead: Size
    diameter: Size
    starts: Starts = 1
    thread_angle: Annotated[Angle, Field(ge=0.0, le=1.3)] = pi / 6
    friction: Rubbing = surfaces(OILED)
    hand: Hand = "right"
    nut: Size | None = None

    @model_validator(mode="after")
    def _fits(self) -> Screw:
        try:
            _ = self.mesh
        except ValueError as error:
            raise fault(str(error), "a smaller lead, more starts or a larger diameter") from None
        return self

    @property
    def mesh(self) -> Mesh:
        """Its flanks."""
        return screw_mesh(self.lead, self.diameter, self.starts, self.thread_angle)

    def tie(self, first: Side, second: Side) -> Tie:
        """Source: power screws, any text on machine design (Shigley)."""
        turning(first)
        if second.motion != "slide":
            raise ValueError(f"joint {second.joint!r} doesn't slide")
        if float(np.linalg.norm(np.cross(first.way, second.way))) > PARALLEL:
            raise ValueError("a nut slides along the axis of its spindle")
        axis, sense = first.way, -1.0 if self.hand == "right" else 1.0
        mesh = self.mesh
        rub = Rub(self.friction, mesh.lever, mesh.level, mesh.slant, moment=axis, inside=True)
        return Tie(first.point, sense * axis, np.zeros(3), mesh.reach * axis, rub=rub)

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        size = f"{1e3 * self.diameter:g} mm across, lead {1e3 * self.lead:.4g} mm, {self.hand}-handed"
        return (
            Bought(
                "gears, belts and chains",
                f"threaded spindle, {size}, as long as the travel and its bearings",
                1,
            ),
            Bought("gears, belts and chains", f"nut for a spindle {size}", 1, wears="its thread wears"),
        )

    def told(self, first: Side, second: Side, tie: Tie) -> tuple[str, ...]:
        return (thread_told(self.mesh, self.friction),)

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """A threaded rod that reaches from joint to joint, and a nut on it."""
        along = float((second.point - first.point) @ first.way)
        ends = sorted((-1.5 * self.diameter, along + np.copysign(4 * self.diameter, along or 1.0)))
        rod = spindle(first.point, first.way, ends, self.diameter, self.lead, self.starts)
        place = first.point + along * first.way
        return Drawn([rod], [nut(place, first.way, self.diameter)])

    def checks(self, asked: Asked) -> list[Check]:
        """How hard the flanks press the nut."""
        source = "flank pressure of a bronze nut on steel (Shigley, table 8-4, from memory)"
        slid = asked.speed * pi * self.diameter / self.lead
        safe = safe_pressure(slid)
        if self.nut is None or safe is None:
            reason = f"its flanks slide at {slid:.2g} m/s, faster than the table of nuts goes"
            if self.nut is None:
                reason = "it doesn't say how long its nut is (`nut: 20 mm`)"
            return [not_computed("member", "nut", asked.place, reason, unit="Pa", source=source)]
        pressure = flank_pressure(asked.force, self.diameter, self.lead / self.starts, self.nut)
        return [
            judge(
                "member", "nut", asked.place, pressure, safe, unit="Pa", factor=ALLOWABLE, source=source,
                time=asked.time,
            )
        ]  # fmt: skip

    def size(self, force: Array) -> Array:
        """Load along the spindle."""
        return np.abs(force)


def thread_told(mesh: Mesh, pair: Surfaces) -> str:
    """How well a screw or worm drives, and whether its load can turn it back.

    Args:
        mesh: its flanks.
        pair: surfaces.
    """
    lost, held = mesh.lost(pair.kinetic), mesh.lost(pair.static, driven=True)
    start = f"it has a lead angle of {degrees(mesh.angle):.1f} deg and friction of {pair.kinetic:g}"
    if lost >= 1e8:
        return f"{start}: nothing can drive it"
    share = f"{100 * mesh.reach / (mesh.reach + lost):.0f} % of the torque goes into the load"
    if held < mesh.reach:
        back = 100 * (1 - mesh.lost(pair.kinetic, driven=True) / mesh.reach)
        return f"{start}: {share}, and the load turns it back with {back:.0f} % of its own"
    shaken = atan2(mesh.slant, mesh.level) > atan(0.5 * pair.static)
    more = ", which shaking may undo" if shaken else ""
    return f"{start}: {share}; at rest the load can't turn it back (self-locking{more})"
