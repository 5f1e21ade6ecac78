"""What stands first in the build notes: what the prop does, and how it looks in motion."""

from __future__ import annotations

from simprop.making.numbers import part_numbers
from simprop.picture.chart.numbered import numbered_still
from simprop.report.drawings import parts_of
from simprop.report.strength import summary
from simprop.report.structure import Block, Clip, Picture, Section, Strong
from simprop.run.run import Run


def front(run: Run) -> Section:
    """What the prop does, whether it holds, its clip, and its parts with their numbers."""
    blocks: list[Block] = [run.rig.about] if run.rig.about else []
    blocks.append(Strong(f"Strength: {summary(run.strength)}"))
    blocks.append(Clip("clip.mp4", "still.png", f"{run.rig.name} in motion"))
    numbers = part_numbers(run.assembly)
    if numbers.parts:
        still = numbered_still(run.assembly, run.track, numbers)
        blocks.append(
            Picture("numbered.jpg", "Its parts in the start pose; the numbers are used throughout", still)
        )
        blocks.append(parts_of(numbers))
    return Section("front", "What it does", blocks)
