"""Contacts: feet, balls, wheels and rocker rails of a body against the floor or a flat face of another body."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from dataclasses import dataclass, field
from math import pi
from typing import TYPE_CHECKING, Annotated, Any, Literal

import numpy as np
from pydantic import BeforeValidator, Field, model_validator

from simprop.catalog.bought import Bought
from simprop.errors import Fault
from simprop.forces.faces import FACES, FaceBase
from simprop.geometry.arrays import Array
from simprop.laws import contact as law
from simprop.parts.part import PartKind
from simprop.reading.base import Record
from simprop.reading.catalogue import MaterialName
from simprop.reading.fields import Angle, Direction, Number, Place, Size, Stiffness, fault
from simprop.reading.friction import Rubbing
from simprop.reading.kinds import Kinds
from simprop.reading.looking import mapping, unknown


def _on(value: Any) -> Any:
    if isinstance(value, str) and value.strip() != "floor":
        raise fault(
            "what it touches: floor, a face, or a cam",
            "floor, {face: shelf, at: 0 0 500 mm, normal: z}, {cam: disc, ...}",
        )
    return None if isinstance(value, str) else value


@dataclass(frozen=True)
class Patch:
    """The round thing that touches, in the start pose.

    Attributes:
        centre: of ball or arc.
        radius: m; 0 for a point.
        form: ball (also a point) or arc.
        axis: of the arc, unit (3,); zeros for a ball.
        middle: of the arc, unit (3,), square to its axis; zeros for a ball.
        spread: how far the arc goes to both sides of its middle, rad.
    """

    centre: Place
    radius: float
    form: Literal["ball", "arc"] = "ball"
    axis: Array = field(default_factory=lambda: np.zeros(3))
    middle: Array = field(default_factory=lambda: np.zeros(3))
    spread: float = pi


class UnmatchedError(Exception):
    """A contact that names a part that isn't there: what is wrong, the name, and the names that would do."""


class Contact(Record):
    """What every contact says; its kind's key names the body that touches.

    Attributes:
        on: `floor` (the plane z = 0), a flat face of another body, or a cam; None stands for the floor.
        of: material of the body there; None: of its part nearest to the contact.
        on_of: material of the floor or face; None: of the face's nearest part, for the floor softwood (assumed).
        friction: coefficient, or a pair of surfaces.
        stiffness: normal, N/m; None: from materials and shape.
        loss: damping ratio of the body on the contact; None: from the softer material (assumed).
    """

    if TYPE_CHECKING:
        kind: str
        body: str
    on: Annotated[Annotated[FaceBase, FACES] | None, BeforeValidator(_on)] = None
    of: MaterialName | None = None
    on_of: MaterialName | None = None
    friction: Rubbing
    stiffness: Stiffness | None = None
    loss: Number | None = None

    @model_validator(mode="after")
    def _ratio(self) -> Contact:
        if self.loss is not None and not 0.0 <= self.loss < 1.0:
            raise fault("a damping ratio lies from 0 to below 1", "loss: 0.1")
        return self

    def made(self, parts: Sequence[PartKind]) -> Contact:
        """Itself, once it knows the parts of its body.

        Raises:
            UnmatchedError: where it asks for one that isn't there.
        """
        return self

    def bought(self) -> tuple[Bought, ...]:
        """What is bought for it: nothing where parts touch each other."""
        return ()

    @abstractmethod
    def patch(self) -> Patch:
        """What touches."""

    @abstractmethod
    def derived(self, modulus: float, load: float) -> tuple[float, str]:
        """Stiffness of its shape, N/m, and how it comes, in words.

        Args:
            modulus: joint modulus of the two materials, Pa.
            load: weight of all that moves, N.
        """


class PointContact(Contact):
    """A foot or corner: a point with a patch of some diameter around it."""

    kind: Literal["point"] = "point"
    body: str = Field(alias="point")
    at: Place
    size: Size = 0.01

    def patch(self) -> Patch:
        """A ball without size."""
        return Patch(self.at, 0.0)

    def derived(self, modulus: float, load: float) -> tuple[float, str]:
        """Of a flat foot."""
        return law.foot_stiffness(modulus, self.size), "E* d of a flat round foot"


class BallContact(Contact):
    """A ball or caster."""

    kind: Literal["ball"] = "ball"
    body: str = Field(alias="ball")
    at: Place
    diameter: Size

    def patch(self) -> Patch:
        return Patch(self.at, self.diameter / 2)

    def derived(self, modulus: float, load: float) -> tuple[float, str]:
        """By Hertz."""
        stiffness = law.ball_stiffness(modulus, self.diameter / 2, max(load, 1.0))
        return stiffness, "Hertz, chord to the weight of all that moves"


