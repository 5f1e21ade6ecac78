"""Cautions that fit this prop, by sorts."""

from __future__ import annotations

from simprop.making.hazards import hazards
from simprop.report.structure import Items, Section, Strong
from simprop.run.run import Run


def hurts(run: Run) -> Section:
    """What can hurt somebody at this prop, and who decides."""
    found = hazards(run)
    said = "Local codes and licensed practice decide, before anything in these notes."
    return Section(
        "hazards",
        "Cautions",
        [Strong(said), Items([[h.sort, *(t.removesuffix(".") for t in h.told)] for h in found])],
    )
