"""One way to compile inner loops with numba: on first use, cached on disk where that can be done."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def compiled(function: F, **options: Any) -> F:
    """Compile a function of plain loops over numpy arrays and numbers.

    Compiled functions that call each other must stand in one file: numba's cache looks only at the file of the caller,
    and would go on using an old version of a function changed elsewhere.

    Args:
        function: what to compile.
        options: further options of `numba.njit`.

    Returns:
        The compiled function, with the signature it was written with.

    Example:
        >>> @compiled
        ... def twice(x: float) -> float:
        ...     return 2.0 * x
        >>> twice(3.0)
        6.0
    """
    try:
        made = numba.njit(cache=True, error_model="numpy", **options)(function)
    except RuntimeError:  # no place to keep a cache: a function typed at a prompt, a read-only home
        made = numba.njit(error_model="numpy", **options)(function)
    return cast(F, made)
