"""A slotted spring pin: shear, across a shaft also crushing of the shaft."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

import numpy as np
from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.checking.check import Check
from simprop.checking.context import Context
from simprop.checking.setting import least_factor
from simprop.fasteners.base import Care, Change, Fastener, known
from simprop.fasteners.hexagon import STEEL
from simprop.geometry.solids import cylinder
from simprop.geometry.surface import Surface
from simprop.reading.fields import Size
from simprop.rules import pins

STEEL_SHAFT = 250e6
"""Yield of an unnamed steel shaft, Pa: ASTM A36. Assumed."""


class RollPin(Fastener):
    """A slotted spring pin across a shaft (with `shaft`), or as a pivot."""

    kind: Literal["roll_pin"] = "roll_pin"
    size: Annotated[str, known(fasteners.roll_pin)] = Field(alias="roll_pin")
    shaft: Size | None = None
    shear: Literal["single", "double"] = "double"
    CARE: ClassVar[Care] = Care(
        "the pin creeping out, a hub that knocks on its shaft",
        "nothing; drive it home where it creeps",
        "with a new pin each time it is driven out; the next size when its hole is worn",
    )

    @property
    def bore(self) -> float | None:
        return self.shaft

    @property
    def diameter(self) -> float | None:
        """Of the pin as a pivot, m; across a shaft it makes no hole in the parts."""
        return fasteners.roll_pin(self.size).diameter if self.shaft is None else None

    def drawn(self, start: float, end: float) -> Surface:
        """As a pivot a plain pin; across a shaft, the shaft as any axle."""
        if self.diameter is None:
            return super().drawn(start, end)
        return cylinder(np.array([start, 0.0, 0.0]), np.array([end, 0.0, 0.0]), self.diameter, STEEL)

    @property
    def called(self) -> str:
        across = "" if self.shaft is None else f" across a {1e3 * self.shaft:g} mm shaft"
        return f"{super().called}{across}"

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        size = fasteners.roll_pin(self.size).name.removesuffix(" roll")
        wears = "driven out, it is spent"
        if self.shaft is not None:
            note = "length: as wide as the hub, which isn't drawn"
            pin = Bought(
                "hubs, pins and rod ends", f"slotted spring pin {size}", self.count, wears=wears, note=note
            )
            return (
                pin,
                Bought(
                    "hubs, pins and rod ends",
                    f"hub or collar, bore {1e3 * self.shaft:g} mm, drilled across for {size}",
                    1,
                ),
            )
        long = f" x {1e3 * (sum(grip.thick) + sum(grip.apart)):.0f} mm or longer" if not grip.unknown else ""
        note = f"length: {grip.unknown}" if grip.unknown else ""
        return (
            Bought(
                "hubs, pins and rod ends",
                f"slotted spring pin {size}{long}",
                self.count,
                wears=wears,
                note=note,
            ),
        )

    def checks(self, ctx: Context) -> list[Check]:
        pin = fasteners.roll_pin(self.size)
        factor = least_factor("metal", ctx.setting)
        if self.shaft is None:
            limit = pins.pin_shear(pin.double_shear, 2 if self.shear == "double" else 1)
            name = f"{pin.name} pin in {self.shear} shear"
            return [ctx.against(name, ctx.sideways, limit, unit="N", factor=factor, source=pin.source)]
        shear = pins.cross_pin_torque(pin.double_shear, self.shaft)
        crush = pins.shaft_bearing_torque(STEEL_SHAFT, pin.diameter, self.shaft)
        return [
            ctx.pull_and_twist(
                f"{self.count} x {pin.name} pin across the shaft"
                if self.count > 1
                else f"{pin.name} pin across the shaft",
                (self.count * pin.double_shear, self.count * min(shear, crush)),
                factor=factor,
                assumed=["the shaft is of mild steel"],
                source=f"statics; {pin.source}",
            )
        ]

    def changes(self, ctx: Context) -> list[Change]:
        found: list[Change] = []
        larger = fasteners.next_size(self.size.removesuffix(" roll") + " roll", "roll pin")
        if larger:
            found.append(self.change(f"{larger.removesuffix(' roll')} roll pins", ctx, size=larger))
        if self.shaft is not None and self.count < 2:
            found.append(self.change("a second roll pin, turned a quarter", ctx, count=2))
        return found
