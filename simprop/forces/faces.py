"""What a contact may rest on: a flat face of a body, or a cam."""

from __future__ import annotations

import re
from abc import abstractmethod
from collections.abc import Callable
from itertools import pairwise
from math import pi
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal

import numpy as np
from pydantic import BeforeValidator, Field, ValidationInfo, model_validator

from simprop.geometry.arrays import Array
from simprop.geometry.finish import finish_of
from simprop.geometry.prism import prism
from simprop.geometry.surface import Surface
from simprop.laws.cams import Law, Pitch, Stretch, course, pitch, through
from simprop.reading.base import Record
from simprop.reading.fields import Angle, Direction, Place, Size, fault, read_scalar, scope_of
from simprop.reading.kinds import Kinds

WOOD = finish_of("plywood")
CLOSED = 1e-6
"""A cam's course ends this near to where it began, m."""
_WORDS = "rise 20 mm over 90 deg, dwell 60 deg, fall 20 mm over 120 deg; or points such as 40 deg 6 mm"


class FaceBase(Record):
    """What every one says; its kind's key names the body.

    Attributes:
        flat: whether what was drawn touching it is set down on it.
        at: a point of it.
    """

    flat: ClassVar[bool] = False

    if TYPE_CHECKING:
        kind: str
        body: str
    at: Place

    @property
    @abstractmethod
    def way(self) -> Array:
        """Unit normal of a face, or axis of a cam, as drawn, (3,)."""

    def pitch(self, roller: float) -> Pitch | None:
        """The curve on which the middle of a roller of a radius (m) runs; None for a flat face.

        Raises:
            ValueError: when there is none.
        """
        return None

    def drawn(self, centre: Array, roller: float) -> Surface | None:
        """What is seen of it about its point, in the axes as drawn; None where its body's parts are all.

        Args:
            centre: middle of what touches it, from its point, (3,) m.
            roller: radius of that, m.
        """
        return None


FACES: Kinds[FaceBase] = Kinds("face")
"""The kinds of what a contact rests on."""


@FACES.add
class Face(FaceBase):
    """A flat face of a body: through a point, square to a direction that points out of it; without edges."""

    flat = True

    kind: Literal["face"] = "face"
    body: str = Field(alias="face")
    normal: Direction

    @property
    def way(self) -> Array:
        return np.array(self.normal)


def _row(value: Any, info: ValidationInfo) -> Stretch | tuple[float, float]:
    if isinstance(value, Stretch):
        return value
    text = " ".join(str(value).split())
    scope = scope_of(info)
    moved = re.fullmatch(r"(rise|fall) (\S+ ?[a-z]+) over (\S+ ?[a-z]+)", text)
    if moved is not None:
        lift, over = read_scalar(moved[2], "length", scope), read_scalar(moved[3], "angle", scope)
        if lift <= 0.0 or over <= 0.0:
            raise fault("a rise or fall goes some way over some angle", _WORDS)
        return Stretch(over, lift if moved[1] == "rise" else -lift)
    rests = re.fullmatch(r"dwell (\S+ ?[a-z]+)", text)
    if rests is not None:
        return Stretch(read_scalar(rests[1], "angle", scope), 0.0)
    point = re.fullmatch(r"(\S+ ?[a-z]+) (\S+ ?[a-z]+)", text)
    if point is None:
        raise fault("not a part of a cam's course", _WORDS)
    return read_scalar(point[1], "angle", scope), read_scalar(point[2], "length", scope)


Row = Annotated[Stretch | tuple[float, float], BeforeValidator(_row)]


