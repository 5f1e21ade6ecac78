"""Each part that is built has a number, by which all build notes name it; those alike, holes and all, share one."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.cut_lengths import cut_pipes
from simprop.assembly.types import Assembly, BodyData
from simprop.making.holes import ALIKE, Hole, Place, holes, left_behind, pattern
from simprop.parts.kinds import Borne
from simprop.parts.part import Panel, Shape, Stock


@dataclass(frozen=True)
class Numbered:
    """A part to make or to get, once or several times.

    Attributes:
        number: from 1.
        name: what a person calls it, such as ``mast pipe``.
        places: the parts that are like it, in the order of the rig.
        shape: the first of them, in the frame of its body.
    """

    number: int
    name: str
    places: tuple[Place, ...]
    shape: Shape


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
    found: dict[Hashable, list[tuple[Place, Shape]]] = {}
    for place, shape, key in _built(assembly):
        found.setdefault(key, []).append((place, shape))
    parts = tuple(
        Numbered(number, _name(rows), tuple(place for place, _ in rows), rows[0][1])
        for number, rows in enumerate(found.values(), 1)
    )
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


def _built(assembly: Assembly) -> Iterator[tuple[Place, Shape, Hashable]]:
    drilled = holes(assembly)
    for body in assembly.drawn:
        if body.scenery:
            continue
        records = assembly.rig.bodies[body.name].parts
        for i, (record, shape) in enumerate(zip(records, body.shapes, strict=True)):
            if not isinstance(record, Borne):
                yield (body.name, i), shape, _key(body, i, drilled.get((body.name, i), ()))


def _key(body: BodyData, index: int, own: tuple[Hole, ...]) -> Hashable:
    """The same for parts that are alike, with the holes in them."""
    shape = body.shapes[index]
    cut, size = shape.cut_from, _rounded(np.sort(shape.box()[2]))
    left = _rounded(np.sort(left_behind(shape, own)))
    said = (shape.word, shape.material, shape.looks, pattern(shape, own), left)
    if isinstance(cut, Panel):
        return (*said, cut.form, size, _rounded(np.array([shape.mass])))
    if isinstance(cut, Stock):
        pieces = next((p.pieces for p in cut_pipes(body.shapes) if p.part == index), (shape.laid,))
        bends = np.linalg.norm(np.diff(shape.path, axis=0), axis=1) if len(shape.path) > 2 else np.array([])
        lengths = (*pieces, cut.length) if len(shape.path) < 2 else pieces
        return (
            *said,
            cut.sort,
            cut.name,
            _rounded(np.array(cut.sizes)),
            _rounded(np.array(lengths)),
            _rounded(bends),
        )
    return (*said, size, round(shape.mass, 3), shape.name)


def _rounded(values: np.ndarray) -> tuple[int, ...]:
    return tuple(int(v) for v in np.round(values / ALIKE))


def _name(rows: Sequence[tuple[Place, Shape]]) -> str:
    shape = rows[0][1]
    if not shape.name.startswith("bodies."):
        return shape.name
    bodies = list(dict.fromkeys(place[0].replace("_", " ") for place, _ in rows))
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
        return {"disc": "disc", "outline": "sheet"}.get(
            cut.form, "board" if shape.word == "block" else shape.word
        )
    return cut.sort if isinstance(cut, Stock) else shape.word
