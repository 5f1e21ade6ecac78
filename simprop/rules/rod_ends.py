"""Rod ends and ball links: load while they swing, and tilt."""

from __future__ import annotations


def rod_end_load(static: float, swinging_share: float, moving: bool) -> float:
    """Load that a rod end bears, N.

    Args:
        static: static load, N.
        swinging_share: share of it when the joint swings under load: 0.1 to 0.2 for plain-bearing parts.
        moving: the joint moves while the prop runs.

    Source: ISO 12240-4 class parts, from memory.

    Example:
        >>> rod_end_load(4000.0, 0.1, True)
        400.0
    """
    return static * (swinging_share if moving else 1.0)
