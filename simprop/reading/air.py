"""Drag as a rig says it."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator

from simprop.reading.fields import fault

MOST = 5.0
"""Largest drag coefficient."""


def _drag(value: Any) -> float | bool:
    if isinstance(value, bool):
        return value
    if not isinstance(value, (int, float)) or not 0.0 <= value <= MOST:
        raise fault("not a drag coefficient", f"true, false, or a number from 0 to {MOST:g} such as 1.2")
    return float(value)


Drag = Annotated[bool | float, BeforeValidator(_drag)]
"""``true`` (from the shape or the material), ``false`` or a coefficient."""
