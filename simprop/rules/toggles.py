"""A spring toggle through a pipe cap or another thin shell."""

from __future__ import annotations

STATIC_LIMIT = 25 * 4.4482216152605
"""Pull that a toggle in a wall of about 3 mm of plastic may hold, N: 25 lbf, the low end of 25 to 50 lbf. Assumed."""


def toggle_pull(reversing: bool) -> float | None:
    """Pull that a spring toggle may carry, N; None where it may carry none (the load reverses).

    Args:
        reversing: the pull changes its sign while the prop runs.

    Source: assumed, no published value: the shell's wall governs, and wings rattle loose when the pull reverses.

    Example:
        >>> round(toggle_pull(False))
        111
        >>> toggle_pull(True) is None
        True
    """
    return None if reversing else STATIC_LIMIT
