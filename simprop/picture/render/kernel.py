"""One way to compile the picture's inner loops: free of the interpreter lock, the same bytes on every run."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

from simprop.compiled import compiled

F = TypeVar("F", bound=Callable[..., Any])


def kernel(function: F) -> F:
    """Compile `function` on first use, with products and sums allowed to fuse (see `simprop.compiled.compiled`).

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
    return compiled(function, nogil=True, fastmath={"contract", "nsz"})
