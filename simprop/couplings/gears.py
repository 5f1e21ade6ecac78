"""Two toothed wheels."""

from __future__ import annotations

from math import cos, degrees, radians, tan
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.checking.check import Check
from simprop.couplings.base import (
    COUPLINGS,
    PARALLEL,
    Asked,
    Meshing,
    Side,
    Teeth,
    Tie,
    between,
    out_to,
    turning,
)
from simprop.couplings.bearing import teeth_bear
from simprop.couplings.looks import Drawn, ring, wheel
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Angle, Place, Size

OFF = 0.5
"""Share of the module by which the distance of two shafts may miss what their gears want: half a tooth's height."""
PRESSURE = radians(20.0)
Pressure = Annotated[Angle, Field(ge=radians(10.0), le=radians(35.0))]
"""Angles at which teeth are cut; 14.5, 20 and 25 deg are usual."""


@COUPLINGS.add
class Gears(Meshing):
    """Two spur or bevel gears, outside to outside, or a pinion in a ring.

    The teeth push along the line of action: what turns, and tan(pressure angle) of that which parts the shafts.

    Attributes:
        teeth: of the wheels on the first and the second joint.
        inside: the wheel with more teeth is a ring whose teeth point inwards.
        module: pitch diameter over number of teeth, m; None: from the distance of the shafts.
        pressure_angle: rad; 20 deg as nearly all are cut (ISO 53).
        at: where bevel gears mesh, at the middle of their teeth; shafts that aren't parallel want it.
        face: width of the teeth, m; None: their strength isn't known.
        of: material of the teeth; None: likewise.
    """

    kind: Literal["gears"] = "gears"
    joints: Pair = Field(alias="gears")
    teeth: tuple[Teeth, Teeth]
    inside: Annotated[bool, Field(strict=True)] = False
    module: Size | None = None
    pressure_angle: Pressure = PRESSURE
    at: Place | None = None
    face: Size | None = None
    of: MaterialName | None = None

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        one, two = self.teeth
        if self.at is not None:
            size = "" if self.module is None else f", module {1e3 * self.module:g} mm"
            return tuple(
                Bought("gears, belts and chains", f"bevel gear, {n} teeth{size}", 1) for n in (one, two)
            )
        module = self.module or 2 * between(first, second)[1] / (abs(two - one) if self.inside else one + two)
        words = [f"spur gear, {n} teeth, module {1e3 * module:.3g} mm" for n in (one, two)]
        if self.inside:
            words[int(two > one)] = words[int(two > one)].replace("spur gear", "ring gear")
        return tuple(Bought("gears, belts and chains", text, 1) for text in words)

    def tie(self, first: Side, second: Side) -> Tie:
        """Source: spur and bevel gears, any text on machine design (Shigley, force analysis of gearing)."""
        turning(first, second)
        slope = tan(self.pressure_angle)
        if float(np.linalg.norm(np.cross(first.way, second.way))) > PARALLEL:
            return self._bevel(first, second, slope)
        toward, far, middle = between(first, second)
        one, two = self.teeth
        if self.inside:
            if one == two:
                raise ValueError("a pinion has fewer teeth than its ring")
            radius, out = far * one / abs(two - one), -1.0 if two > one else 1.0
        else:
            radius, out = far * one / (one + two), 1.0
        self._distance(far)
        foot = out * toward
        parts = (
            foot if self.inside and one > two else -foot
        )  # a pinion to its own middle, its ring the other way
        return Tie(middle + radius * foot, np.cross(first.way, foot), parts, share=slope)

    def _distance(self, far: float) -> None:
        if self.module is None:
            return
        one, two = self.teeth
        wanted = 0.5 * self.module * (abs(two - one) if self.inside else one + two)
        if abs(far - wanted) > OFF * self.module:
            raise ValueError(
                f"the shafts stand {1e3 * far:.1f} mm apart, and gears of {one} and {two} teeth with a module of "
                f"{1e3 * self.module:g} mm want {1e3 * wanted:.1f} mm"
            )

    def _bevel(self, first: Side, second: Side, slope: float) -> Tie:
        if self.at is None:
            raise ValueError("their shafts aren't parallel: bevel gears say where they mesh (at: 40 0 25 mm)")
        normal = np.cross(first.way, second.way)
        sine = float(np.linalg.norm(normal))
        gap = second.point - first.point
        if abs(float(gap @ normal)) / sine > 1e-3:
            raise ValueError(f"the axes of {first.joint!r} and {second.joint!r} don't meet")
        apex = first.point + first.way * (float(np.cross(gap, second.way) @ normal) / sine**2)
        mesh = np.array(self.at[:3]) - apex
        one, two = self.teeth
        lines = [first.way - sign * one / two * second.way for sign in (1.0, -1.0)]
        lines = [line / np.linalg.norm(line) for line in lines]
        line = max(lines, key=lambda v: abs(float(v @ mesh)))
        reach = float(line @ mesh)
        off = float(np.linalg.norm(mesh - reach * line))
        if off > 0.1 * abs(reach):
            cone = degrees(np.arccos(min(1.0, abs(float(line @ first.way)))))
            raise ValueError(
                f"at lies {1e3 * off:.1f} mm off the line on which gears of {one} and {two} teeth roll on each "
                f"other, which stands at {cone:.1f} deg to the first shaft"
            )
        point = apex + reach * line
        away = first.way * float(first.way @ (point - apex)) - (point - apex)
        parts = away - line * float(away @ line)
        parts = parts / np.linalg.norm(parts)
        return Tie(point, normal / sine, parts, share=slope)

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """Two toothed wheels, or a wheel in a ring; bevel gears as flat wheels."""
        made = []
        for side, teeth, other in ((first, self.teeth[0], self.teeth[1]), (second, *self.teeth[::-1])):
            out = out_to(side, tie.point)
            radius = float(np.linalg.norm(out))
            spot = (tie.point - out, side.way, out / radius, radius, teeth)
            if self.inside and teeth > other:
                made.append(ring(*spot))
            else:
                made.append(wheel(*spot, shift=0.0 if side is first else 0.5))
        return Drawn([made[0]], [made[1]])

    def checks(self, asked: Asked) -> list[Check]:
        """Bevel gears by their module at the middle of the teeth."""
        wheels = []
        for side, teeth in zip(asked.sides, self.teeth, strict=True):
            radius = float(np.linalg.norm(out_to(side, asked.tie.point)))
            wheels.append((teeth, 2 * radius / teeth))
        if self.inside:  # the root of a ring's teeth is wider than that of its pinion
            wheels = [min(wheels)]
        return teeth_bear(asked, wheels, self.face, self.of)

    def size(self, force: Array) -> Array:
        """Push of the teeth along the line of action."""
        return np.abs(force) / cos(self.pressure_angle)
