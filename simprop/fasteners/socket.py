"""A pipe in a PVC socket: pull and twist together, and bending."""

from __future__ import annotations

from math import degrees
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from simprop.catalog import fasteners
from simprop.catalog.bought import Bought, Grip
from simprop.catalog.load import pipe, table
from simprop.checking.check import Check
from simprop.checking.context import Context
from simprop.checking.setting import least_factor
from simprop.fasteners.base import Care, Change, Count, Fastener, known
from simprop.reading.fields import Time
from simprop.rules import sections, sockets, tube_holes

CURED = 72 * 3600.0
"""Full cure of solvent cement, s."""
LOOSE = 0.3e-3
"""A pipe thinner than its socket's bottom by more than this doesn't fit, m."""


class Socket(Fastener):
    """A pipe in a PVC socket; `pipe`: nominal size, `cured`: time since gluing."""

    kind: Literal["socket"] = "socket"
    how: Literal["glued", "screwed", "dry"] = Field(alias="socket")
    pipe: Annotated[str, known(fasteners.socket)] | None = None
    cured: Time = CURED
    with_screw: Annotated[str, known(fasteners.sheet_screw)] = "#8"
    count: Count = 2
    ALONG_PIPE: ClassVar[bool] = True
    CARE: ClassVar[Care] = Care(
        "the pipe turning or creeping out, white or cracked plastic at the mouth",
        "its screws, after the first night, then each month",
        "a cracked fitting at once; after a season in the sun when it sounds brittle",
    )

    @property
    def called(self) -> str:
        return (
            f"socket, {self.how}"
            if self.how != "screwed"
            else f"socket, {self.count} x {self.with_screw} screw"
        )

    def bought(self, grip: Grip) -> tuple[Bought, ...]:
        """Cement, or screws; the fitting itself is a part."""
        if self.how == "glued":
            return (Bought("glue and welds", "primer and solvent cement for PVC pipe", 1),)
        if self.how == "screwed":
            note = "length: through both walls (not stated)"
            screw = fasteners.sheet_screw(self.with_screw).name.removesuffix(" sheet")
            return (Bought("screws", f"sheet-metal screw {screw}", self.count, note=note),)
        return ()

    def checks(self, ctx: Context) -> list[Check]:
        tube = ctx.tube
        if tube is None or tube.strength is None or tube.strength.yield_strength is None:
            return [ctx.not_computed("socket", "no plastic pipe is drawn at the joint")]
        size = self.pipe or _nominal(tube.outside)
        if size is None:
            reason = f"no socket for a pipe of {tube.outside * 1e3:.1f} mm: say `pipe`"
            return [ctx.not_computed("socket", reason)]
        weak = ctx.weakened(tube.strength)
        if isinstance(weak, str):
            return [ctx.not_computed("socket", weak)]
        socket = fasteners.socket(size)
        if tube.outside < socket.bottom - LOOSE:
            tilt = degrees(sockets.free_tilt(tube.outside, socket.bottom, socket.depth))
            thin = f"a {tube.outside * 1e3:.1f} mm pipe is loose in a {size} socket"
            reason = f"{thin} and tilts {tilt:.0f} deg: use a sleeve"
            return [ctx.not_computed(f"{self.how} socket", reason)]
        stress = tube.strength.yield_strength * weak
        own = sections.tube(tube.outside, tube.outside - 2 * tube.wall).modulus_u * stress
        bend = min(sockets.prying_moment(tube.outside, socket.depth, stress), own)
        if self.how == "glued":
            cement = sockets.lap_shear(self.cured / 3600)
            if cement is None:
                return [ctx.not_computed("glued socket", "not cured: no strength before 2 h")]
            force = sockets.glued_pull(tube.outside, socket.depth, cement * weak)
            torque = sockets.glued_torque(tube.outside, socket.depth, cement * weak)
            assumed = ["a third of the depth is bonded", f"cured {self.cured / 3600:.0f} h"]
            source = "ASTM D2564 lap shear, from memory; ASTM D2466 socket"
        elif self.how == "screwed":
            screw = fasteners.sheet_screw(self.with_screw)
            force = self.count * tube_holes.bearing_load(stress, screw.diameter, tube.wall, 1)
            torque = force * tube.outside / 2
            assumed = ["screws bear on one wall each", "slack grows as the holes wear"]
            source = "F / (d t) on one wall; use on PVC is an estimate; ASTM D2466 socket"
        else:
            force, torque, bend = 0.0, 0.0, bend * sockets.DRY_MOMENT_SHARE
            assumed = ["a dry push-fit holds no pull and no twist, a fifth of a glued one's bending"]
            source = "no published value; ASTM D2466 socket"
        factor, name = least_factor("plastic", ctx.setting), f"{self.how} socket"
        both = ctx.pull_and_twist(
            f"{name}: pull and twist", (force, torque), factor=factor, assumed=assumed, source=source
        )
        source = "p D L^2 / 6 at the pipe's strength, or its own yield moment, if less; " + source
        name = f"{name}: bending"
        return [
            both,
            ctx.against(name, ctx.tilt, bend, unit="N*m", factor=factor, assumed=assumed, source=source),
        ]

    def changes(self, ctx: Context) -> list[Change]:
        found: list[Change] = []
        if self.how == "dry":
            found.append(self.change("two #8 screws through socket and pipe", ctx, how="screwed"))
        if self.how != "glued":
            text = "glue the socket with solvent cement"
            found.append(self.change(text, ctx, how="glued", cured=CURED))
        elif self.cured < CURED:
            found.append(self.change("let the cement cure for 72 h", ctx, cured=CURED))
        return found


def _nominal(outside: float) -> str | None:
    """Nominal size of a PVC pipe by its outside diameter, or None."""
    for name in table("pipes"):
        if abs(pipe(name).outside - outside) < 2e-4 and name.endswith("PVC"):
            return name.removesuffix(" PVC")
    return None
