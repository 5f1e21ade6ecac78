"""The drawings of the build notes: how the prop goes together, and each part by itself."""

from __future__ import annotations

from simprop.assembly.types import Assembly
from simprop.making.numbers import Numbered, PartNumbers, part_numbers
from simprop.picture.chart.arrangement import NARROW, Arrangement, arrangements
from simprop.picture.chart.drawings import lengths
from simprop.picture.chart.drawn import painted
from simprop.picture.chart.paper import scale_text
from simprop.picture.chart.part_drawings import part_drawing
from simprop.report.structure import Block, Items, Picture, Section
from simprop.run.run import Run
from simprop.written import file_name

FOLDER = "drawings"
HOW = (
    "All sizes are in mm, of the prop in its start pose, without looks and scenery. Heights are above the ground, "
    "places across from the joint that the caption names. A number in a circle is that of a part; a part is drawn by "
    "itself under the same number.",
    "What moves is drawn from pivot to pivot: measure holes from holes, and check them against the other part before "
    "drilling. Print at 100 % and the scale holds.",
)


def drawings(run: Run) -> Section | None:
    """The prop from the front, from the side and where needed from above, and the small drawings of its parts."""
    assembly = run.assembly
    numbers = part_numbers(assembly)
    if not numbers.parts:
        return None
    blocks: list[Block] = [*HOW]
    blocks += [_whole(found) for found in arrangements(assembly, run.track, numbers)]
    rows = _between(assembly)
    if rows:
        blocks += ["Between the joints of what moves, mm:", Items(rows)]
    for part in numbers.parts:
        piece = part.pieces[0]
        if piece.cut_from is not None:
            found = part_drawing(piece)
            about = f"{_called(part)}, scale {scale_text(found.scale)}"
            file = f"{FOLDER}/part_{part.number}.svg"
            blocks.append(Picture(file, about, painted(found.drawing), "small"))
    return Section("drawings", "Drawings", blocks)


def _whole(found: Arrangement) -> Picture:
    about = f"{found.view}, scale {scale_text(found.scale)}"
    if found.datum:
        about += f"; places across from joint {found.datum.replace('_', ' ')}"
    file = f"{FOLDER}/{file_name(found.view.split(',')[0].lower())}.svg"
    return Picture(
        file, about, painted(found.drawing), "small" if found.drawing.size[0] <= NARROW else "wide"
    )


def _called(part: Numbered) -> str:
    count = f", {len(part.places)} of them" if len(part.places) > 1 else ""
    return f"{part.number} ({part.name}){count}"


def _between(assembly: Assembly) -> list[str]:
    """Distances between the joints of each moving body, a line a body."""
    found: dict[str, list[str]] = {}
    for row in lengths(assembly):
        body, said = row.split(": ", 1)
        found.setdefault(body, []).append(said)
    return [f"{body}: {', '.join(said)}" for body, said in found.items()]


def parts_of(numbers: PartNumbers) -> str:
    """What each number stands for, in one sentence."""
    return f"{'; '.join(_called(part) for part in numbers.parts)}."
