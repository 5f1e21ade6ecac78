"""The build notes: what to take to the bench, in the order in which it is needed there."""

from __future__ import annotations

from simprop.report import (
    bears,
    cues,
    cut_list,
    drawings,
    front,
    hardware_list,
    hazards,
    order,
    tune_sheet,
    wiring,
)
from simprop.report.structure import Sections

NOTES = Sections(
    "build notes",
    (
        front.front,
        drawings.drawings,
        cut_list.cuts,
        hardware_list.bought,
        wiring.wires,
        cues.cue_sheet,
        bears.upkeep,
        order.building,
        tune_sheet.tune_up,
        hazards.hurts,
    ),
)  # fmt: skip
"""The sections of the build notes, in their order: each a function of a run in a file of its own."""
