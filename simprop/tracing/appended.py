"""A rig file with one entry more at the end of a section, written as the file is written, all else as it was."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

import yaml

from simprop.errors import RigError, SimpropError
from simprop.reading.text import composed, read_text
from simprop.rig.model import Rig

_REMARK = re.compile(r"[ \t]+#[^\n]*\n?")
"""A line that is nothing but a remark and stands further in."""
SECTIONS = tuple(field.alias or name for name, field in Rig.model_fields.items())
"""The keys of a rig file in their usual order."""


def appended(text: str, section: str, name: str, rows: Sequence[tuple[str, str]] | str) -> str:
    """The text of a rig file with a new entry at the end of a section, which is made where it is missing.

    Args:
        text: of the file, with the line ends that it has.
        section: one of the keys of a rig file.
        name: of the entry, which isn't there yet.
        rows: keys of the entry and what stands there, each on a line where the file writes its entries so; or its whole
            value on one line.

    Raises:
        RigError: where the text isn't YAML.
        SimpropError: where it can't be put there without changing something else.

    Example:
        >>> appended("points:   # drawn\\n    pin: 0 0 3 mm  # up\\n\\nrun: {for: 1 s}\\n", "points", "tip", "0 0 9 mm")
        'points:   # drawn\\n    pin: 0 0 3 mm  # up\\n    tip: 0 0 9 mm\\n\\nrun: {for: 1 s}\\n'
        >>> appended("{rig: 1, points: {}}", "points", "tip", "0 0 9 mm")
        '{rig: 1, points: {tip: 0 0 9 mm}}'
    """
    before = read_text(text).data
    flow = rows if isinstance(rows, str) else _flow(rows)
    if before is not None and not isinstance(before, dict):
        raise SimpropError("a rig file is a mapping: nothing can be put into this one")
    at, end, put = _edit(text, section, name, rows, flow)
    newline = "\r\n" if "\r\n" in text else "\n"
    changed = text[:at] + put.replace("\n", newline) + text[end:]
    held = (before or {}).get(section)
    entry = read_text(f"{{{name}: {flow}}}").data
    wanted = {**(before or {}), section: {**(held if isinstance(held, dict) else {}), **entry}}
    try:
        same = read_text(changed).data == wanted
    except RigError:
        same = False
    if not same:
        raise SimpropError(
            f"{section}.{name}: can't be put into the rig file without changing something else"
        )
    return changed


def _flow(rows: Sequence[tuple[str, str]]) -> str:
    return "{" + ", ".join(f"{key}: {value}" for key, value in rows) + "}"


def _edit(
    text: str, section: str, name: str, rows: Sequence[tuple[str, str]] | str, flow: str
) -> tuple[int, int, str]:
    """From where to where in the text what is put, its lines ended by \\n."""
    root = composed(text)
    pairs = root.value if isinstance(root, yaml.MappingNode) else []
    found: tuple[Any, Any] = (None, None)
    key, node = next(((k, v) for k, v in pairs if k.value == section), found)
    step = _step(pairs)
    if node is None and pairs and root.flow_style:
        return _into(text, root, f"{section}: {{{name}: {flow}}}")
    if node is None:
        at = _after(text, _before(pairs, section)) if pairs else len(text)
        whole = f"{section}:\n" + _lines(name, rows, step, step)
        gap = "\n" if text[:at].strip() and not text[:at].endswith(("\n\n", "\r\n\r\n")) else ""
        below = text[at:].lstrip("\r")
        return at, at, _begun(text, at) + gap + whole + ("" if not below or below.startswith("\n") else "\n")
    if isinstance(node, yaml.MappingNode) and node.flow_style:
        return _into(text, node, f"{name}: {flow}")
    if isinstance(node, yaml.MappingNode):
        column = node.value[0][0].start_mark.column
        as_lines = any(isinstance(v, yaml.MappingNode) and not v.flow_style for _, v in node.value)
        at = _after(text, _leaf(*node.value[-1]))
        return at, at, _begun(text, at) + _lines(name, rows if as_lines else flow, column, step)
    if isinstance(node, yaml.ScalarNode) and not node.value:
        at = _line_end(text, key.end_mark.index)
        return at, at, _begun(text, at) + _lines(name, rows, step, step)
    if isinstance(node, yaml.ScalarNode) and node.style is None and node.value in ("~", "null"):
        return node.start_mark.index, node.end_mark.index, f"{{{name}: {flow}}}"
    raise SimpropError(f"{section}: a mapping is wanted here, so nothing can be put into it")


def _lines(name: str, rows: Sequence[tuple[str, str]] | str, column: int, step: int) -> str:
    """An entry on lines of its own."""
    if isinstance(rows, str):
        return f"{' ' * column}{name}: {rows}\n"
    inner = "".join(f"{' ' * (column + step)}{key}: {value}\n" for key, value in rows)
    return f"{' ' * column}{name}:\n{inner}"


def _into(text: str, node: Any, put: str) -> tuple[int, int, str]:
    """What is put at the end of a mapping in braces."""
    if node.value:
        last = _leaf(*node.value[-1])
        return last, last, f", {put}"
    first = text.index("{", node.start_mark.index) + 1
    return first, first, put


def _leaf(key: Any, value: Any) -> int:
    """Where a pair ends: remarks and blank lines after it aside."""
    if value.end_mark.index < key.end_mark.index:  # an alias, whose value stands further up
        return int(key.end_mark.index)
    inside = isinstance(value, yaml.CollectionNode) and not value.flow_style and value.value
    if not inside:
        return int(value.end_mark.index)
    last = value.value[-1]
    return _leaf(*last) if isinstance(value, yaml.MappingNode) else _leaf(last, last)


def _after(text: str, index: int) -> int:
    """The beginning of the next line but for remarks that belong to what stands before it."""
    at = index if index and text[index - 1] == "\n" else _line_end(text, index)
    while (match := _REMARK.match(text, at)) is not None:
        at = match.end()
    return at


def _line_end(text: str, index: int) -> int:
    found = text.find("\n", index)
    return len(text) if found < 0 else found + 1


def _begun(text: str, at: int) -> str:
    """What ends the line before, where that doesn't end yet."""
    return "" if at == 0 or text[at - 1] == "\n" else "\n"


def _before(pairs: Sequence[Any], section: str) -> int:
    """Where the pair ends after which a section usually stands."""
    usual = SECTIONS[: SECTIONS.index(section)]
    ends = [_leaf(k, v) for k, v in pairs if k.value in usual]
    return max(ends) if ends else _leaf(*pairs[-1])


def _step(pairs: Sequence[Any]) -> int:
    """By how many blanks the file sets its sections in."""
    columns = [
        v.value[0][0].start_mark.column
        for _, v in pairs
        if isinstance(v, yaml.MappingNode) and not v.flow_style and v.value
    ]
    return min(columns) if columns and min(columns) > 0 else 2
