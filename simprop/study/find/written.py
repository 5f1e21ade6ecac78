"""A variant as a rig file, the author's comments kept."""

from __future__ import annotations

import re
from collections.abc import Mapping

from simprop.errors import SimpropError
from simprop.reading.text import Path, as_path
from simprop.study.trial.tried import document_of
from simprop.study.types import Study, Variant
from simprop.tuning.rewrite import rewritten

PLAIN = re.compile(r"[^\s,:#&*!|>'\"%@`{}\[\]-][^,:#{}\[\]'\"]*")
"""Text that YAML takes as it stands, in any place."""


def written_variant(study: Study, variant: Variant, text: str | None = None) -> str:
    """The text of the rig file of a variant, with every value that was set in the place of the one in it.

    Args:
        study: of the rig.
        variant: of it, without scatter.
        text: of the file, with the line ends that it has; None: as the study has it.

    Raises:
        SimpropError: where a value can't be put in without changing another.

    Example:
        >>> study = Study("params: {throw: 50 mm}   # hole to hole", "")
        >>> written_variant(study, Variant((("throw", "60 mm"),)))
        'params: {throw: 60 mm}   # hole to hole'
    """
    source = study.text if text is None else text
    sets = {**study.sets, **dict(variant.sets)}
    try:
        return rewritten(source, {place(study, field): _quoted(value) for field, value in sets.items()})
    except (KeyError, IndexError, TypeError) as error:
        raise SimpropError(f"{', '.join(sets)}: can't be put into the rig file") from error


def place(study: Study, field: str) -> Path:
    """Where a field stands in a rig file, as `--set` means it: a named value, or a dotted field."""
    params = _data(study).get("params")
    named = isinstance(params, dict) and field in params and "." not in field
    return as_path(f"params.{field}" if named else field)


def text_at(study: Study, field: str) -> str:
    """What stands in a field of the rig file, on one line; "" where nothing does.

    Example:
        >>> text_at(Study("params: {throw: 50 mm}", ""), "throw")
        '50 mm'
    """
    node: object = _data(study)
    for key in place(study, field):
        if isinstance(node, list) and isinstance(key, int) and key < len(node):
            node = node[key]
        else:
            node = node.get(str(key)) if isinstance(node, dict) else None
    return "" if node is None else _flow(node)


def _flow(node: object) -> str:
    if isinstance(node, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(value)}" for key, value in node.items()) + "}"
    if isinstance(node, list):
        return "[" + ", ".join(map(_flow, node)) + "]"
    return str(node)


def _data(study: Study) -> dict[str, object]:
    data = document_of(study.text, study.file).data
    return data if isinstance(data, dict) else {}


def _quoted(value: str) -> str:
    """A value as it stands in a file: in quotes where it would be read as something else."""
    if PLAIN.fullmatch(value) or value.startswith(("{", "[", '"', "'", "-", ".")):
        return value
    return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
