"""One way to compile inner loops with numba: on first use, kept on disk where that can be done.

numba keeps what it has compiled beside the file of a function, and compiles it anew when that file changes. A compiled
function that calls one of another file, or uses a number from there, would go on using the old one. So what is kept
here is stamped with the content of every file that takes part, and with the numbers that were built in; numba itself
adds its version, Python's, and the processor.
"""

from __future__ import annotations

import hashlib
import sys
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any, TypeVar, cast

import numba
import numpy as np
from numba.core.caching import FunctionCache
from numba.core.dispatcher import Dispatcher

F = TypeVar("F", bound=Callable[..., Any])
_PLAIN = (bool, int, float, str, tuple, frozenset, np.ndarray, np.generic)


def compiled(function: F, **options: Any) -> F:
    """Compile a function of plain loops over numpy arrays and numbers.

    It may call other compiled functions and use numbers of other files; it must not change what those are once it has
    run.

    Args:
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
    made = numba.njit(error_model="numpy", **options)(function)
    made._cache = _Kept(function)
    return cast(F, made)


def is_kept(function: Any) -> bool:
    """Whether compiled code of a function lies on disk, whatever it was compiled for.

    Args:
        function: as `compiled` made it.

    Example:
        >>> @compiled
        ... def thrice(x: float) -> float:
        ...     return 3.0 * x
        >>> is_kept(thrice)
        False
    """
    disk = function._cache._disk
    return disk is not None and Path(disk._cache_file._index_path).is_file()


class _Kept:
    """Compiled code of one function on disk, with the stamp of all that it was made from; nowhere without a folder."""

    def __init__(self, function: Any):
        self._function = function
        self._disk: Any = None
        try:
            self._disk = cast(Any, FunctionCache)(function)
        except RuntimeError:  # no folder that can be written, or a function that was typed at a prompt
            self._home = Path(function.__code__.co_filename).is_file()

    def load_overload(self, sig: Any, target_context: Any) -> Any:
        """Code compiled before, or None; a file that can't be read counts as none."""
        found = None
        if self._disk is None:
            if self._home:
                _say_unkept()
        else:
            # Only now do all functions that this one calls exist.
            self._disk._cache_file._source_stamp = stamp(self._function)
            try:
                found = self._disk.load_overload(sig, target_context)
            except Exception:  # half a file, one of another numba, a folder that has gone: it is made anew
                found = None
        if found is None:
            _say_compiling()
        return found

    def save_overload(self, sig: Any, data: Any) -> None:
        """Keep compiled code if the disk takes it."""
        try:
            if self._disk is not None:
                self._disk.save_overload(sig, data)
        except OSError:
            _say_unkept()


def stamp(function: Any) -> str:
    """Fingerprint of all that a compiled function is made from: files, and numbers built in.

    Args:
        function: as written.

    Example:
        >>> from simprop.geometry.arrays import Array
        >>> def area(x: Array) -> float:
        ...     return float(x[0] * x[1])
        >>> len(stamp(area))
        64
    """
    files, numbers, open_, seen = set(), set(), [function], set()
    while open_:
        one = open_.pop()
        if one in seen:
            continue
        seen.add(one)
        files.add(one.__code__.co_filename)
        for name, value in _used(one):
            if isinstance(value, Dispatcher):
                open_.append(value.py_func)
            elif isinstance(value, FunctionType) and value.__module__ == one.__module__:
                open_.append(value)
            elif isinstance(value, _PLAIN):
                whole = value.tobytes() if isinstance(value, np.ndarray) else repr(value)
                numbers.add(f"{one.__module__}.{name} = {whole!r}")
    text = [*sorted(_content(file) for file in files), *sorted(numbers), np.__version__]
    return hashlib.sha256("\n".join(text).encode()).hexdigest()


def _used(function: Any) -> Iterator[tuple[str, Any]]:
    """Names from outside that a function uses, with what they stand for; through modules too."""
    names = set(_names(function.__code__))
    scope = dict(function.__globals__)
    cells = zip(function.__code__.co_freevars, function.__closure__ or (), strict=True)
    scope |= {name: cell.cell_contents for name, cell in cells}
    for name in names & scope.keys():
        value = scope[name]
        if isinstance(value, ModuleType):
            inside = vars(value) if value.__name__.split(".")[0] != "numpy" else {}
            yield from ((f"{name}.{k}", inside[k]) for k in names & inside.keys())
        else:
            yield name, value


def _names(code: CodeType) -> Iterator[str]:
    yield from code.co_names
    yield from code.co_freevars
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield from _names(constant)


@cache
def _content(file: str) -> str:
    path = Path(file)
    return hashlib.sha256(path.read_bytes()).hexdigest() if path.is_file() else file


@cache
def _say_compiling() -> None:
    """Say once why the first run takes longer, where a person watches."""
    if sys.stderr.isatty():
        print("compiling inner loops (once)", file=sys.stderr, flush=True)


@cache
def _say_unkept() -> None:
    """Say once why every run takes longer."""
    print(
        "simprop: compiled code can't be kept (no folder for it that can be written), so every run compiles anew; "
        "set NUMBA_CACHE_DIR to one",
        file=sys.stderr,
        flush=True,
    )
