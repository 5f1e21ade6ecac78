"""From a rig file to a checked, frozen `Rig`; every fault of the file in one error."""

from __future__ import annotations

import copy
import re
from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError
from pydantic_core import PydanticCustomError

from simprop.errors import Fault, RigError, nearest
from simprop.quantities import QuantityError, is_unit
from simprop.reading.expressions import evaluate
from simprop.reading.faults import custom_fault, fault_at, faults_of, ordered
from simprop.reading.fields import Point, Scope, read_row
from simprop.reading.text import Document, Path, as_path, dotted, plain, read_text, text_of
from simprop.rig.expand import expanded
from simprop.rig.model import Rig, Source
from simprop.rig.schema import keys_at
from simprop.rig.validate import cross_faults

NAME = re.compile(r"[A-Za-z_]\w*$")
"""What a point or a named value may be called."""


def load_rig(
    path: str | FilePath, sets: Mapping[str, str] | None = None, *, files_elsewhere: bool = False
) -> Rig:
    """Read a rig file.

    Args:
        sets: values to put in place of those in the file: a name of `params`, or a dotted field such as
            ``motors.drive.supply``, each with the text that would stand in the file.
        files_elsewhere: sounds and meshes may lie outside the folder of the rig.

    Returns:
        The rig, every value in SI.

    Raises:
        RigError: with every fault found.

    Example:
        >>> import tempfile, os
        >>> name = os.path.join(tempfile.mkdtemp(), "post.yaml")
        >>> _ = open(name, "w").write('''
        ... rig: 1
        ... name: Post
        ... bodies: {post: {fixed: true, parts: [{lump: 1 kg, at: 0 0 0 mm}]}}
        ... run: {for: 1 s}
        ... ''')
        >>> load_rig(name).name
        'Post'
    """
    return parse_rig(text_of(path), file=str(path), sets=sets, files_elsewhere=files_elsewhere)


def parse_rig(
    text: str,
    file: str = "rig.yaml",
    sets: Mapping[str, str] | None = None,
    files: Mapping[str, bytes] | None = None,
    files_elsewhere: bool = False,
) -> Rig:
    """Read a rig from its text; see `load_rig`.

    Args:
        text: YAML text.
        file: its name, for messages and to find mesh files beside it.
        sets: as for `load_rig`.
        files_elsewhere: as for `load_rig`.
        files: content of the sounds and meshes that it names; those not given are read beside `file` when needed.

    Raises:
        RigError: with every fault found.

    Example:
        >>> parse_rig("rig: 1\\nname: Post\\nbodies: {post: {fixed: true}}\\nrun: {for: 1 s}").run.duration
        1.0
    """
    document = read_text(text, file)
    return rig_of(Source(text, file, dict(sets or {}), dict(files or {}), document, files_elsewhere))


def rig_of(source: Source) -> Rig:
    """The rig of a text that is read already.

    Args:
        source: text, file, values set, and what YAML makes of the text.

    Raises:
        RigError: with every fault found.
    """
    return made_whole(as_written(source))


def as_written(source: Source) -> Rig:
    """The rig as its text says it, before its joints, fittings and mounts bring along what they stand for.

    Args:
        source: as for `rig_of`.

    Raises:
        RigError: with every fault found.
    """
    document = source.document
    if not isinstance(document.data, dict):
        raise RigError(
            [
                *document.faults,
                Fault("a rig file is a mapping", file=source.file, line=1, allowed="rig: 1, name: ..."),
            ]
        )
    faults = list(document.faults)
    data = _with_sets(document, source.sets, faults)
    params = _params(data.get("params"), document, faults)
    points = _points(data.get("points"), params, document, faults)
    body = {**data, "params": params, "points": points}
    rig: Rig | None = None
    try:
        rig = Rig.model_validate(body, context=Scope(params, points))
    except ValidationError as error:
        faults += faults_of(error, Rig, body, document)
    faults += [document.located(f) for f in cross_faults(data)]
    if rig is None or faults:
        raise RigError(ordered(faults))
    rig.set_source(source)
    return rig


def made_whole(rig: Rig) -> Rig:
    """The rig with all that its joints, fittings and mounts stand for.

    Args:
        rig: of `as_written`.

    Raises:
        RigError: where a name that something gets is taken.
    """
    with rig.locating():
        whole, told = expanded(rig)
    whole.set_source(rig.source)
    whole.set_told(told)
    return whole


def named(document: Document) -> Scope:
    """The named values and points of a text, as far as they can be read, whatever else is wrong with it.

    Args:
        document: the text as read.

    Returns:
        None for a value, and NaN as the first coordinate of a point, that can't be read.

    Example:
        >>> scope = named(read_text("params: {throw: 50 mm}\\npoints: {pin: [throw, 0 mm, 1 m], tip: 0 0}"))
        >>> scope.points["pin"]
        Point(x=0.05, y=0.0, z=1.0, name='pin')
        >>> scope.points["tip"].x
        nan
    """
    data = document.data if isinstance(document.data, dict) else {}
    faults: list[Fault] = []
    params = _params(data.get("params"), document, faults)
    return Scope(params, _points(data.get("points"), params, document, faults))


