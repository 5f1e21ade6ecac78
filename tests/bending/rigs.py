"""Rigs of members that bend, as text: a pipe of the trade as mast, arm and column. Figures invented for the tests."""

from __future__ import annotations

import numpy as np

from simprop.catalog.load import material

OUTSIDE, INSIDE, LENGTH = 0.0213, 0.0158, 0.6
PIPE = "pipe: {outside: 21.3 mm, wall: 2.75 mm, of: PVC}"
AREA = np.pi / 4 * (OUTSIDE**2 - INSIDE**2)
MASS = material("PVC").density * AREA * LENGTH
"""Of the mast, kg."""
STIFF = (material("PVC").modulus or 0.0) * np.pi / 64 * (OUTSIDE**4 - INSIDE**4)
"""E I, N*m^2."""


def mast(
    tip: float = 0.0,
    *,
    bends: str = "true",
    foot: str = "{fixed: [ground, mast], at: 0 0 0 mm}",
    to: str = "0 0 600 mm",
    more: str = "",
    run: str = "{for: 1 s}",
) -> str:
    """A pipe from the origin, held at its foot, with a weight at its end.

    Args:
        tip: kg.
        bends: how it bends.
        foot: its joint.
        to: its other end.
        more: further joints.
        run: how it is run.
    """
    lump = f"      - {{lump: {tip} kg, at: {to}}}\n" if tip else ""
    return f"""
rig: 1
name: Mast
bodies:
  ground: {{fixed: true}}
  mast:
    bends: {bends}
    parts:
      - {{{PIPE}, from: 0 0 0 mm, to: {to}}}
{lump}joints:
  foot: {foot}
{more}
run: {run}
"""
