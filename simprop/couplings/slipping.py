"""What ties two shafts by friction alone, and slips where that isn't enough: friction wheels and belts."""

from __future__ import annotations

from abc import abstractmethod
from math import asin, exp, pi, sin
from typing import Annotated, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.catalog.friction import surfaces
from simprop.couplings.base import COUPLINGS, CouplingBase, Side, Tie, between, out_to, turning
from simprop.couplings.chain import Strand, round_wheels
from simprop.couplings.looks import RUBBER, STEEL, Drawn, roller
from simprop.geometry.arrays import Array
from simprop.joints.kinds import Pair
from simprop.reading.fields import AboveZero, Angle, Force, Size
from simprop.reading.friction import Rubbing

Pressed = Annotated[Force, AboveZero]


class SlippingTie(CouplingBase):
    """What every one says.

    Attributes:
        friction: of the surfaces that hold.
    """

    friction: Rubbing = surfaces("rubber on steel")

    @abstractmethod
    def holds(self, mu: float, first: Side, second: Side) -> float:
        """Largest coupling force before it slips, N.

        Args:
            mu: coefficient of friction.
        """

    def most(self, first: Side, second: Side) -> tuple[float, float]:
        """Largest coupling force while it sticks and while it slips, N."""
        return self.holds(self.friction.static, first, second), self.holds(
            self.friction.kinetic, first, second
        )


@COUPLINGS.add
class FrictionWheel(SlippingTie):
    """Two round wheels pressed on each other, outside to outside.

    Attributes:
        diameter: of the wheel on the first joint, m; the other fills the distance of the shafts.
        press: by which they are pressed on each other, N.
    """

    kind: Literal["friction_wheel"] = "friction_wheel"
    joints: Pair = Field(alias="friction_wheel")
    diameter: Size
    press: Pressed

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        other = 2 * between(first, second)[1] - self.diameter
        words = [f"friction wheel, {1e3 * wide:.4g} mm across" for wide in (self.diameter, other)]
        return (
            Bought("gears, belts and chains", words[0], 1, wears="its tyre wears"),
            Bought("gears, belts and chains", words[1], 1),
        )

    def tie(self, first: Side, second: Side) -> Tie:
        """Source: Coulomb friction of two wheels."""
        turning(first, second)
        toward, far, middle = between(first, second)
        radius = 0.5 * self.diameter
        if radius >= far:
            raise ValueError(
                f"the shafts stand {1e3 * far:.1f} mm apart, and the first wheel takes {1e3 * radius:.1f} mm of that"
            )
        return Tie(middle + radius * toward, np.cross(first.way, toward), -toward, steady=self.press)

    def holds(self, mu: float, first: Side, second: Side) -> float:
        """Source: mu N."""
        return mu * self.press

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """A rubber-tyred wheel on a bare one."""
        made = []
        for side, finish in ((first, RUBBER), (second, STEEL)):
            out = out_to(side, tie.point)
            made.append(roller(tie.point - out, side.way, float(np.linalg.norm(out)), finish))
        return Drawn([made[0]], [made[1]])

    def size(self, force: Array) -> Array:
        """The push of the wheels on each other, along and around."""
        return np.hypot(self.press, force)


@COUPLINGS.add
class Belt(SlippingTie, Strand):
    """A flat or V-belt over two pulleys; `tension` is that of each strand at rest.

    Both strands together keep that pull; the tight one has the more. It slips where they differ by more than
    e^(mu wrap), mu / sin(groove / 2) counting for mu in a groove; its creep while it holds (1 to 2 %) is left out.

    Attributes:
        diameters: of the pulleys on the first and the second joint, to the middle of the belt, m.
        groove: between its walls, rad, 34 to 40 deg of V-belts; None: a flat or round belt on a flat pulley.
    """

    kind: Literal["belt"] = "belt"
    joints: Pair = Field(alias="belt")
    diameters: tuple[Size, Size]
    tension: Pressed
    groove: Annotated[Angle, Field(gt=0.1, le=pi)] | None = None

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        far, (one, two) = between(first, second)[1], self.diameters
        long = 2 * far + pi / 2 * (one + two) + (two - one) ** 2 / (4 * far)
        word = "flat or round belt" if self.groove is None else "V-belt"
        pulleys = [
            Bought(
                "gears, belts and chains", f"pulley for a {word}, {1e3 * wide:.4g} mm to the belt's middle", 1
            )
            for wide in (one, two)
        ]
        belt = f"{word}, {1e3 * long:.0f} mm round its middle"
        return (*pulleys, Bought("gears, belts and chains", belt, 1, wears="it stretches and frays"))

    def radii(self) -> tuple[float, float]:
        """Radii of the two pulleys, m."""
        return self.diameters[0] / 2, self.diameters[1] / 2

    def holds(self, mu: float, first: Side, second: Side) -> float:
        """Source: Eytelwein's formula on the pulley with less wrap: 2 T0 (e^(mu w) - 1) / (e^(mu w) + 1)."""
        _, far, _ = between(first, second)
        one, two = self.radii()
        wrap = pi - 2 * asin(abs(two - one) / far)
        wedged = mu if self.groove is None else mu / sin(0.5 * self.groove)
        grown = exp(wedged * wrap)
        return 2 * self.tension * (grown - 1) / (grown + 1)

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        """Two bare pulleys and a band."""
        return round_wheels(first, second, self.radii(), None, 0.004, RUBBER)
