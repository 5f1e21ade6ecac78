"""What is left of a rod under its thread."""

from __future__ import annotations

from math import sqrt

from simprop.errors import SimpropError

NOTCH = 2.8
"""Fatigue stress factor of a thread in plain steel: 2.2 rolled to 2.8 cut, textbooks on machine design, from memory."""


def stress_diameter(diameter: float, pitch: float, depth: float = 0.9382) -> float:
    """Diameter of a plain rod as strong as a threaded one, m.

    Args:
        diameter: outside, m.
        pitch: m.
        depth: by how many pitches it is thinner: 0.9382 metric, 0.9743 inch.

    Source: stress area pi/4 (d - 0.9382 p)^2 of ISO 898-1, pi/4 (d - 0.9743 / n)^2 of ASME B1.1.

    Raises:
        SimpropError: where the thread leaves nothing.

    Example:
        >>> round(0.7854 * stress_diameter(8.0, 1.25) ** 2, 1)
        36.6
    """
    if not 0 < depth * pitch < diameter:
        raise SimpropError("a thread is finer than its rod is thick")
    return diameter - depth * pitch


def mean_diameter(diameter: float, pitch: float) -> float:
    """Diameter of a plain rod as heavy as a threaded one, m: where thread and gap are as wide.

    Args:
        diameter: outside, m.
        pitch: m.

    Source: pitch diameter of the 60 degree profile of ISO 724 and ASME B1.1, d - 3/4 H, H = p sqrt(3) / 2.

    Example:
        >>> round(mean_diameter(8.0, 1.25), 3)
        7.188
    """
    return diameter - 0.75 * pitch * sqrt(3) / 2
