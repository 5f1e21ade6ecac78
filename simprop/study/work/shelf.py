"""A list that lies on disk: what came of any number of variants, while memory stays as it is."""

from __future__ import annotations

import pickle
import tempfile
import zlib
from collections.abc import Iterator, Sequence
from typing import Generic, TypeVar, overload

T = TypeVar("T")

BLOCK = 256
"""Things that lie together."""


class Shelf(Sequence[T], Generic[T]):
    """Things in their order, in a file without a name that goes when this does.

    One block is in memory, and what took another's place (few do). Read it in its order: each step aside reads a block.

    Example:
        >>> shelf = Shelf()
        >>> for number in range(1000):
        ...     shelf.append(number)
        >>> shelf[500] = -1
        >>> len(shelf), shelf[2], shelf[-1], sum(shelf) == sum(range(1000)) - 501
        (1000, 2, 999, True)
    """

    def __init__(self) -> None:
        self._file = tempfile.TemporaryFile()  # noqa: SIM115 - it is open as long as this lives
        self._starts = [0]
        self._last: list[T] = []
        self._others: dict[int, T] = {}
        self._open: tuple[int, list[T]] = (-1, [])

    def append(self, thing: T) -> None:
        """Put one more behind the last."""
        self._last.append(thing)
        if len(self._last) == BLOCK:
            data = zlib.compress(pickle.dumps(self._last, pickle.HIGHEST_PROTOCOL), 1)
            self._file.seek(self._starts[-1])
            self._file.write(data)
            self._starts.append(self._starts[-1] + len(data))
            self._last = []

    def __len__(self) -> int:
        return BLOCK * (len(self._starts) - 1) + len(self._last)

    def __setitem__(self, place: int, thing: T) -> None:
        self._others[range(len(self))[place]] = thing

    @overload
    def __getitem__(self, place: int) -> T: ...

    @overload
    def __getitem__(self, place: slice) -> list[T]: ...

    def __getitem__(self, place: int | slice) -> T | list[T]:
        if isinstance(place, slice):
            return [self[k] for k in range(*place.indices(len(self)))]
        k = range(len(self))[place]
        return self._others[k] if k in self._others else self._block(k // BLOCK)[k % BLOCK]

    def __iter__(self) -> Iterator[T]:
        for number in range(len(self._starts)):
            for k, thing in enumerate(self._block(number), BLOCK * number):
                yield self._others.get(k, thing)

    def _block(self, number: int) -> list[T]:
        if number == len(self._starts) - 1:
            return self._last
        if self._open[0] != number:
            start, end = self._starts[number : number + 2]
            self._file.seek(start)
            self._open = number, pickle.loads(zlib.decompress(self._file.read(end - start)))
        return self._open[1]
