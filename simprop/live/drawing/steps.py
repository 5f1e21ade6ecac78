"""What was drawn, step by step: written into the rig file, told in a sentence, taken back."""

from __future__ import annotations

from difflib import SequenceMatcher

from simprop.errors import SimpropError
from simprop.live.session import Session


class Steps:
    """The steps that were drawn on a session's rig file.

    Args:
        session: whose file is written.
    """

    def __init__(self, session: Session):
        self._session = session
        self._done: list[tuple[str, str]] = []

    def take(self, text: str) -> str:
        """Write another text of the rig file.

        Args:
            text: of the whole file.

        Returns:
            What changed in it, in words; "" where nothing did, and nothing was written.

        Raises:
            SimpropError: as `Session.draw`.
        """
        before = self._session.state.text
        if text == before:
            return ""
        self._session.draw(text)
        self._done.append((before, text))
        return difference(before, text)

    def back(self) -> str:
        """Take the last step back.

        Returns:
            What changed, in words.

        Raises:
            SimpropError: where there is none, or the file isn't as it was written.
        """
        if not self._done:
            raise SimpropError("nothing was drawn that could be taken back")
        before, after = self._done[-1]
        if self._session.state.text != after:
            raise SimpropError(
                f"{self._session.file.name} was changed since: it can't be taken back from here"
            )
        self._session.draw(before)
        self._done.pop()
        return difference(after, before)


def difference(before: str, after: str) -> str:
    """What changed from one text to another, line by line, in words.

    Example:
        >>> difference("points:\\n  pin: 0 0 30 mm   # top\\n", "points:\\n  pin: 5 0 30 mm   # top\\n")
        'pin: 0 0 30 mm -> 5 0 30 mm, line 2'
        >>> difference("a: 1\\n", "a: 1\\nb: 2\\n")
        'new: b: 2, line 2'
    """
    old, new = before.splitlines(), after.splitlines()
    told = []
    for sort, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if sort == "replace" and b - a == d - c:
            told += [f"{_change(old[a + k], new[c + k])}, line {c + k + 1}" for k in range(b - a)]
        elif sort != "equal":
            told += [f"gone: {_bare(old[k])}, line {k + 1}" for k in range(a, b)]
            told += [f"new: {_bare(new[k])}, line {k + 1}" for k in range(c, d)]
    return "; ".join(told)


def _bare(line: str) -> str:
    """A line of a rig file without its remark."""
    return line.split(" #", maxsplit=1)[0].strip()


def _change(old: str, new: str) -> str:
    """Two forms of a line as one: its key once, where that is the same."""
    was, now = _bare(old), _bare(new)
    key, mark, rest = now.partition(": ")
    if mark and was.startswith(key + mark) and "{" not in key:
        return f"{key}: {was[len(key + mark) :]} -> {rest}"
    return f"{was} -> {now}"
