"""The share of a spring's or pusher's weight that a body bears at its end."""

from __future__ import annotations

from dataclasses import replace

from simprop.geometry.placement import Placement
from simprop.parts.lump import Lump, Mote
from simprop.parts.part import Read


class Borne(Lump):
    """A share of the weight of what a body holds by its end; made when a rig is read."""

    across: float

    def place(self, at: Placement, read: Read, name: str) -> Mote:
        return replace(super().place(at, read, name), diameter=self.across)
