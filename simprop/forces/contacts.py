"""Contacts: feet, balls, wheels and rocker rails of a body against the floor or a flat face of another body."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from simprop.catalog.load import material
from simprop.errors import Fault, UnknownNameError
from simprop.reading.base import Record
from simprop.reading.fields import Angle, Direction, Number, Place, Size, Stiffness, fault
from simprop.reading.friction import Rubbing
from simprop.reading.kinds import Kinds
from simprop.reading.looking import mapping, unknown

KINDS = ("point", "ball", "arc")


def _known(value: Any) -> str:
    try:
        return material(str(value)).name
    except UnknownNameError as error:
        raise fault("not a material of the catalogue", ", ".join(error.allowed), error.nearest) from None


MaterialName = Annotated[str, BeforeValidator(_known)]


class Face(Record):
    """A flat face of a body: through a point, square to a direction that points out of it; without edges."""

    body: str = Field(alias="face")
    at: Place
    normal: Direction


def _on(value: Any) -> Any:
    if isinstance(value, str) and value.strip() != "floor":
        raise fault("what it touches: floor, or a face", "floor, {face: shelf, at: 0 0 500 mm, normal: z}")
    return None if isinstance(value, str) else value


class ContactBase(Record):
    """What every contact says.

    Attributes:
        on: `floor` (the plane z = 0), or a flat face of another body; None stands for the floor.
        of: material of the body there; None: of its part nearest to the contact.
        on_of: material of the floor or face; None: of the face's nearest part, for the floor softwood (assumed).
        friction: coefficient, or a pair of surfaces.
        stiffness: normal, N/m; None: from materials and shape.
        loss: damping ratio of the body on the contact; None: from the softer material (assumed).
    """

    on: Annotated[Face | None, BeforeValidator(_on)] = None
    of: MaterialName | None = None
    on_of: MaterialName | None = None
    friction: Rubbing
    stiffness: Stiffness | None = None
    loss: Number | None = None

    @model_validator(mode="after")
    def _ratio(self) -> ContactBase:
        if self.loss is not None and not 0.0 <= self.loss < 1.0:
            raise fault("a damping ratio lies from 0 to below 1", "loss: 0.1")
        return self


class PointContact(ContactBase):
    """A foot or corner: a point with a patch of some diameter around it."""

    kind: Literal["point"] = "point"
    body: str = Field(alias="point")
    at: Place
    size: Size = 0.01


class BallContact(ContactBase):
    """A ball or caster."""

    kind: Literal["ball"] = "ball"
    body: str = Field(alias="ball")
    at: Place
    diameter: Size


class ArcContact(ContactBase):
    """A wheel, or with `spread` a rocker rail that ends that far to both sides of `middle`."""

    kind: Literal["arc"] = "arc"
    body: str = Field(alias="arc")
    centre: Place
    radius: Size
    axis: Direction
    width: Size = 0.02
    middle: Direction = (0.0, 0.0, -1.0)
    spread: Angle | None = None


CONTACTS: Kinds[Record] = Kinds("contact")
"""The kinds of contact."""

for _kind in (PointContact, BallContact, ArcContact):
    CONTACTS.add(_kind)

Contact = Annotated[PointContact | BallContact | ArcContact, CONTACTS]


def contact_faults(data: dict[str, Any]) -> list[Fault]:
    """Contacts that name bodies that aren't there, or a body on itself.

    Args:
        data: the file's mappings and lists.

    Example:
        >>> [f.nearest for f in contact_faults({"bodies": {"rocker": {}}, "contacts": {"rail": {"arc": "roker"}}})]
        ['rocker']
    """
    bodies = mapping(data.get("bodies"))
    faults: list[Fault] = []
    for name, contact in mapping(data.get("contacts")).items():
        contact = mapping(contact)
        kind = next((k for k in KINDS if k in contact), None)
        own, other = contact.get(kind) if kind else None, mapping(contact.get("on")).get("face")
        for field, body in ((kind, own), ("on.face", other)):
            if body is not None and body not in list(bodies):
                faults.append(unknown(f"contacts.{name}.{field}", body, bodies, "a body"))
        if own is not None and own == other:
            faults.append(
                Fault("a body can't touch itself", field=f"contacts.{name}.on.face", value=str(own))
            )
    return faults
