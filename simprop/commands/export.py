"""``simprop export``: the motion for other programs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from rich.text import Text

from simprop.commands.clip import drawn_track
from simprop.commands.source import folder_for, run_of
from simprop.commands.terminal import console, stages
from simprop.written import written_beside


def export(
    source: Path,
    sets: dict[str, str],
    engine: str | None,
    out: Path | None,
    *,
    csv: bool,
    channels: Sequence[str],
    every: float | None,
    exaggerate: float = 1.0,
) -> int:
    """Write motion.glb (animated glTF 2.0), and channels.csv, always true, when asked.

    Args:
        source: a rig or a recording.
        sets: values put over the rig's.
        engine: name, or None for the usual one.
        out: folder, or None for the usual one.
        csv: also write all channels.
        channels: that are wanted; (): all.
        every: seconds between rows, or None for every step.
        exaggerate: how many times bending is drawn.
    """
    from simprop.picture.export.channels import write_csv
    from simprop.picture.export.gltf import write_glb

    folder = folder_for(source, out)
    with stages() as report, written_beside(folder) as work:
        run = run_of(source, sets, engine, report, exaggerate=exaggerate)
        report("writing", 0, 2)
        written = [write_glb(run.assembly, drawn_track(run, exaggerate), work / "motion.glb")]
        report("writing", 1, 2)
        if csv or channels:
            written.append(
                write_csv(
                    run.assembly,
                    run.track,
                    work / "channels.csv",
                    patterns=channels,
                    every=every,
                    loads=run.loads,
                )
            )
        report("writing", 2, 2)
    console.print(Text("Written: " + ", ".join(str(folder / p.name) for p in written)))
    return 0
