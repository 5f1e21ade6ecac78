"""YAML text to plain data with the line of every field, without YAML's traps.

Only ``true``/``false`` are booleans, only plain decimal numbers are numbers (``1e3`` is one, ``010`` and ``1:30``
stay text), keys are text, and a key that stands twice is a fault.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path as FilePath
from typing import Any

import yaml

from simprop.errors import Fault, RigError

Path = tuple[str | int, ...]

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]*)$")
_FLOAT = re.compile(r"[-+]?(0|[1-9][0-9]*)?(\.[0-9]*)?([eE][-+]?[0-9]+)?$")
_CONTROL = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")
"""What moves a terminal's cursor or turns the way in which text runs, but for tab and line end."""
_LARGEST = 1_000_000
_DEEPEST = 30
_DIGITS = 18
"""Longer whole numbers are read as floats."""


@dataclass(frozen=True)
class Document:
    """A file as read.

    Attributes:
        file: path as given.
        data: mappings, lists, text, numbers, booleans and None.
        lines: line number (from 1) of the key, or of the value, at each path.
        faults: keys that stand twice.
    """

    file: str
    data: Any
    lines: dict[Path, int]
    faults: tuple[Fault, ...]

    def where(self, text: str) -> Iterator[Path]:
        """The places at which a text stands as a value."""
        open_: list[tuple[Path, Any]] = [((), self.data)]
        while open_:
            path, value = open_.pop()
            if value == text:
                yield path
            rows = (
                value.items()
                if isinstance(value, dict)
                else enumerate(value)
                if isinstance(value, list)
                else ()
            )
            open_ += [((*path, key), inner) for key, inner in rows]

    def located(self, fault: Fault) -> Fault:
        """A fault of a field with file and line: the line of the field, or of the nearest one that holds it."""
        path = as_path(fault.field)
        while path and path not in self.lines:
            path = path[:-1]
        return replace(fault, file=self.file, line=self.lines.get(path))


def plain(text: str) -> Any:
    """An unquoted YAML scalar as number, boolean, None or text.

    Example:
        >>> [plain(t) for t in ("1e3", "010", "1:30", "no", "true")]
        [1000.0, '010', '1:30', 'no', True]
    """
    if text in ("", "~", "null"):
        return None
    if text in ("true", "false"):
        return text == "true"
    if _INTEGER.match(text) and len(text) <= _DIGITS:
        return int(text)
    if _FLOAT.match(text) and re.search(r"[0-9]", text):
        return float(text)
    return text


def text_of(path: str | FilePath) -> str:
    """The text of a file, UTF-8.

    Raises:
        RigError: when there is none, or it can't be read.

    Example:
        >>> import tempfile
        >>> place = FilePath(tempfile.mkdtemp()) / "post.yaml"
        >>> _ = place.write_text("name: Post")
        >>> text_of(place)
        'name: Post'
    """
    try:
        return FilePath(path).read_text(encoding="utf-8")
    except FileNotFoundError:
        raise RigError([Fault("there is no such file", file=str(path))]) from None
    except (OSError, UnicodeDecodeError) as error:
        raise RigError([Fault(f"the file can't be read: {error}", file=str(path))]) from None


@lru_cache(maxsize=4)
def composed(text: str) -> Any:
    """The nodes of a YAML text with their marks, to be looked at only; None of an empty one.

    The last few are kept: reading takes a hundredth of a second and more, and who edits a text reads it several times.

    Args:
        text: of a file.

    Raises:
        yaml.YAMLError: when it isn't YAML.
        RecursionError: when it is nested too deep.

    Example:
        >>> composed("name: Wall peeper").value[0][1].start_mark.column
        6
    """
    return yaml.compose(text, Loader=yaml.SafeLoader)


def read_text(text: str, file: str = "rig.yaml") -> Document:
    """YAML text as a `Document`.

    Args:
        text: the file's text.
        file: its name, for messages.

    Raises:
        RigError: when it isn't YAML, or too large.

    Example:
        >>> read_text("name: Wall peeper").data
        {'name': 'Wall peeper'}
    """
    if len(text) > _LARGEST:
        raise RigError([Fault("the file is larger than a rig file can be", file=file, allowed="up to 1 MB")])
    try:
        node = composed(text)
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        message = f"not YAML: {error.problem}" + (f" {error.context}" if error.context else "")
        raise RigError([Fault(message, file=file, line=None if mark is None else mark.line + 1)]) from None
    except yaml.reader.ReaderError as error:
        line = text[: error.position].count("\n") + 1
        message = f"not YAML: the character U+{error.character:04X} may not stand in it"
        raise RigError([Fault(message, file=file, line=line)]) from None
    except RecursionError:
        raise RigError([Fault("nested too deep", file=file, line=_deepest(text))]) from None
    lines: dict[Path, int] = {(): 1}
    faults: list[Fault] = []
    data = None if node is None else _build(node, (), lines, faults, file, depth=0)
    return Document(file, data, lines, tuple(faults))


def _build(node: Any, path: Path, lines: dict[Path, int], faults: list[Fault], file: str, depth: int) -> Any:
    line = node.start_mark.line + 1
    lines.setdefault(path, line)
    if depth > _DEEPEST:
        raise RigError([Fault("nested too deep", file=file, line=line, field=dotted(path))])
    if len(lines) > 100_000:
        raise RigError([Fault("too many fields", file=file, line=line)])
    if isinstance(node, yaml.MappingNode):
        mapping: dict[str, Any] = {}
        for key_node, value_node in node.value:
            key_line = key_node.start_mark.line + 1
            if not isinstance(key_node, yaml.ScalarNode):
                faults.append(Fault("a key must be a name", file=file, line=key_line, field=dotted(path)))
                continue
            key = str(key_node.value)
            if _CONTROL.search(key) or "\n" in key:
                faults.append(Fault("a key holds a control character", file, key_line, dotted(path)))
                continue
            here = (*path, key)
            if key in mapping:
                first = lines[here]
                faults.append(
                    Fault(f"this key stands twice (first in line {first})", file, key_line, dotted(here))
                )
                continue
            lines[here] = key_line
            mapping[key] = _build(value_node, here, lines, faults, file, depth + 1)
        return mapping
    if isinstance(node, yaml.SequenceNode):
        return [_build(v, (*path, i), lines, faults, file, depth + 1) for i, v in enumerate(node.value)]
    text = str(node.value)
    if _CONTROL.search(text):
        faults.append(Fault("the text holds a control character", file, line, dotted(path)))
    return plain(text) if node.style is None else text


def _deepest(text: str) -> int:
    """The line in which brackets nest deeper than they may."""
    depth = 0
    for number, line in enumerate(text.splitlines(), start=1):
        depth += sum(line.count(c) for c in "[{") - sum(line.count(c) for c in "]}")
        if depth > _DEEPEST:
            return number
    return 1


def as_path(field: str) -> Path:
    """A dotted path as keys and places in lists.

    Example:
        >>> as_path("bodies.mast.parts.0.pipe")
        ('bodies', 'mast', 'parts', 0, 'pipe')
    """
    return tuple(int(p) if re.fullmatch("[0-9]{1,6}", p) else p for p in field.split(".")) if field else ()


def dotted(path: Path) -> str:
    """A path as people write it.

    Example:
        >>> dotted(("bodies", "mast", "parts", 0, "pipe"))
        'bodies.mast.parts.0.pipe'
    """
    return ".".join(str(p) for p in path)
