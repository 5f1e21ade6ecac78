"""A universal joint: two forks on a cross."""

from __future__ import annotations

from collections.abc import Mapping
from math import acos, cos, degrees, radians
from typing import Any, Literal

import numpy as np
from pydantic import Field, model_validator

from simprop.fasteners.hexagon import STEEL
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import square
from simprop.geometry.solids import box
from simprop.geometry.surface import Surface, join
from simprop.joints.kinds import JOINTS, JointKind, Made, Pair
from simprop.joints.pin import Pin
from simprop.parts.kinds import Body
from simprop.reading.fields import Direction, Scope, Size, Vector, fault

SQUARE = 0.01
"""Cosine up to which the two axes count as square to each other (0.6 deg)."""
EVEN = radians(1.0)
"""Angle under which two directions count as one, rad."""
SAME = 1e-3
"""How far a shaft's axis may pass beside the middle of a cross, m (a bench error)."""
REACH = 2.5
"""From the middle of a cross to the end of an arm, in diameters of its pins (assumed where none is stated)."""


class Fork(Pin):
    """One of the two pins of a cross, in the fork of its first body; no rig writes it.

    Attributes:
        reach: from the middle of the cross to each cheek, m.
        back: unit direction from the cross to the shaft behind the fork, as drawn; zeros where that isn't known.
    """

    needs_fastener = False
    reach: float = 0.015
    back: Vector = (0.0, 0.0, 0.0)

    def drawn(self, start: float, end: float) -> Surface | None:
        return None if self.held_by is None else self.held_by.drawn(start, end)

    def carved(self, start: float, end: float) -> Surface:
        """Two cheeks about the ends of its pin, and what joins them."""
        back = np.array(self.back) if any(self.back) else square(self.direction)[0]
        ways = np.array([self.direction, back, np.cross(self.direction, back)]).T
        r, thick = self.reach, 0.3 * self.reach
        parts = [(np.array([thick, 2.1 * r, 0.9 * r]), np.array([x, 0.65 * r, 0.0])) for x in (-r, r)]
        if any(self.back):
            parts.append((np.array([2.0 * r + thick, thick, 0.9 * r]), np.array([0.0, 1.7 * r, 0.0])))
        return join([box(size, STEEL, 0.0005).moved(ways, ways @ middle) for size, middle in parts])


