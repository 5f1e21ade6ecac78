"""Names that the catalogue must know."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import AfterValidator

from simprop.catalog.load import material
from simprop.errors import UnknownNameError, listed
from simprop.reading.fields import fault


def known(look_up: Callable[[str], Any]) -> AfterValidator:
    """A check that a name is known; a fault with the nearest one where it isn't.

    Args:
        look_up: raises `UnknownNameError` for a name that the catalogue doesn't have.
    """

    def check(name: str) -> str:
        try:
            look_up(name)
        except UnknownNameError as error:
            raise fault(
                f"not a {error.what} of the catalogue", listed(error.allowed), error.nearest
            ) from None
        return name

    check.look_up = look_up  # type: ignore[attr-defined]
    return AfterValidator(check)


def sort_of(checked: Any) -> tuple[str, str] | None:
    """What sort of name a check of `known` takes, and the first that the catalogue has; None of anything else.

    Example:
        >>> sort_of(known(material)), sort_of("?")
        (('material', 'PVC'), None)
    """
    look_up = getattr(getattr(checked, "func", None), "look_up", None)
    if look_up is None:
        return None
    try:
        look_up("")
    except UnknownNameError as error:
        return error.what, next(iter(error.allowed), "")
    return None


MaterialName = Annotated[str, known(material)]
