"""Looking into the data of a rig file that may be wrong anywhere: what checks across fields share."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from simprop.errors import Fault, nearest


def mapping(value: Any) -> dict[str, Any]:
    """The value if it is a mapping, else an empty one."""
    return value if isinstance(value, dict) else {}


def still(body: Any) -> bool:
    """True for a body that doesn't move: fixed, or scenery.

    Example:
        >>> still({"scenery": True}), still({"parts": []})
        (True, False)
    """
    return any(mapping(body).get(key) is True for key in ("fixed", "scenery"))


def unknown(field: str, value: Any, names: Iterable[str], what: str) -> Fault:
    """The fault of a name that points nowhere.

    Args:
        field: dotted path.
        value: the name as written.
        what: what it should name, such as ``a body``.
    """
    names = list(names)
    return Fault(
        f"not {what} of this file",
        field=field,
        value=str(value),
        allowed=", ".join(names) or "none is named",
        nearest=nearest(str(value), names),
    )


def strangers(field: str, pair: list[Any], bodies: dict[str, Any]) -> list[Fault]:
    """Faults of a pair of bodies of which one or both aren't in the file (what isn't text is the reader's to tell)."""
    return [
        unknown(f"{field}.{i}", b, bodies, "a body")
        for i, b in enumerate(pair)
        if not isinstance(b, str) or b not in bodies
    ]