def data_of(source: Source) -> dict[str, Any]:
    """What stands in a rig file with the values set put in their fields, as plain data.

    Raises:
        RigError: for a field that isn't there.

    Example:
        >>> text = "name: Post\\nrun: {for: 1 s}"
        >>> data_of(Source(text, "post.yaml", {"run.for": "2 s"}, document=read_text(text)))
        {'name': 'Post', 'run': {'for': '2 s'}}
    """
    faults: list[Fault] = []
    data = _with_sets(source.document, source.sets, faults)
    if faults:
        raise RigError(faults)
    return data


def data_with(document: Document, sets: Mapping[str, str]) -> tuple[dict[str, Any], list[Fault]]:
    """What YAML makes of a rig's text, with other values put in, and a fault for each that has no place there.

    Args:
        document: the text as read.
        sets: as for `load_rig`.

    Example:
        >>> data_with(read_text("run: {for: 1 s}  # short"), {"run.for": "2 s"})
        ({'run': {'for': '2 s'}}, [])
    """
    faults: list[Fault] = []
    return _with_sets(document, sets, faults), faults


def _with_sets(document: Document, sets: Mapping[str, str], faults: list[Fault]) -> dict[str, Any]:
    data: dict[str, Any] = copy.deepcopy(document.data)
    for name, text in sets.items():
        params = data.get("params")
        field = f"params.{name}" if isinstance(params, dict) and name in params and "." not in name else name
        path = as_path(field)
        node: Any = data
        for i, key in enumerate(path[:-1]):
            inside = list(node) if isinstance(node, dict) else []
            node = _child(node, key)
            if node is None:
                where = dotted(path[: i + 1])
                faults.append(_set_fault(name, f"there is no field {where}", inside, str(key)))
                break
        else:
            _put(node, path, name, text, data, faults)
    return data


def _child(node: Any, key: str | int) -> Any:
    if isinstance(node, dict):
        return node.get(str(key))
    if isinstance(node, list) and isinstance(key, int) and key < len(node):
        return node[key]
    return None


def _put(node: Any, path: Path, name: str, text: str, data: dict[str, Any], faults: list[Fault]) -> None:
    last = path[-1]
    if isinstance(node, list) and isinstance(last, int) and last < len(node):
        node[last] = _inline(text)
        return
    allowed = sorted({*node, *keys_at(path[:-1], data)}) if isinstance(node, dict) else []
    if isinstance(node, dict) and (str(last) in allowed or not keys_at(path[:-1], data)):
        node[str(last)] = _inline(text)
        return
    if len(path) == 1 and isinstance(data.get("params"), dict):
        allowed += data["params"]
    faults.append(_set_fault(name, "there is no such field", allowed, str(last)))


def _set_fault(name: str, message: str, allowed: list[str], key: str) -> Fault:
    return Fault(
        message,
        file="--set",
        field=name,
        allowed=", ".join(sorted(allowed)) or None,
        nearest=nearest(key, allowed),
    )


def _inline(text: str) -> Any:
    if text.lstrip().startswith(("{", "[")):
        return read_text(text, "--set").data
    return plain(text.strip())


def _params(raw: Any, document: Document, faults: list[Fault]) -> dict[str, Any]:
    params: dict[str, Any] = {}
    if raw is None:
        return params
    if not isinstance(raw, dict):
        faults.append(fault_at(("params",), "named values are a mapping", document, allowed="throw: 50 mm"))
        return params
    for name, value in raw.items():
        path: Path = ("params", name)
        if not NAME.match(name) or is_unit(name):
            why = "is a unit" if is_unit(name) else "isn't a name"
            faults.append(
                fault_at(
                    path, f"{name!r} {why} and can't name a value", document, allowed="a word such as throw"
                )
            )
            continue
        try:
            params[name] = evaluate(value, params)
        except QuantityError as error:
            faults.append(fault_at(path, str(error), document, value=value, allowed=error.allowed))
            params[name] = None
    return params


def _points(raw: Any, params: dict[str, Any], document: Document, faults: list[Fault]) -> dict[str, Point]:
    points: dict[str, Point] = {}
    if raw is None:
        return points
    if not isinstance(raw, dict):
        faults.append(fault_at(("points",), "points are a mapping", document, allowed="wrist: 0 0 500 mm"))
        return points
    for name, value in raw.items():
        path: Path = ("points", name)
        if not NAME.match(name):
            faults.append(fault_at(path, f"{name!r} isn't a name", document, allowed="letters, digits and _"))
            continue
        try:
            x, y, z = read_row(value, "length", 3, Scope(params, points))
            points[name] = Point(x, y, z, name)
        except PydanticCustomError as error:
            faults.append(custom_fault(path, error.context or {}, str(error.message()), value, document))
            points[name] = Point(float("nan"), 0.0, 0.0, name)
    return points
