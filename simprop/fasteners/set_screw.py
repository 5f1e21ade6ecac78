"""A hub on a shaft with set screws: slip by pull and twist."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context, peak
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.fasteners.roll_pin import RollPin
from simprop.reading.fields import Size
from simprop.rules import setscrews

PINS = ("3 mm", "4 mm", "5 mm")
"""Roll pins that are tried instead, where they are no thicker than a third of the shaft."""


class SetScrew(Fastener):
    """A hub on a shaft with set screws."""

    kind: Literal["set_screw"] = "set_screw"
    size: Annotated[str, known(fasteners.set_screw)] = Field(alias="set_screw")
    shaft: Size
    flat: bool = False
    CARE: ClassVar[Care] = Care(
        "a hub that slips: a stroke of paint over hub and shaft that no longer meets",
        "after the first hour, after the first night, then each week; medium thread lock, on a flat of the shaft",
        "when its socket is rounded or its point is worn",
    )

    @property
    def bore(self) -> float:
        return self.shaft

    @property
    def called(self) -> str:
        return f"{super().called} on a {1e3 * self.shaft:g} mm shaft"

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        name = fasteners.set_screw(self.size).name.removesuffix(" set")
        return (
            Bought(
                "hubs, pins and rod ends",
                f"set screw {name}, cup point",
                self.count,
                wears="its point blunts",
            ),
            Bought(
                "hubs, pins and rod ends",
                f"hub or collar, bore {1e3 * self.shaft:g} mm, tapped for {name} set screws",
                1,
            ),
        )

    def checks(self, ctx: Context) -> list[Check]:
        screw = fasteners.set_screw(self.size)
        swings = float(np.ptp(ctx.torque)) > 0.2 * max(peak(ctx.torque)[0], 1e-12)
        limits = (
            setscrews.hub_pull(screw.holding, self.count, self.flat),
            setscrews.hub_torque(screw.holding, self.shaft, self.count, self.flat),
        )
        assumed = [f"tightened to {screw.seating:.1f} N*m on a steel shaft"]
        if self.count > 1:
            assumed.append(f"two screws hold {setscrews.SECOND_SCREW} times one")
        name = f"{screw.name} screw: hub on the shaft"
        factor = setscrews.FACTOR_MOVING if swings else setscrews.FACTOR_STATIC
        return [ctx.pull_and_twist(name, limits, factor=factor, assumed=assumed, source=screw.source)]

    def changes(self, ctx: Context) -> list[Change]:
        found: list[Change] = []
        if not self.flat:
            found.append(self.change("grind a flat under the set screw", ctx, flat=True))
        if self.count < 2:
            found.append(self.change("a second set screw", ctx, count=2))
        larger = fasteners.next_size(self.size.removesuffix(" set") + " set", "set screw")
        if larger:
            found.append(self.change(f"a {larger.removesuffix(' set')} set screw", ctx, size=larger))
        for size in PINS:
            if fasteners.roll_pin(size).diameter <= self.shaft / 3 + 1e-9:
                pin = RollPin.model_construct(size=size, shaft=self.shaft)
                found.append((f"a {size} roll pin through hub and shaft", (pin, ctx)))
        return found