@JOINTS.add
class Universal(JointKind):
    """A universal joint: a fork on each body, and a cross between them.

    It becomes a small steel body, NAME cross, and two pins, NAME first and NAME second, whose loads are told
    one by one.
    The axes of both shafts must meet in the cross: write each with the numbers of a point on it (at: 130 0 75 mm,
    axis: 130 0 75, for a cross at 0 0 0 mm), or nothing can turn.
    A single one turns its output unevenly (see `ripple`); two in a row, their middle forks in one plane and at equal
    angles, turn it evenly again.

    Attributes:
        axis: of the pin in the first body's fork, as drawn.
        other: of the pin in the second body's fork, square to `axis`.
        diameter: of the pins of the cross, m; 6 mm (assumed).
        reach: from the middle of the cross to the end of an arm, m; 2.5 diameters (assumed).
    """

    needs_fastener = False

    kind: Literal["universal"] = "universal"
    between: Pair = Field(alias="universal")
    axis: Direction
    other: Direction
    diameter: Size = 0.006
    reach: Size | None = None

    @model_validator(mode="after")
    def _crossed(self) -> Universal:
        if abs(float(np.dot(self.axis, self.other))) > SQUARE:
            raise fault("the two pins of a cross are square to each other", "axis: x, other: y")
        if self.give:
            raise fault("the pins of a universal joint don't give", "leave give out")
        return self

    def made_of(self, name: str, joints: Mapping[str, JointKind]) -> Made:
        """A cross and its two pins."""
        cross, reach = f"{name} cross", self.reach or REACH * self.diameter
        first, second = self.between
        middle = np.array(self.on(first)[:3])
        arms = []
        for axis in (self.axis, self.other):
            ends = (_written(middle - reach * np.array(axis)), _written(middle + reach * np.array(axis)))
            rod = f"{1e3 * self.diameter:.9g} mm"
            arms.append({"rod": rod, "of": "steel", "from": ends[0], "to": ends[1]})
        pins: dict[str, JointKind] = {}
        for word, body, axis in (("first", first, self.axis), ("second", second, self.other)):
            away = self._away(body, middle, np.array(axis), joints)
            own: dict[str, Any] = {
                "pin": (body, cross),
                "at": self.on(body),
                "axis": axis,
                "held_by": self.held_by,
                "diameter": self.diameter,
                "reach": reach,
                "back": away,
            }
            pins[f"{name} {word}"] = Fork.model_construct(**own)
        return Made(pins, {cross: Body.model_validate({"parts": arms}, context=Scope({}, {}))})

    def told(self, name: str, joints: Mapping[str, JointKind]) -> tuple[str, ...]:
        """At what angle it works, and whether the forks of a shaft between two of them lie in one plane."""
        middle = np.array(self.on(self.between[0])[:3])
        shafts = [self._shaft(body, middle, joints) for body in self.between]
        found = []
        if shafts[0] is not None and shafts[1] is not None:
            angle = acos(min(1.0, abs(float(shafts[0] @ shafts[1]))))
            if angle > EVEN:
                found.append(f"joints.{name} {shaft_words(angle)}")
        for own, other in joints.items():
            shared = set(self.between) & set(other.between)
            if isinstance(other, Universal) and other is not self and len(shared) == 1 and name < own:
                (body,) = shared
                cosine = min(1.0, abs(float(np.dot(self._fork(body), other._fork(body)))))
                if (off := acos(cosine)) > EVEN:
                    found.append(
                        f"the forks of joints.{name} and joints.{own} on {body} stand at {degrees(off):.0f} deg "
                        "to each other: in one plane, the second would even out what the first does"
                    )
        return tuple(found)

    def _fork(self, body: str) -> Vector:
        """Direction of the pin in the fork of a body."""
        return self.axis if body == self.between[0] else self.other

    def _away(self, body: str, point: Array, axis: Array, joints: Mapping[str, JointKind]) -> Vector:
        """Unit direction from the cross to the bearing of a body, square to the pin of its fork; zeros for none."""
        for joint in joints.values():
            if body in joint.between and joint is not self:
                away = np.array(joint.on(body)[:3]) - point
                away = away - axis * float(away @ axis)
                if (far := float(np.linalg.norm(away))) > SAME:
                    return (float(away[0] / far), float(away[1] / far), float(away[2] / far))
        return (0.0, 0.0, 0.0)

    def _shaft(self, body: str, point: Array, joints: Mapping[str, JointKind]) -> Array | None:
        """Direction of the bearing of a body whose axis goes through a point; None where there is none."""
        for joint in joints.values():
            if (
                body in joint.between
                and joint is not self
                and joint.direction.any()
                and "turn" in joint.moves
            ):
                away = np.array(joint.on(body)[:3]) - point
                if float(np.linalg.norm(np.cross(away, joint.direction))) < SAME:
                    return joint.direction
        return None


def _written(point: Array) -> str:
    return " ".join(f"{1e3 * v:.9g}" for v in point) + " mm"


def ripple(angle: float) -> tuple[float, float]:
    """Least and greatest speed of the driven shaft over that of the driving one, twice a turn each.

    cos b and 1 / cos b. Source: any text on mechanisms (Hooke's coupling).

    Args:
        angle: between the shafts, rad, under pi / 2.

    Example:
        >>> low, high = ripple(0.5235987755982988)
        >>> round(low, 4), round(high, 4)
        (0.866, 1.1547)
    """
    return cos(angle), 1.0 / cos(angle)


def shaft_words(angle: float) -> str:
    """What to say of the angle between two shafts, rad, in words.

    Example:
        >>> shaft_words(0.5235987755982988)
        'works at 30 deg: its output runs between 0.866 and 1.155 times as fast as its input, twice a turn'
    """
    low, high = ripple(angle)
    return (
        f"works at {degrees(angle):.0f} deg: its output runs between {low:.3f} and {high:.3f} times as fast as its "
        "input, twice a turn"
    )
