"""A rig file with some of its values others, every other character as it was.

The places come from the marks of the YAML reader; text is put in there and nothing is written anew, so that comments,
alignment and the way of quoting stay.
"""

from __future__ import annotations

import copy
from collections.abc import Mapping
from contextlib import suppress
from typing import Any

import yaml

from simprop.errors import RigError, SimpropError
from simprop.reading.text import Path, composed, dotted, read_text


def rewritten(text: str, values: Mapping[Path, str]) -> str:
    """The text of a YAML file with other values at some places, or new keys there.

    Args:
        text: of the file.
        values: by their places, as they stand in the file; all but the last key of each is there.

    Raises:
        SimpropError: where that can't be done without changing something else (a value that an alias shares).

    Example:
        >>> rewritten("a: {b: 1 m,  c: 2 m}   # as drawn\\n", {("a", "c"): "3 m", ("a", "d"): "4 m"})
        'a: {b: 1 m,  c: 3 m, d: 4 m}   # as drawn\\n'
    """
    root = composed(text)
    newline = "\r\n" if "\r\n" in text else "\n"
    edits = [_edit(root, path, value, newline) for path, value in values.items()]
    changed = text
    for _, (start, end, put) in sorted(enumerate(edits), key=lambda e: (e[1][0], e[0]), reverse=True):
        changed = changed[:start] + put + changed[end:]
    _looked_at(text, changed, values)
    return changed


def written_at(text: str, path: Path) -> str:
    """What stands at a place of a YAML file, character by character: with quotes, and with the anchor before it.

    Args:
        text: of the file.
        path: of a value; of one that an alias stands for, what the alias means.

    Raises:
        SimpropError: where nothing stands.

    Example:
        >>> written_at("a: {b: '1 m',  c: 2 m}", ("a", "b"))
        "'1 m'"
    """
    node = composed(text)
    for key in path:
        node = _inside(node, key)
    if node is None:
        raise SimpropError(f"{dotted(path)}: there is no such field in the rig file")
    return text[node.start_mark.index : node.end_mark.index]


def _inside(node: Any, key: str | int) -> Any:
    """The value under a key of a node; None where it isn't there."""
    if isinstance(node, yaml.SequenceNode) and isinstance(key, int) and key < len(node.value):
        return node.value[key]
    pairs = node.value if isinstance(node, yaml.MappingNode) else []
    return next((value for name, value in pairs if name.value == str(key)), None)


def _edit(root: Any, path: Path, value: str, newline: str) -> tuple[int, int, str]:
    """From where to where in the text what is put."""
    node = root
    for key in path[:-1]:
        node = _inside(node, key)
    found = _inside(node, path[-1])
    if found is not None:
        return found.start_mark.index, found.end_mark.index, value
    if not isinstance(node, yaml.MappingNode) or not node.value:
        raise SimpropError(f"{dotted(path)}: there is no place for it in the rig file")
    if node.flow_style:
        last = node.value[-1][1].end_mark.index
        return last, last, f", {path[-1]}: {value}"
    first = node.value[0][0].start_mark
    return first.index, first.index, f"{path[-1]}: {value}{newline}{' ' * first.column}"


def _looked_at(before: str, after: str, values: Mapping[Path, str]) -> None:
    """Look that the text says what it said, but for these values."""
    wanted = copy.deepcopy(read_text(before).data)
    for path, value in values.items():
        node = wanted
        for key in path[:-1]:
            node = node[key]
        node[path[-1]] = read_text(value).data
    with suppress(RigError):
        if read_text(after).data == wanted:
            return
    places = ", ".join(map(dotted, values))
    raise SimpropError(f"{places}: can't be changed alone in the rig file; does an alias share it?")
