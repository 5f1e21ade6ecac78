"""Members that bend, as they are drawn: one smooth skin over their rigid pieces."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.parts.part import Shape

FINE = 4
"""Lengths into which each half of a piece is drawn."""


@dataclass(frozen=True)
class Skin:
    """How vertices of a piece are drawn between it and its neighbours.

    Attributes:
        other: the neighbour that each follows too, (v,).
        share: how far it follows that one, (v,) from 0 to 0.5.
        place: where it is in the piece's frame for that, (v, 3) m.
        offset: what brings that into the neighbour's frame, (v, 3) m.
    """

    other: Array
    share: Array
    place: Array
    offset: Array


def finely(assembly: Assembly, index: int) -> list[tuple[Shape, bool]]:
    """Shapes of a body, those that bend in short lengths; and whether they do."""
    body = assembly.bodies[index]
    found: list[tuple[Shape, bool]] = []
    for shape in body.shapes:
        if body.member is None or shape.section() is None or shape.looks != "plain":
            found.append((shape, False))
            continue
        for line in shape.stretches():
            places = line.start + np.linspace(0.0, 1.0, 2 * FINE + 1)[:, None] * (line.end - line.start)
            found += [(shape.piece(a, b), True) for a, b in itertools.pairwise(places)]
    return found


def skin(assembly: Assembly, index: int, vertices: Array) -> Skin:
    """How vertices of a bending piece, in its frame, (v, 3) m, follow its neighbours.

    Between the nodes of the two the middle line is the cubic through both, along both pieces (Hermite's), which a beam
    that is loaded at its nodes takes: each piece has the share 1 - 3 t^2 + 2 t^3 with t from its node to the other's,
    and counts what lies t from it as if it lay (t - 2 t^2 + t^3) over that share away.
    """
    body, count = assembly.bodies[index], len(vertices)
    seams = [assembly.joints[j] for j in sorted(assembly.seams)]
    own = [s for s in seams if index in (s.first, s.second)]
    if not own:
        return Skin(np.full(count, index), np.zeros(count), vertices, np.zeros((count, 3)))
    places = np.array([s.point - body.com for s in own])
    node = places.mean(axis=0)
    if len(own) == 1:  # the piece at an end: its node is the end
        lines = [s for shape in body.shapes if shape.section() is not None for s in shape.stretches()]
        ends = [end for line in lines for end in (line.start, line.end)]
        node = max(ends, key=lambda end: float(np.linalg.norm(end - places[0])))
    away = 2.0 * (places - node)  # to the nodes of the neighbours
    along = np.einsum("vi,si->vs", vertices - node, away) / np.maximum(np.sum(away**2, axis=1), 1e-18)
    which = np.argmax(along, axis=1)
    t = np.clip(along[np.arange(count), which], 0.0, 0.5)
    others = np.array([s.second if s.first == index else s.first for s in own])[which]
    share = t**2 * (3.0 - 2.0 * t)
    line = away[which]
    near = vertices + ((t - 2.0 * t**2 + t**3) / (1.0 - share) - t)[:, None] * line
    with np.errstate(invalid="ignore", divide="ignore"):
        behind = np.where(share > 0.0, (t**3 - t**2) / share, t - 1.0)
    far = vertices + (behind - (t - 1.0))[:, None] * line
    offsets = np.array([body.com - b.com for b in assembly.bodies])[others]
    return Skin(others, share, near, far + offsets - near)
