"""The checks of one sort: whoever makes a report asks them all and names none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Generic, TypeVar

from simprop.checking.check import Check

Case = TypeVar("Case")


class Checks(Generic[Case]):
    """Checks of one sort, in the order in which they were added; called with a case, it says all that they find.

    Example:
        >>> from simprop.checking.check import judge
        >>> checks: Checks[float] = Checks()
        >>> @checks.add
        ... def pull(case: float) -> list[Check]:
        ...     return [judge("member", "pull", "rod", case, 10.0, unit="N", factor=1.0)]
        >>> [c.margin for c in checks(5.0)]
        [2.0]
    """

    def __init__(self) -> None:
        self._all: list[Callable[[Case], list[Check]]] = []

    def add(self, check: Callable[[Case], list[Check]]) -> Callable[[Case], list[Check]]:
        """Take a check in; hands it back, so that it serves as a decorator."""
        self._all.append(check)
        return check

    def remove(self, check: Callable[[Case], list[Check]]) -> None:
        """Take a check out again (a test that added one)."""
        self._all.remove(check)

    def __iter__(self) -> Iterator[Callable[[Case], list[Check]]]:
        return iter(self._all)

    def __call__(self, case: Case) -> list[Check]:
        """All that the checks find."""
        return [found for check in self._all for found in check(case)]
