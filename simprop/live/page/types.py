"""What the things on a page have in common, and how a list of options is set without it being taken for a choice."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from simprop.live.session import Session


@dataclass(frozen=True)
class Panel:
    """A server of scenes and the session that it shows."""

    server: Any
    session: Session

    @property
    def gui(self) -> Any:
        """Its controls."""
        return self.server.gui


def by_hand(event: Any) -> bool:
    """Whether somebody at a page moved a control, and not this program."""
    return event.client is not None


def offer(drop: Any, options: tuple[str, ...]) -> bool:
    """Give a drop-down other options; what is chosen stays where it is among them.

    Args:
        drop: the drop-down.
        options: at least one.

    Returns:
        Whether they are other ones.
    """
    if tuple(drop.options) == options:
        return False
    value = drop.value
    drop.options = options
    drop.value = value if value in options else options[0]
    return True
