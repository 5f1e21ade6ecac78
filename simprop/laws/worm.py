"""Worm gears: efficiency with the wheel driving."""

from __future__ import annotations

from simprop.errors import SimpropError


def backward_from_forward(forward: float) -> float:
    """Efficiency backwards of a sliding drive of which only the efficiency forwards is known: ``2 - 1 /
    forward``.

    Exact where the friction loss is the same force both ways (small lead angles; the loss when driven
    forwards is ``1 / forward - 1`` of the work done, and the same loss is taken from the work put in
    backwards); so a drive of efficiency 0.5 or less can't be driven backwards. Textbook rule, no single
    source.

    Args:
        forward: efficiency forwards, 0 to 1.

    Example:
        >>> backward_from_forward(0.5), round(backward_from_forward(0.9), 3)
        (0.0, 0.889)
    """
    if not 0 < forward <= 1:
        raise SimpropError(f"an efficiency lies between 0 and 1, not {forward:.3g}")
    return 2 - 1 / forward
