"""The cue sheet of a whole show, by its clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from simprop.show.play import Part, Played
from simprop.sizing.cue_sheet import CueRow, as_csv, cue_rows


def cues_csv(played: Played) -> str:
    """What each prop's sheet says, by the show's clock, and when each prop is switched on.

    Args:
        played: the show as it went.
    """
    show = played.show
    seeds = ", ".join(f"{p.prop.name} {p.run.rig.run.seed}" for p in played.parts)
    rows = sorted((row for part in played.parts for row in _rows(part)), key=lambda r: r.time)
    return as_csv(f"{show.name}; length {show.run.duration:g} s; seeds: {seeds}", rows)


def _rows(part: Part) -> Iterator[CueRow]:
    name, start, script = part.prop.name, part.prop.standing.starts, part.run.laws.script
    yield CueRow(start, "", name, "switched on", "", "", "", "")
    for row in () if script is None else cue_rows(script):
        output = f"{name}.{row.output}" if row.output else name
        yield replace(row, time=start + row.time, output=output)
