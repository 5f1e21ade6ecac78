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
ALL = "all"
"""Asks for every place with all its keys."""


def show_fields(place: str) -> int:
    """Print every kind of record that `place` names, a single key, or how values are written.

    Args:
        place: as `looked_up` takes it, a topic, ``all``, or "" for the places alone with their kinds.

    Raises:
        SimpropError: when there is none.
    """
    if not place:
        return _overview()
    entries, keys = (reference(), []) if place == ALL else looked_up(place)
    if place in TOPICS:
        _topic(place)
    elif not entries and not keys:
        raise SimpropError(_unknown(place))
    _single(keys)
    for there in dict.fromkeys(e.place for e in entries):
        _place([e for e in entries if e.place == there], len(entries) <= FEW)
    if place == ALL:
        for topic in TOPICS:
            _topic(topic)
    elif len(entries) > FEW and (one := next((e for e in entries if e.kind), None)):
        _say(f"\nkey by key: simprop fields {one.place.replace('.NAME', '')}.{one.kind}")
    return 0


def _overview() -> int:
    """All places, each with its kinds or what it is."""
    entries = reference()
    for there in dict.fromkeys(e.place for e in entries):
        here = [e for e in entries if e.place == there]
        kinds = ", ".join(e.kind for e in here if e.kind)
        text = Text(there or "the whole file", style="bold")
        told = kinds if len(here) > 1 else here[0].about
        if not there:
            told += f" Needs {_list_of(here[0].needs)}; may have {_list_of(here[0].may)}."
        console.print(text.append(f": {told}", style="not bold"))
    _say("\nthe keys of a place, of a kind, or one key: simprop fields joints, joints.pin, friction")
    _say(f"how values are written, and what the catalogue has: simprop fields {', '.join(TOPICS)}")
    _say("all of it: simprop fields all")
    return 0


def _list_of(keys: tuple[Key, ...]) -> str:
    return ", ".join(k.name for k in keys)


def _say(text: str) -> None:
    console.print(Text(text, style="dim"))


def _single(keys: list[tuple[Entry, Key]]) -> None:
    """One key at each place where it stands; kinds that say the same of it stand together."""
    alike: dict[tuple[str, Key], list[str]] = {}
    for entry, key in keys:
        alike.setdefault((entry.place, key), []).append(entry.kind)
    every = [e for e in reference() if e.kind]
    for (place, key), kinds in alike.items():
        all_of_them = len(kinds) > 1 and len(kinds) == sum(e.place == place for e in every)
        which = "any kind" if all_of_them else ", ".join(filter(None, kinds))
        _line(f"{place or 'the whole file'}{f' ({which})' if which else ''}: {key.name}", key)


def write_page(file: Path) -> int:
    """Write all of it as a page that needs nothing beside it, with an example of each kind.

    Args:
        file: HTML file to write.
    """
    from simprop.report.fields import fields_report
    from simprop.report.page import page

    with written_beside(file.parent) as work:
        write_text(work / file.name, page(fields_report(), work))
    console.print(Text(f"Written to {file}"))
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
