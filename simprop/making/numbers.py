"""Each part that is built has a number, by which all build notes name it; those alike, holes and all, share one."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.making.holes import ALIKE, Place, pattern
from simprop.making.pieces import Piece, pieces_of
from simprop.parts.part import Panel, Shape, Stock


@dataclass(frozen=True)
class Numbered:
    """A part to make or to get, once or several times.

    Attributes:
        number: from 1.
        name: what a person calls it, such as ``mast pipe``.
        pieces: the parts that are alike, in the order of the rig.
    """

    number: int
    name: str
    pieces: tuple[Piece, ...]

    @property
    def places(self) -> tuple[Place, ...]:
        """Body and index of each of them."""
        return tuple(piece.place for piece in self.pieces)

    @property
    def shape(self) -> Shape:
        """The first of them, in the frame of its body."""
        return self.pieces[0].shape


@dataclass(frozen=True)
class PartNumbers:
    """The parts of a prop by number, and the number of each.

    Attributes:
        parts: in the order of their numbers, from 1.
        of: number of each part that is built, by body and index.
    """

    parts: tuple[Numbered, ...]
    of: Mapping[Place, int]


def part_numbers(assembly: Assembly) -> PartNumbers:
    """Number the parts that are built: those of scenery, and weights of springs and the like, have none.

    Args:
        assembly: the prop.

    Example:
        >>> import simprop
        >>> from simprop.assembly.assemble import assemble
        >>> rig = simprop.parse_rig('''
        ... rig: 1
        ... name: Two rods
        ... bodies:
        ...   post:
        ...     fixed: true
        ...     parts:
        ...       - {rod: 8 mm, of: steel, from: 0 0 0 mm, to: 0 0 300 mm}
        ...       - {rod: 8 mm, of: steel, from: 100 0 0 mm, to: 100 0 300 mm}
        ...       - {rod: 8 mm, of: steel, from: 0 0 300 mm, to: 100 0 300 mm}
        ... run: {for: 1 s}
        ... ''')
        >>> part_numbers(assemble(rig)).of
        {('post', 0): 1, ('post', 1): 1, ('post', 2): 2}
    """
    found: dict[Hashable, list[Piece]] = {}
    for piece in pieces_of(assembly).values():
        found.setdefault(_key(piece), []).append(piece)
    parts = tuple(Numbered(number, _name(rows), tuple(rows)) for number, rows in enumerate(found.values(), 1))
    return PartNumbers(parts, {place: part.number for part in parts for place in part.places})


def part_called(numbers: PartNumbers, body: str, index: int) -> str:
    """A part as the notes name it, such as ``3 (mast pipe)``.

    Args:
        numbers: of `part_numbers`.
        body: name of its body.
        index: of the part.

    Raises:
        KeyError: for a part that has no number.
    """
    number = numbers.of[body, index]
    return f"{number} ({numbers.parts[number - 1].name})"


def _key(piece: Piece) -> Hashable:
    """The same for parts that are alike, with the holes in them."""
    shape, cut, own = piece.shape, piece.cut_from, piece.holes
    size = _rounded(np.sort(shape.box()[2]))
    said = (shape.word, shape.material, shape.looks, pattern(shape, own), _rounded(sorted(piece.behind)))
    if isinstance(cut, Stock):
        steps = np.linalg.norm(np.diff(shape.path, axis=0), axis=1) if len(shape.path) > 2 else np.zeros(0)
        sizes = (_rounded(cut.sizes), _rounded(sorted(piece.lengths)), _rounded(steps))
        return (*said, cut.sort, cut.name, *sizes)
    if isinstance(cut, Panel):
        return (*said, cut.form, size, round(shape.mass, 3))
    named = "" if shape.name.startswith("bodies.") else shape.name
    return (*said, size, round(shape.mass, 3), named)


def _rounded(values: Sequence[float] | Array) -> tuple[int, ...]:
    return tuple(round(float(v) / ALIKE) for v in values)


def _name(rows: Sequence[Piece]) -> str:
    shape = rows[0].shape
    if not shape.name.startswith("bodies."):
        return shape.name
    bodies = list(dict.fromkeys(piece.place[0].replace("_", " ") for piece in rows))
    word = _word(shape)
    if len(bodies) > 1:
        return f"{word} of {', '.join(bodies[:-1])} and {bodies[-1]}"
    return word if word == bodies[0] else f"{bodies[0]} {word}"


def _word(shape: Shape) -> str:
    """What a person calls a part: its looks, else what it is cut from."""
    if shape.looks != "plain":
        return shape.looks
    cut = shape.cut_from
    if isinstance(cut, Panel):
        words = {"disc": "disc", "outline": "sheet"}
        return words.get(cut.form) or {"block": "board", "bar": "strip"}.get(shape.word, shape.word)
    return cut.sort if isinstance(cut, Stock) else shape.word
