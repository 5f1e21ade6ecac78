"""The beams that a body's parts make: what has a section and a length bends, all else is held by it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import BodyData
from simprop.catalog.load import material
from simprop.catalog.strengths import strength_of
from simprop.elastic.frame import Beam
from simprop.geometry.arrays import Array
from simprop.parts.part import Shape, Stretch

SHEAR = 1 / 2.6
"""Shear modulus over Young's of metals and plastics: Poisson's ratio 0.3 (0.25 to 0.4 in handbooks)."""
WOOD_SHEAR = 1 / 16
"""The same of wood along the grain: USDA Wood Handbook, from memory."""
SLENDER = 10.0
"""Length over the size of the section from which a stretch is slender: shear then adds under 2 % to its bending."""


@dataclass(frozen=True)
class Piece:
    """A straight stretch of a part, and the beam that it is; None where it has no section, stiffness or length."""

    shape: Shape
    stretch: Stretch
    beam: Beam | None

    @property
    def slender(self) -> bool:
        """True if it is long against its section."""
        if self.beam is None:
            return False
        area, stiff = self.beam.stretch, max(self.beam.bend)
        across = 4.0 * float(np.sqrt(stiff / area))  # of a solid round: its diameter
        return self.stretch.length >= SLENDER * across


def pieces_of(body: BodyData) -> Iterator[Piece]:
    """The straight stretches of a body's parts, each with the beam that it is, in the body's frame."""
    for shape in body.shapes:
        section = shape.section()
        modulus = material(shape.material).modulus if shape.material else None
        strength = strength_of(shape.material) if shape.material else None
        shear = WOOD_SHEAR if strength is not None and strength.family == "wood" else SHEAR
        for stretch in shape.stretches():
            if section is None or modulus is None or stretch.length < 1e-6:
                yield Piece(shape, stretch, None)
                continue
            beam = Beam(
                stretch.start,
                stretch.end,
                modulus * section.area,
                (modulus * section.inertia_u, modulus * section.inertia_v),
                modulus * shear * section.torsion,
                np.cross(shape.thin(stretch.unit), stretch.unit),
                stretch.weight.mass,
            )
            yield Piece(shape, stretch, beam)


def bending(body: BodyData, every: bool, parts: frozenset[int] | None) -> list[Piece]:
    """The stretches of a body that bend.

    Args:
        every: all that are beams; else only slender ones.
        parts: only of these parts, by their number; None: of all.
    """
    own = {id(shape) for k, shape in enumerate(body.shapes) if parts is None or k in parts}
    return [p for p in pieces_of(body) if p.beam and (every or p.slender) and id(p.shape) in own]


def beams_of(body: BodyData) -> tuple[list[Beam], list[tuple[float, Array]]]:
    """A body's beams, and its other parts as lumps, in its own frame; none of a piece of a member that bends.

    Returns:
        The beams, and mass kg and centre (3,) m of what is none.
    """
    beams: list[Beam] = []
    lumps: list[tuple[float, Array]] = []
    if body.member is not None:
        return beams, lumps
    for piece in pieces_of(body):
        if piece.beam is None:
            lumps.append((piece.stretch.weight.mass, piece.stretch.weight.centre))
        else:
            beams.append(piece.beam)
    return beams, lumps
