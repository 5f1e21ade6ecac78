"""Which nut stays on: nylon insert, double, plain."""

from __future__ import annotations

from typing import Literal

Nut = Literal["nylon insert", "double", "castle and split pin", "plain", "plain and thread locker", "wing"]
INSERT_LIMIT = 121.0
"""A nylon insert loses its grip above this, degC: 250 degF, IFI test standard."""


def nut_warning(nut: str, moving: bool, temperature: float = 23.0) -> str | None:
    """Why a nut may come off, or None where nothing speaks against it.

    Args:
        nut: a value of `Nut`.
        moving: the joint moves while the prop runs.
        temperature: degC.

    Source: common practice; temperature IFI 100/107.

    Example:
        >>> nut_warning("plain", moving=True).split(":")[0]
        'a plain nut on a moving joint works loose'
        >>> nut_warning("nylon insert", moving=True) is None
        True
    """
    if nut == "nylon insert" and temperature > INSERT_LIMIT:
        return "a nylon insert loses its grip above 121 degC: use an all-metal lock nut"
    if not moving:
        return None
    if nut in {"plain", "wing"}:
        return (
            f"a {nut} nut on a moving joint works loose: each swing drags the nut round by friction, and "
            "it can't be tightened without jamming the joint; use a nylon-insert nut or two nuts locked "
            "against each other"
        )
    if nut == "plain and thread locker":
        return (
            "thread locker sets only on tight, clean threads: on a loose pivot use a nylon-insert nut "
            "or two nuts"
        )
    return None