@FACES.add
class Cam(FaceBase):
    """A cam disc, whose follower is what touches it: a wheel (arc), ball, or point as a knife edge.

    Its course is the lift of a follower whose middle moves in line with the cam's axis; one on an arm follows the same
    disc. The disc is drawn; it weighs what the parts of its body weigh. A flat follower is a face of its own on a round
    disc beside its axis (an arc).

    Attributes:
        axis: about which it turns.
        base: radius of the disc where the lift is 0, m.
        course: in the order in which the follower meets it: `rise 20 mm over 90 deg`, `dwell 60 deg`, `fall ...`; what
            is left of the turn dwells. Or points, `40 deg 6 mm`, through which it goes smoothly.
        law: of rises and falls.
        way: the cam turns with its axis (right-handed) or against it.
        begin: angle of the course in the start pose, rad.
        thick: of the disc, m; for the picture alone.
    """

    kind: Literal["cam"] = "cam"
    body: str = Field(alias="cam")
    axis: Direction
    base: Size
    course: Annotated[tuple[Row, ...], Field(min_length=1)]
    law: Law = "cycloidal"
    turns: Literal["with", "against"] = "with"
    begin: Angle = 0.0
    thick: Size = 0.01

    @model_validator(mode="after")
    def _runs(self) -> Cam:
        parts = [r for r in self.course if isinstance(r, Stretch)]
        if 0 < len(parts) < len(self.course):
            raise fault("a course is written in words or in points", _WORDS)
        if parts:
            whole, height = sum(s.over for s in parts), sum(s.lift for s in parts)
            if whole > 2 * pi * (1 + 1e-9):
                raise fault("its parts are more than one turn", "parts that add up to 360 deg or less")
            if abs(height) > CLOSED:
                raise fault("a turn ends where it began", "rises that add up to the falls")
            return self
        angles = [a for a, _ in self.points]
        if len(angles) < 3 or angles[0] != 0.0 or any(b <= a for a, b in pairwise(angles)):
            raise fault("points rise from 0 deg to below 360 deg", "0 deg 0 mm, 120 deg 8 mm, 240 deg 8 mm")
        if angles[-1] >= 2 * pi:
            raise fault(
                "the last point comes before the turn is full", "the first stands for 360 deg as well"
            )
        return self

    @property
    def points(self) -> tuple[tuple[float, float], ...]:
        """The points of its course, where it is written so."""
        return tuple(r for r in self.course if not isinstance(r, Stretch))

    @property
    def way(self) -> Array:
        return np.array(self.axis)

    @property
    def lift(self) -> Callable[[Array], Array]:
        """Lift over the angle by which it has turned, m."""
        if self.points:
            angles, lifts = np.array(self.points).T
            return through(angles, lifts)
        return course([r for r in self.course if isinstance(r, Stretch)], self.law)

    def pitch(self, roller: float) -> Pitch:
        found = pitch(self.lift, self.base + roller, 1.0 if self.turns == "with" else -1.0, self.begin)
        if float(found.radius.min()) <= roller:
            raise ValueError("the course goes in further than to its axis: a larger base")
        bends = found.bend
        least = float(bends[bends > 0.0].min())
        if least <= roller:
            raise ValueError(
                f"the cam is undercut: its follower's middle turns on {1e3 * least:.1f} mm, and the roller has a "
                f"radius of {1e3 * roller:.1f} mm; a larger base, a smaller roller, or a longer rise"
            )
        return found

    def drawn(self, centre: Array, roller: float) -> Surface | None:
        """The disc with a hole for its shaft."""
        axis = self.way
        toward = centre - axis * float(centre @ axis)
        toward = toward / np.linalg.norm(toward)
        outline = self.pitch(roller).profile(roller)[::10]
        least = float(np.linalg.norm(outline, axis=1).min())
        round_ = np.arange(32) * 2 * pi / 32
        hole = min(0.005, 0.3 * least) * np.stack([np.cos(round_), -np.sin(round_)], axis=1)
        frame = np.array([toward, np.cross(axis, toward), axis])
        middle = axis * float(centre @ axis)
        return prism([outline, hole], middle - 0.5 * self.thick * axis, frame, self.thick, WOOD)
