"""A pipe that slides or turns in a tee of a larger size: bored through, with reducers in it, or as it is moulded."""

from __future__ import annotations

from collections.abc import Mapping
from math import atan, degrees
from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.catalog.friction import surfaces
from simprop.catalog.load import pipe
from simprop.catalog.pipe_fittings import moulded
from simprop.geometry.arrays import Array
from simprop.joints.cylindrical import Cylindrical
from simprop.joints.kinds import JOINTS, Guide, JointKind, Made, Pair, surfaces_of
from simprop.joints.pin import Pin
from simprop.joints.play import check_play
from simprop.joints.slider import Slider
from simprop.reading.catalogue import known
from simprop.reading.fields import Direction, Number, Size, Stiffness, fault
from simprop.reading.friction import ForceOrSurfaces

DRILLED = 0.0005
"""A bored tee is wider than its pipe by this where no bore is stated, m (assumed)."""
RUBS = "PVC on PVC"


@JOINTS.add
class PipeBearing(JointKind):
    """A pipe that slides and turns in the run of a tee of a larger size; the tee belongs to the first body.

    Its play follows from the two sizes, its guided length from the tee. Bored: the waterway is opened to the pipe,
    which is guided between the two stops. Reducers: a reducing bushing in each socket, its own stop reamed away, guides
    it at both ends of the tee. Moulded: as bought, where the pipe goes through at all. PVC rubs on PVC unless
    `friction` says.

    Attributes:
        pipe: size of the pipe that moves.
        tee: size of the tee's run.
        fit: how the tee takes the pipe.
        bore: diameter that a bored tee is opened to, m; None: 0.5 mm more than the pipe (assumed).
        motion: what the pipe does in it; collars or a bolt in a slot bar the rest.
        loose: its play is run, and not only told.
        stiffness: of each end of a loose one where pipe and tee touch, N/m; None: from their materials and the wall.
        loss: damping ratio of that contact; None: from the materials.
        friction: a coefficient, or a pair of surfaces.
    """

    moves = ("slide", "turn")
    needs_fastener = False
    mark = "diamond"

    kind: Literal["pipe_bearing"] = "pipe_bearing"
    between: Pair = Field(alias="pipe_bearing")
    axis: Direction
    pipe: Annotated[str, known(pipe)]
    tee: Annotated[str, known(pipe)]
    fit: Literal["bored", "reducers", "moulded"] = "bored"
    bore: Size | None = None
    motion: Literal["both", "slides", "turns"] = "both"
    loose: Annotated[bool, Field(strict=True)] = False
    stiffness: Stiffness | None = None
    loss: Number | None = None
    friction: ForceOrSurfaces | None = None

    @model_validator(mode="after")
    def _goes_through(self) -> PipeBearing:
        thin, wide = pipe(self.pipe).outside, pipe(self.tee).outside
        if wide <= thin:
            raise fault(
                f"a {self.pipe} pipe sits in the sockets of a {self.tee} tee and can't run through",
                "a larger tee",
            )
        if self.bore is not None and (self.fit != "bored" or self.bore <= thin or self.bore >= wide):
            shown = f"above {thin * 1e3:.1f} mm, below {wide * 1e3:.1f} mm, with fit: bored"
            raise fault("a bored tee is wider than its pipe and narrower than its own", shown)
        if self.fit == "moulded" and moulded(self.tee).bore <= thin:
            raise fault(
                f"a {self.pipe} pipe of {thin * 1e3:.1f} mm stops at the waterway of a {self.tee} tee, "
                f"{moulded(self.tee).bore * 1e3:.1f} mm",
                "fit: bored or reducers",
            )
        check_play(
            self.clearance if self.loose else None, self.stiffness, self.loss, 0.0, None, "loose: true"
        )
        return self

    @property
    def direction(self) -> Array:
        return np.array(self.axis)

    @property
    def bored_to(self) -> float:
        """Diameter of what guides it, m."""
        if self.fit == "moulded":
            return moulded(self.tee).bore
        if self.fit == "reducers":
            return moulded(self.pipe).mouth
        return self.bore or pipe(self.pipe).outside + DRILLED

    @property
    def clearance(self) -> float:
        """Its play: bore less diameter, m."""
        return self.bored_to - pipe(self.pipe).outside

    @property
    def bed(self) -> float:
        """Guided length, m: between the stops, or over the whole tee with reducers in its ends."""
        tee = moulded(self.tee)
        return 2 * (tee.takes["centre"] + (tee.depth if self.fit == "reducers" else 0.0))

    @property
    def guide(self) -> Guide:
        return Guide(self.bed, surfaces_of(self._rubs))

    @property
    def _rubs(self) -> Any:
        return surfaces(RUBS) if self.friction is None else self.friction

    def made_of(self, name: str, joints: Mapping[str, JointKind]) -> Made:
        common = {"between": self.between, "at": self.at, "held_by": self.held_by, "give": self.give}
        fields = {
            **common,
            "diameter": pipe(self.pipe).outside,
            "bearing": self.bed,
            "friction": self._rubs,
        }
        if self.loose:
            fields |= {"clearance": self.clearance, "stiffness": self.stiffness, "loss": self.loss}
        if self.motion == "slides":
            return Made({name: Slider.model_construct(**fields, along=self.axis)})
        kind = Pin if self.motion == "turns" else Cylindrical
        return Made({name: kind.model_construct(**fields, axis=self.axis)})

    def told(self, name: str, joints: Mapping[str, JointKind]) -> tuple[str, ...]:
        tilt = degrees(atan(self.clearance / self.bed))
        run = "" if self.loose else "; the run takes it as snug (`loose: true` runs the play)"
        rubs = f", {RUBS} (assumed)" if self.friction is None else ""
        return (
            f"joints.{name}: {self.pipe} pipe in a {self.tee} tee ({self.fit}): play {self.clearance * 1e3:.2g} mm "
            f"over {self.bed * 1e3:.0f} mm, so it tilts up to {tilt:.1f} deg{run}{rubs}",
        )
