"""``simprop fields``: what may stand in a rig file."""

from __future__ import annotations

from rich.padding import Padding
from rich.text import Text

from simprop.commands.terminal import console
from simprop.errors import SimpropError, listed, nearest
from simprop.rig.reference import reference


def show_fields(place: str) -> int:
    """Print every kind of record whose place begins with `place`.

    Raises:
        SimpropError: when there is none.
    """
    entries = [e for e in reference() if e.place.startswith(place)]
    if not entries:
        places = list(dict.fromkeys(e.place for e in reference()))
        near = nearest(place, places)
        hint = f"; did you mean {near!r}?" if near else ""
        raise SimpropError(f"no field begins with {place!r} (allowed: {listed(places)}){hint}")
    last = ""
    for entry in entries:
        if entry.place != last:
            console.print(Text(f"\n{entry.place}", style="bold"))
            last = entry.place
        head = f"{entry.kind}: {entry.about}" if entry.kind else entry.about
        console.print(Padding(Text(head), (0, 0, 0, 2)))
        for what, keys in (("needs", entry.needs), ("may have", entry.may)):
            if keys:
                console.print(Padding(Text(f"{what} {', '.join(keys)}", style="dim"), (0, 0, 0, 6)))
    return 0
