"""A chain or a toothed belt over two wheels."""

from __future__ import annotations

from abc import abstractmethod
from math import asin, ceil, cos, pi, sin
from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog.bought import Bought
from simprop.checking.check import Check
from simprop.couplings.base import COUPLINGS, Asked, CouplingBase, Meshing, Side, Teeth, Tie, between, turning
from simprop.couplings.bearing import strand_bears
from simprop.couplings.looks import RUBBER, STEEL, Drawn, band, roller, wheel
from simprop.geometry.arrays import Array
from simprop.geometry.finish import Finish
from simprop.joints.kinds import Pair
from simprop.reading.fields import AboveZero, Force, NotNegative, Size
from simprop.rules.chains import FACTOR, breaking_load


class Strand(CouplingBase):
    """What runs over two wheels.

    Attributes:
        tension: of each strand at rest, N.
        bears: largest pull that its maker allows, of a chain what it breaks at, N; None: not stated.
    """

    endless: ClassVar[bool] = True
    tension: Annotated[Force, NotNegative] = 0.0
    bears: Annotated[Force, AboveZero] | None = None

    @abstractmethod
    def radii(self) -> tuple[float, float]:
        """Pitch radii of the two wheels, m."""

    def tie(self, first: Side, second: Side) -> Tie:
        """The tight strand pulls with the coupling force more than the slack one.

        Source: open belt drive, any text on machine design.
        """
        turning(first, second)
        toward, far, middle = between(first, second)
        one, two = self.radii()
        if far <= one + two:
            raise ValueError(
                f"the shafts stand {1e3 * far:.1f} mm apart, and the wheels need more than {1e3 * (one + two):.1f} mm"
            )
        lean = asin((two - one) / far)
        aside = np.cross(first.way, toward)
        forces, points = [], []
        for sign in (1.0, -1.0):
            out = sign * cos(lean) * aside - sin(lean) * toward
            forces.append(cos(lean) * toward + sign * sin(lean) * aside)
            points.append(middle + one * out)
        # about the middle of the first wheel: the one strand drives it backwards, the other forwards
        arms = [np.cross(p - middle, f) for p, f in zip(points, forces, strict=True)]
        return Tie(
            middle,
            0.5 * (forces[0] - forces[1]),
            forces[0] + forces[1],
            0.5 * (arms[0] - arms[1]),
            arms[0] + arms[1],
            share=0.5,
            steady=self.tension,
        )

    def checks(self, asked: Asked) -> list[Check]:
        return strand_bears(
            asked, self.bears, source="largest pull that its maker allows, as the rig states it"
        )

    def size(self, force: Array) -> Array:
        """Pull of the tight strand."""
        return np.asarray(np.maximum(self.tension, 0.5 * np.abs(force)) + 0.5 * np.abs(force))


class Toothed(Strand, Meshing):
    """What runs over two toothed wheels and doesn't slip.

    Attributes:
        teeth: of the wheels on the first and the second joint.
        pitch: from tooth to tooth, m.
    """

    teeth: tuple[Teeth, Teeth]
    pitch: Size

    def radii(self) -> tuple[float, float]:
        """Pitch radii of the two wheels, m."""
        one, two = self.teeth
        return one * self.pitch / (2 * pi), two * self.pitch / (2 * pi)

    def run(self, first: Side, second: Side) -> float:
        """Pitches in a whole turn of it as drawn.

        Source: length of an open belt over two wheels, any text on machine design.
        """
        far, (one, two) = between(first, second)[1], self.teeth
        return 2 * far / self.pitch + (one + two) / 2 + ((two - one) / (2 * pi)) ** 2 * self.pitch / far

    def wheels(self, word: str) -> tuple[Bought, ...]:
        """Its two wheels, by their teeth."""
        return tuple(
            Bought("gears, belts and chains", f"{word}, {teeth} teeth, pitch {1e3 * self.pitch:g} mm", 1)
            for teeth in self.teeth
        )


def round_wheels(
    first: Side,
    second: Side,
    radii: tuple[float, float],
    teeth: tuple[int, int] | None,
    thick: float,
    finish: Finish,
) -> Drawn:
    """Two wheels and what runs round them.

    Args:
        first, second: the sides.
        radii: of the wheels, m.
        teeth: of the wheels; None: bare ones.
        thick: of what runs round, m.
        finish: of that.
    """
    toward, _, middle = between(first, second)
    far = second.point - first.point
    end = middle + (far - first.way * float(far @ first.way))
    wheels = []
    for k, (side, centre) in enumerate(((first, middle), (second, end))):
        if teeth is None:
            wheels.append(roller(centre, side.way, radii[k], STEEL))
        else:
            wheels.append(wheel(centre, side.way, toward, radii[k], teeth[k]))
    return Drawn([wheels[0]], [wheels[1]], [band((middle, end), radii, first.way, thick, finish)])


@COUPLINGS.add
class Chain(Toothed):
    """A roller chain over two sprockets; `pitch` is that of the chain (12.7 mm of a bicycle's).

    Its mean run counts, not how it rises and falls on the corners of a sprocket (1 % of 11 teeth, 0.3 % of 20).
    """

    endless: ClassVar[bool] = False  # it opens at a link
    kind: Literal["chain"] = "chain"
    joints: Pair = Field(alias="chain")

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        links = 2 * ceil(self.run(first, second) / 2 - 1e-6)
        words = f"roller chain, pitch {1e3 * self.pitch:g} mm, {links} links and a connecting link"
        return (
            *self.wheels("sprocket"),
            Bought("gears, belts and chains", words, 1, wears="stretches by wear"),
        )

    def checks(self, asked: Asked) -> list[Check]:
        """Against what a standard chain of its pitch breaks at, where it states none."""
        bears = breaking_load(self.pitch) if self.bears is None else self.bears
        source = "breaking load of ISO 606 (from memory), a seventh of it for work"
        return strand_bears(asked, bears, factor=FACTOR, source=source)

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        return round_wheels(first, second, self.radii(), self.teeth, 0.5 * self.pitch, STEEL)


@COUPLINGS.add
class ToothedBelt(Toothed):
    """A toothed belt over two pulleys; `tension` is that of each strand at rest."""

    kind: Literal["toothed_belt"] = "toothed_belt"
    joints: Pair = Field(alias="toothed_belt")

    def bought(self, first: Side, second: Side) -> tuple[Bought, ...]:
        exact = self.run(first, second)
        words = f"toothed belt, pitch {1e3 * self.pitch:g} mm, {round(exact)} teeth"
        note = f"as drawn it runs over {exact:.1f} teeth: move a shaft until one that is sold fits, or add a tensioner"
        belt = Bought("gears, belts and chains", words, 1, wears="its teeth shear when it jams", note=note)
        return (*self.wheels("toothed pulley"), belt)

    def drawn(self, first: Side, second: Side, tie: Tie) -> Drawn:
        return round_wheels(first, second, self.radii(), self.teeth, 0.4 * self.pitch, RUBBER)
