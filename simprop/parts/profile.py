"""A square slotted aluminium profile."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from simprop.catalog.load import table
from simprop.catalog.profiles import SlottedData, slotted
from simprop.geometry.placement import Placement
from simprop.parts.part import PartKind, Read, Through
from simprop.parts.profiled import Profiled, profiled
from simprop.reading.catalogue import MaterialName, known
from simprop.reading.fields import Direction, Place
from simprop.rules.profiles import Profile, slotted_square


class SlottedProfile(PartKind):
    """A square aluminium profile with a slot along each side, by its side: ``profile: 20 mm`` is a catalogue size."""

    kind: Literal["profile"] = "profile"
    size: Annotated[str, known(slotted)] = Field(alias="profile")
    of: MaterialName = "aluminium"
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    thin: Direction | None = None

    def place(self, at: Placement, read: Read, name: str) -> Profiled:
        data = slotted(self.size)
        larger = [other for key in table("profiles") if (other := slotted(key)).side > data.side]
        return profiled(
            self,
            self.of,
            (self.start, self.end),
            self.thin,
            section_of(data),
            at,
            name,
            word="slotted profile",
            through=(Through(True, data.side, data.lip), Through(True, data.side, data.lip)),
            walls=[(-data.side / 2, data.side / 2, -data.side / 2, data.side / 2)],
            bigger=tuple((f"{other.name} slotted profile", section_of(other), 1.0) for other in larger),
        )

    def notes(self) -> tuple[str, ...]:
        """That makers differ."""
        return (f"{slotted(self.size).name} slotted profile taken as a light one: makers differ (assumed)",)


def section_of(data: SlottedData) -> Profile:
    """The cross-section of a catalogue size."""
    return slotted_square(data.side, data.slot, data.lip, data.hollow, data.web, data.core, data.bore)
