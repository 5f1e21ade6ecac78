"""Dry friction as a rig file says it: a force or torque, a coefficient, or a pair of surfaces."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import BeforeValidator, ValidationInfo
from pydantic_core import PydanticCustomError

from simprop.catalog.friction import Surfaces, surfaces
from simprop.errors import UnknownNameError
from simprop.quantities import KINDS
from simprop.reading.fields import fault, read_scalar, scope_of

_MOST = 5.0
ALSO = "a coefficient such as 0.35, a pair of surfaces such as PVC on PVC"


def _coefficient(value: Any, info: ValidationInfo) -> Surfaces | None:
    """The value as two surfaces, or None where it is neither a coefficient nor a pair."""
    if isinstance(value, Surfaces):
        return value
    if isinstance(value, str) and (" on " in value or "bearing" in value):
        try:
            return surfaces(value)
        except UnknownNameError as error:
            raise fault(
                "not a pair of surfaces of the catalogue", ", ".join(error.allowed), error.nearest
            ) from None
    try:
        mu = read_scalar(value, "number", scope_of(info))
    except PydanticCustomError:
        return None
    if not 0 <= mu <= _MOST:
        raise fault(f"a coefficient of friction lies from 0 to {_MOST:g}", ALSO)
    return Surfaces("", mu, mu, "stated in the rig")


def _reader(kind: str) -> Callable[[Any, ValidationInfo], float | Surfaces]:
    def read(value: Any, info: ValidationInfo) -> float | Surfaces:
        pair = _coefficient(value, info)
        if pair is not None:
            return pair if pair.static > 0 or pair.kinetic > 0 else 0.0
        try:
            number = read_scalar(value, kind, scope_of(info))
        except PydanticCustomError as error:
            raise fault(str(error.message()), f"{KINDS[kind][1]}; {ALSO}") from None
        if number < 0:
            raise fault("must not be negative", f"{KINDS[kind][1]}; {ALSO}")
        return number

    read.written = (f"{kind}, coefficient or pair", f"{KINDS[kind][1].split(', ')[0]} or 0.35 or PVC on PVC")  # type: ignore[attr-defined]
    return read


def _only(value: Any, info: ValidationInfo) -> Surfaces:
    pair = _coefficient(value, info)
    if pair is None:
        raise fault("a coefficient or a pair of surfaces is wanted", ALSO)
    return pair


_only.written = ("coefficient or pair", "0.35 or PVC on PVC")  # type: ignore[attr-defined]
TorqueOrSurfaces = Annotated[float | Surfaces, BeforeValidator(_reader("torque"))]
ForceOrSurfaces = Annotated[float | Surfaces, BeforeValidator(_reader("force"))]
Rubbing = Annotated[Surfaces, BeforeValidator(_only)]