class ArcContact(Contact):
    """A wheel, or with `spread` a rocker rail that ends that far to both sides of `middle`.

    Attributes:
        rail: name of a rail among the body's parts, which then says all but the friction; in place of centre, radius
            and axis.
    """

    kind: Literal["arc"] = "arc"
    body: str = Field(alias="arc")
    rail: str | None = None
    centre: Place | None = None
    radius: Size | None = None
    axis: Direction | None = None
    width: Size = 0.02
    middle: Direction = (0.0, 0.0, -1.0)
    spread: Angle | None = None

    @model_validator(mode="after")
    def _square(self) -> ArcContact:
        stated = (self.centre, self.radius, self.axis)
        if self.rail is not None:
            if any(value is not None for value in stated) or self.spread is not None:
                raise fault("the rail says its centre, radius, axis and spread", "rail, without those")
            return self
        if self.centre is None or self.radius is None or self.axis is None:
            raise fault("an arc has a centre, a radius and an axis, or is that of a rail", "rail: front rail")
        if float(np.linalg.norm(np.cross(self.axis, self.middle))) < 1e-6:
            raise fault("the middle of an arc lies square to its axis", "middle: -z for an axis along x or y")
        return self

    def bought(self) -> tuple[Bought, ...]:
        """A wheel; a rail is a part."""
        if self.rail is not None or self.spread is not None or self.radius is None:
            return ()
        tyre = "" if self.of is None else f", of {self.of}"
        words = f"wheel or castor, {2e3 * self.radius:.4g} mm across{tyre}"
        note = "unless it is drawn as a part, and made"
        return (Bought("cords and wheels", words, 1, wears="its tyre and bearing wear", note=note),)

    def made(self, parts: Sequence[PartKind]) -> Contact:
        if self.rail is None:
            return self
        rails = {part.name: part.rolls for part in parts if part.rolls is not None}
        rolls = rails.get(self.rail)
        if rolls is None:
            names = ", ".join(str(name) for name in rails) or "none has a name"
            raise UnmatchedError("no rail of this body", self.rail, names)
        update = {
            "rail": None,
            "centre": rolls.centre,
            "radius": rolls.radius,
            "axis": rolls.axis,
            "middle": rolls.middle,
            "spread": rolls.spread,
            "width": rolls.width,
        }
        return self.model_copy(update=update)

    def patch(self) -> Patch:
        assert self.centre is not None  # those of a rail are made with it
        assert self.radius is not None
        axis, middle = np.array(self.axis), np.array(self.middle)
        middle = middle - axis * float(middle @ axis)
        spread = pi if self.spread is None else self.spread
        return Patch(self.centre, self.radius, "arc", axis, middle / np.linalg.norm(middle), spread)

    def derived(self, modulus: float, load: float) -> tuple[float, str]:
        """Of a line of contact."""
        return law.edge_stiffness(modulus, self.width), "(pi/4) E* b of a line of contact"


CONTACTS: Kinds[Contact] = Kinds("contact")
"""The kinds of contact."""

for _kind in (PointContact, BallContact, ArcContact):
    CONTACTS.add(_kind)

AnyContact = Annotated[Contact, CONTACTS]


def contact_faults(data: dict[str, Any]) -> list[Fault]:
    """Contacts that name bodies that aren't there, or a body on itself.

    Example:
        >>> [f.nearest for f in contact_faults({"bodies": {"rocker": {}}, "contacts": {"rail": {"arc": "roker"}}})]
        ['rocker']
    """
    bodies = mapping(data.get("bodies"))
    faults: list[Fault] = []
    for name, contact in mapping(data.get("contacts")).items():
        contact = mapping(contact)
        kind = CONTACTS.key_of(contact)
        on = mapping(contact.get("on"))
        rests = FACES.key_of(on) or "face"
        own, other = contact.get(kind) if kind else None, on.get(rests)
        for where, body in ((kind, own), (f"on.{rests}", other)):
            if body is not None and body not in list(bodies):
                faults.append(unknown(f"contacts.{name}.{where}", body, bodies, "a body"))
        if own is not None and own == other:
            faults.append(
                Fault("a body can't touch itself", field=f"contacts.{name}.on.{rests}", value=str(own))
            )
    return faults
