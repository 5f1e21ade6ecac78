"""Sheet-metal screws in thin walls: pull-out, and tilting or bearing under sideways load."""

from __future__ import annotations

from math import sqrt

SAFETY = 3.0
"""Safety factor of AISI S100 for screws."""


def pull_out(thickness: float, diameter: float, ultimate: float) -> float:
    """Nominal pull-out load of a screw from a wall, N; divide by `SAFETY`.

    Args:
        thickness: of the wall the thread is in, m.
        diameter: of the screw, m; 2 to 6.4 mm.
        ultimate: tensile strength of the wall, Pa.

    Source: AISI S100, 0.85 t d Fu, for steel; in PVC the same form is borrowed (assumed).

    Example:
        >>> round(pull_out(0.060 * 0.0254, 0.190 * 0.0254, 45e3 * 6894.757) / SAFETY / 4.448222)
        145
    """
    return 0.85 * thickness * diameter * ultimate


def sideways(
    first: float, second: float, diameter: float, first_ultimate: float, second_ultimate: float
) -> float:
    """Nominal sideways load of a screw through one wall into another, N; divide by `SAFETY`.

    Args:
        first: thickness of the wall under the head, m.
        second: thickness of the wall the thread is in, m.
        diameter: m.
        first_ultimate: tensile strength of the wall under the head, Pa.
        second_ultimate: of the wall the thread is in, Pa.

    Source: AISI S100, from memory: with t2/t1 up to 1 the least of 4.2 sqrt(t2^3 d) Fu2, 2.7 t1 d Fu1, 2.7 t2 d
    Fu2; from 2.5 on without the first (no tilting); linear in between.

    Example:
        >>> round(sideways(1e-3, 1e-3, 4e-3, 310e6, 310e6))
        2604
    """
    bearing = min(2.7 * first * diameter * first_ultimate, 2.7 * second * diameter * second_ultimate)
    tilting = min(4.2 * sqrt(second**3 * diameter) * second_ultimate, bearing)
    ratio = min(max(second / first, 1.0), 2.5)
    return tilting + (bearing - tilting) * (ratio - 1.0) / 1.5
