"""A worm and its wheel."""

from __future__ import annotations

from math import cos, pi, tan
from typing import Literal

import numpy as np
from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.catalog.friction import surfaces
from simprop.checking.check import Check
from simprop.couplings.base import COUPLINGS, PARALLEL, Asked, CouplingBase, Rub, Side, Teeth, Tie, turning
from simprop.couplings.bearing import teeth_bear
from simprop.couplings.gears import PRESSURE, Pressure
from simprop.couplings.looks import Drawn, spindle, wheel
from simprop.couplings.screw import OILED, Hand, Starts, thread_told
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.laws.threads import Mesh, worm_mesh
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Size
from simprop.reading.friction import Rubbing


@COUPLINGS.add
class Worm(CouplingBase):
    """A worm on the first joint and a wheel on the second, their shafts square to each other and apart.

    The wheel's pitch radius is what the shafts' distance leaves beside the worm.

    Attributes:
        teeth: of the wheel.
        starts: threads of the worm.
        diameter: pitch diameter of the worm, m.
        pressure_angle: square to the thread, rad.
        friction: of thread and teeth.
        hand: as of a screw.
        face: width of the wheel's teeth, m; None: their strength isn't known.
        of: material of the wheel; None: likewise.
    """

    kind: Literal["worm"] = "worm"
    joints: Pair = Field(alias="worm")
    teeth: Teeth
    starts: Starts = 1
    diameter: Size
    pressure_angle: Pressure = PRESSURE
    friction: Rubbing = surfaces(OILED)
    hand: Hand = "right"
    face: Size | None = None
    of: MaterialName | None = None

    def _sizes(self, first: Side, second: Side) -> tuple[Array, float, Mesh]:
        """Direction from the worm's axis to the wheel's, pitch radius of the wheel (m), flanks of the worm."""
        turning(first, second)
        if abs(float(first.way @ second.way)) > PARALLEL:
            raise ValueError("the shafts of a worm and its wheel stand square to each other")
        normal = np.cross(first.way, second.way)
        gap = float((second.point - first.point) @ normal)
        radius = abs(gap) - 0.5 * self.diameter
        if radius <= 0.0:
            raise ValueError(
                f"the shafts are {1e3 * abs(gap):.1f} mm apart, and the worm alone takes {500 * self.diameter:.1f} mm"
            )
        mesh = worm_mesh(self.diameter, radius * self.starts / self.teeth, self.pressure_angle)
        return normal * np.sign(gap), radius, mesh

    def tie(self, first: Side, second: Side) -> Tie:
        """Source: forces on a worm, any text on machine design (Shigley)."""
        toward, _, mesh = self._sizes(first, second)
        axis, sense = first.way, -1.0 if self.hand == "right" else 1.0
        along = float((second.point - first.point) @ axis)
        half = 0.5 * self.diameter
        around = np.cross(axis, toward)
        rub = Rub(self.friction, mesh.lever, mesh.level, mesh.slant, around / half, inside=True)
        return Tie(
            first.point + along * axis + half * toward,
            sense * axis + tan(mesh.angle) * around,
            -toward,
            share=tan(self.pressure_angle) / cos(mesh.angle),
            rub=rub,
        )

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        wheel = 2 * self._sizes(first, second)[1]
        starts = "" if self.starts == 1 else f", {self.starts} starts"
        words = f"worm{starts}, {self.hand}-handed, pitch diameter {1e3 * self.diameter:g} mm"
        return (
            Bought("gears, belts and chains", words, 1),
            Bought(
                "gears, belts and chains",
                f"worm wheel, {self.teeth} teeth, pitch diameter {1e3 * wheel:.4g} mm",
                1,
                wears="its teeth wear",
            ),
        )

    def told(self, first: Side, second: Side, tie: Tie) -> tuple[str, ...]:
        return (thread_told(self._sizes(first, second)[2], self.friction),)

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """A threaded cylinder across a toothed wheel."""
        toward, radius, _ = self._sizes(first, second)
        pitch = 2 * pi * radius / self.teeth
        centre = tie.point - 0.5 * self.diameter * toward
        outside = self.diameter + 2 * pitch / pi
        ends = [-3 * pitch, 3 * pitch]
        made = spindle(centre, first.way, ends, outside, pitch * self.starts, self.starts)
        off = float((tie.point - second.point) @ second.way)
        at = second.point + off * second.way
        return Drawn([made], [wheel(at, second.way, -toward, radius, self.teeth)])

    def checks(self, asked: Asked) -> list[Check]:
        """The wheel's teeth, those of the worm being stronger, by their module square to the thread."""
        _, radius, mesh = self._sizes(*asked.sides)
        return teeth_bear(
            asked, [(self.teeth, 2 * radius / self.teeth * cos(mesh.angle))], self.face, self.of
        )

    def size(self, force: Array) -> Array:
        """Push on the wheel's teeth around it, which is the worm's thrust."""
        return np.abs(force)
