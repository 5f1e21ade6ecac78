"""What stands first in the build notes: what the prop does, and how it looks in motion."""

from __future__ import annotations

from simprop.report.strength import summary
from simprop.report.structure import Block, Clip, Section, Strong
from simprop.run.run import Run


def front(run: Run) -> Section:
    """What the prop does, whether it holds, and its clip."""
    blocks: list[Block] = [run.rig.about] if run.rig.about else []
    blocks.append(Strong(f"Strength: {summary(run.strength)}"))
    blocks.append(Clip("clip.mp4", "still.png", f"{run.rig.name} in motion"))
    return Section("front", "What it does", blocks)
