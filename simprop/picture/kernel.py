"""One way to compile the inner loops: cached on disk, free of the interpreter lock, the same bytes on every run."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

F = TypeVar("F", bound=Callable[..., Any])


def kernel(function: F) -> F:
    """Compile `function` with numba on first use.

    Functions that call each other must live in one file: numba's cache looks only at the file of the caller.

    Args:
        function: plain loops over numpy arrays and numbers.

    Returns:
        The compiled function, with the signature it was written with.

    Example:
        >>> @kernel
        ... def twice(x: float) -> float:
        ...     return 2.0 * x
        >>> twice(3.0)
        6.0
    """
    try:
        compiled = numba.njit(cache=True, nogil=True, error_model="numpy", fastmath={"contract", "nsz"})(
            function
        )
    except RuntimeError:  # no place to keep a cache (a function typed at a prompt, a read-only home)
        compiled = numba.njit(nogil=True, error_model="numpy", fastmath={"contract", "nsz"})(function)
    return cast(F, compiled)
