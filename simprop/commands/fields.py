"""``simprop fields``: what may stand in a rig file."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from rich.padding import Padding
from rich.text import Text

from simprop.commands.terminal import console
from simprop.errors import SimpropError, listed, nearest
from simprop.rig.json_schema import json_schema
from simprop.rig.reference import TOPICS, Entry, Key, looked_up, reference
from simprop.written import write_text, written_beside

FEW = 2
"""So many kinds of record are shown key by key."""


def show_fields(place: str) -> int:
    """Print every kind of record that `place` names, a single key, or how values are written; all of it for "".

    Raises:
        SimpropError: when there is none.
    """
    entries, keys = looked_up(place)
    if place in TOPICS:
        _topic(place)
    elif not entries and not keys:
        raise SimpropError(_unknown(place))
    for entry, key in keys:
        _line(f"{entry.place or 'the whole file'}: {key.name}", key)
    if not place:
        entries = reference()
    for there in dict.fromkeys(e.place for e in entries):
        _place([e for e in entries if e.place == there], len(entries) <= FEW)
    if not place:
        for topic in TOPICS:
            _topic(topic)
    return 0


def show_schema(out: Path | None) -> int:
    """Print the JSON Schema of a rig file, or write it.

    Args:
        out: file; None: the terminal.
    """
    text = schema_text()
    if out is None:
        sys.stdout.write(text)
        return 0
    with written_beside(out.parent) as work:
        write_text(work / out.name, text)
    console.print(Text(f"Written to {out}"))
    return 0


def schema_text() -> str:
    """The JSON Schema of a rig file as a file's text."""
    return json.dumps(json_schema(), indent=1) + "\n"


def _unknown(place: str) -> str:
    places = list(dict.fromkeys(e.place for e in reference() if e.place))
    names = [*places, *TOPICS, *dict.fromkeys(k.name for e in reference() for k in e.keys)]
    near = nearest(place, names)
    hint = f"; did you mean {near!r}?" if near else ""
    allowed = f"the start of a place, a key, or one of {', '.join(TOPICS)}; {listed(places)}"
    return f"no field begins with {place!r} (allowed: {allowed}){hint}"


def _topic(name: str) -> None:
    console.print(Text(f"\nhow {name} are written" if name != "inertia" else "\ninertia", style="bold"))
    for sentence in TOPICS[name]:
        console.print(Padding(Text(sentence), (0, 0, 0, 2)))


def _place(entries: list[Entry], key_by_key: bool) -> None:
    """All kinds at one place; keys that all of them may have stand once."""
    console.print(Text(f"\n{entries[0].place or 'the whole file'}", style="bold"))
    shared = [k for k in entries[0].may if len(entries) > FEW and all(k in e.may for e in entries)]
    for entry in entries:
        head = f"{entry.kind}: {entry.about}" if entry.kind else entry.about
        console.print(Padding(Text(head), (0, 0, 0, 2)))
        own = tuple(k for k in entry.may if k not in shared)
        for what, keys in (("needs", entry.needs), ("may have", own)):
            if key_by_key and keys:
                console.print(Padding(Text(what, style="dim"), (0, 0, 0, 6)))
                for key in keys:
                    _line(key.name, key, 8)
            elif keys:
                console.print(Padding(Text(f"{what} {', '.join(map(str, keys))}", style="dim"), (0, 0, 0, 6)))
    if shared:
        told = f"each may also have {', '.join(map(str, shared))}"
        console.print(Padding(Text(told, style="dim"), (0, 0, 0, 2)))


def _line(name: str, key: Key, indent: int = 2) -> None:
    """One key with what it is, and how it is written."""
    text = Text(name, style="bold")
    text.append(f" ({key.form})" if key.form else "", style="dim")
    text.append(f": {key.about}" if key.about else "", style="not bold")
    console.print(Padding(text, (0, 0, 0, indent)))
