"""What may stand in a field out of the catalogue: ``any`` for all that fits, and fastenings in a few words."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import Any

from simprop.catalog import fasteners
from simprop.catalog.load import find, table
from simprop.catalog.motors import motors, supplies
from simprop.drives.base import MOTORS, PUSHERS, Drive
from simprop.drives.kinds import Motor, Pusher, figures_of
from simprop.errors import Fault, RigError, UnknownNameError, meant
from simprop.fasteners.base import FASTENERS
from simprop.reading.text import as_path
from simprop.rig.load import data_of, rig_of
from simprop.rig.model import Rig

ANY = "any"
"""Stands for all of the catalogue that fits."""
TABLES = {
    "pipe": "pipes",
    "bent_pipe": "pipes",
    "threaded_rod": "threads",
    "profile": "profiles",
    "material": "cords",
    "of": "spring_wires",
}
"""The file of the catalogue that a key's names stand in."""
SIZED: dict[str, Callable[[str], Any]] = {
    "bolt": fasteners.bolt,
    "screw": fasteners.wood_screw,
    "sheet_screw": fasteners.sheet_screw,
    "set_screw": fasteners.set_screw,
    "roll_pin": fasteners.roll_pin,
    "rivet": fasteners.rivet,
    "rod_end": fasteners.rod_end,
}
"""Fasteners that come in sizes of the catalogue, and what looks these up."""
SERVES = "any serves motor, supply, held_by, pipe and the like; else the choices are named: PVC,pine"


def choices_of(rig: Rig, field: str, text: str, option: str = "--over") -> tuple[str, ...]:
    """What a choice stands for, as texts that would stand in the file.

    - ``any``: every entry of the catalogue that may stand in the field and fits what is there now. Motors and pushers:
      those that may replace the present one (`Drive.replaces`), run from its supply, and stand its voltage; supplies:
      those whose voltage all that they feed stand; fasteners, pipes, threaded rods: every size of the same sort and
      system (metric or inch, PVC).
    - ``M5 bolt``, ``#8 screw`` in a `held_by`: the fastening that stands there with this bolt or screw; what else is
      said of it stays where the new one can have it. A grade that the other system doesn't know becomes that of the
      nearest strength there.
    - anything else: itself.

    Args:
        rig: whose field it is.
        field: dotted, as `--set` has it.
        text: the choice.
        option: that it was said with, for messages.

    Raises:
        RigError: where ``any`` means nothing, nothing fits, or no fastener is called so.

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Post
        ... bodies: {post: {fixed: true, parts: [{pipe: 1 in PVC, from: 0 0 0 mm, to: 0 0 1 m}]}}
        ... run: {for: 1 s}
        ... ''')
        >>> choices_of(rig, "bodies.post.parts.0.pipe", "any")[:3]
        ('1/2 in PVC', '3/4 in PVC', '1 in PVC')
    """
    path = as_path(field)
    if text.strip() == ANY:
        return _any(rig, field, option)
    if _holds(path) and not text.lstrip().startswith("{"):
        return (_fastening(rig, field, text, option),)
    return (text,)


def _holds(path: tuple[str | int, ...]) -> bool:
    return bool(path) and (
        path[-1] == "held_by" or (len(path) > 1 and path[-2] == "held_by" and path[-1] in ("from", "to"))
    )


def _wrong(
    option: str, field: str, message: str, value: str, allowed: str | None = None, near: str | None = None
) -> RigError:
    return RigError([Fault(message, option, None, field, value, allowed, near)])


def standing(rig: Rig, field: str) -> Any:
    """What stands in a field, as plain data; None where nothing does.

    Args:
        rig: whose field it is.
        field: dotted, or a named value, as `--set` has it.
    """
    node: Any = data_of(rig.source)
    for key in as_path(f"params.{field}" if field in rig.params else field):
        inside = isinstance(node, list) and isinstance(key, int) and key < len(node)
        node = node.get(str(key)) if isinstance(node, dict) else node[key] if inside else None
    return node


def _any(rig: Rig, field: str, option: str) -> tuple[str, ...]:
    path = as_path(field)
    found: list[str] = []
    why: RigError | None = None
    for text in _candidates(rig, path, field, option):
        try:
            rig_of(replace(rig.source, sets={**rig.source.sets, field: text}))
        except RigError as error:
            why = why or error
        else:
            found.append(text)
    if not found:
        told = f": {why.faults[0].message}" if why is not None else ""
        raise _wrong(option, field, f"nothing of the catalogue fits there{told}", ANY)
    return tuple(found)


def _candidates(rig: Rig, path: tuple[str | int, ...], field: str, option: str) -> Iterator[str]:
    now = standing(rig, field)
    if len(path) == 3 and path[0] in ("motors", "pushers") and path[1] in getattr(rig, str(path[0])):
        drive = getattr(rig, str(path[0]))[path[1]]
        if path[2] == "motor":
            return _drives(drive, path[0] == "motors")
        if path[2] == "supply":
            return _supplies([drive.figures], now)
    if len(path) == 2 and path[0] == "supplies" and path[1] in rig.supplies:
        drives: list[Motor | Pusher] = [*rig.motors.values(), *rig.pushers.values()]
        fed = [d for d in drives if d.supply is not None and d.supply.shared == path[1]]
        return _supplies([drive.figures for drive in fed], now)
    if _holds(path):
        kind = FASTENERS.key_of(now)
        if kind not in SIZED:
            allowed = f"what is held by {', '.join(SIZED)}"
            raise _wrong(option, field, "what holds it now has no sizes to choose from", ANY, allowed)
        size = SIZED[kind](str(now[kind])).name
        return (_flow(_resized(now, kind, kind, other)) for other in _alike(size, table("fasteners")))
    topic = TABLES.get(str(path[-1]))
    if topic is None or not isinstance(now, str):
        raise _wrong(option, field, "there is no list of what may stand there", ANY, SERVES)
    if path[-1] == "of" and path[-2:-1] != ("coil",):
        raise _wrong(option, field, "there is no list of what may stand there", ANY, SERVES)
    rows = table(topic)
    return iter(_alike(find(topic, now, rows), rows))


def _drives(drive: Any, joint: bool) -> Iterator[str]:
    """Classes that may stand in for a motor or pusher on its supply."""
    now: Drive = drive.figures
    mains = drive.supply.frequency is not None if drive.supply is not None else now.mains
    for row in motors():
        if row.kind not in (MOTORS if joint else PUSHERS).names:
            continue
        other: Drive = figures_of(row.name)
        replaces = (*other.replaces, other.kind)
        sketch = not now.sized and not other.follows and not other.steered  # of a motion that is only given
        if not sketch and now.kind not in replaces:
            continue
        if drive.supply is None and not now.sized:
            mains = other.mains
        if other.mains != mains or (
            other.direct and drive.supply is not None and other.too_much(drive.supply.voltage)
        ):
            continue
        yield row.name


def _supplies(fed: list[Drive], now: Any) -> Iterator[str]:
    """Direct-current supplies that all of some drives stand, with the wire and the rest of the present one."""
    for row in supplies():
        if all(f.direct and f.electric and not f.too_much(row.voltage) for f in fed):
            kept = (
                {k: v for k, v in now.items() if k not in ("voltage", "limit")}
                if isinstance(now, dict)
                else {}
            )
            yield (
                _flow({"voltage": f"{row.voltage:g} V", "limit": f"{row.limit:g} A", **kept})
                if kept
                else row.name
            )


def _alike(name: str, rows: Mapping[str, Mapping[str, Any]]) -> tuple[str, ...]:
    """Names of a file of the catalogue that are of the sort and system of one of them."""
    own = _system(name, rows[name])
    return tuple(other for other in rows if _system(other, rows[other]) == own)


def _system(name: str, row: Mapping[str, Any]) -> tuple[Any, ...]:
    """What two entries have in common that may stand for each other: sort, thread system or material."""
    of = next((word for word in ("PVC", "aluminium", "steel") if word in name.split()), "")
    return row.get("sort"), bool(re.match(r"M\d", name)), of


def _fastening(rig: Rig, field: str, text: str, option: str) -> str:
    """A fastening in a few words as a mapping, with what stands there now."""
    words = text.strip()
    named = {name.replace("_", " "): name for name in FASTENERS.names}
    kind = next(
        (
            k
            for word, k in sorted(named.items(), key=lambda i: -len(i[0]))
            if f" {words}".endswith(f" {word}")
        ),
        None,
    )
    size = words[: len(words) - len(kind or "")].strip()
    if kind is None or not size or kind not in SIZED:
        known = [word for word, name in named.items() if name in SIZED]
        last = words.split()[-1] if words else ""
        allowed = ", ".join(
            (f"M5 {known[0]}", "#8 screw", *(f"SIZE {word}" for word in known[1:]), "{bolt: M5, ...}")
        )
        message = "a fastening in short is a size and what it is" + meant(last, known)
        raise _wrong(option, field, message, text, allowed)
    now = standing(rig, field)
    old = FASTENERS.key_of(now)
    return _flow(_resized(now if old else {}, old, kind, _called(size, kind, field, option)))


def _called(size: str, kind: str, field: str, option: str) -> str:
    """A size as a rig file may have it; ``#8`` of a wood screw is `#8 wood`."""
    look_up = SIZED[kind]
    own = f"{size} wood" if look_up is fasteners.wood_screw and re.fullmatch(r"#\d+", size) else size
    try:
        look_up(own)
    except UnknownNameError as error:
        message = f"not a {error.what} of the catalogue"
        raise _wrong(option, field, message, size, ", ".join(error.allowed), error.nearest) from None
    return own


def _resized(now: Mapping[str, Any], old: str | None, kind: str, size: str) -> dict[str, Any]:
    """What a fastening says with another kind and size, as far as that may say it."""
    fields = FASTENERS[kind].model_fields
    may = {info.alias or name for name, info in fields.items()} - {"kind"}
    found = {kind: size, **{k: v for k, v in now.items() if k in may and k not in (old, kind)}}
    if "grade" in found:
        found["grade"] = _grade(str(found["grade"]), metric=size.upper().startswith("M"))
    return found


def _grade(name: str, *, metric: bool) -> str:
    """A grade of bolts, or the nearest in strength of the other system (SAE J429, ISO 898-1)."""
    own = fasteners.grade(name)
    if ("." in own.name) == metric:
        return name
    others = [fasteners.grade(key) for key in fasteners.rows("grade") if ("." in key) == metric]
    return min(others, key=lambda grade: abs(grade.ultimate - own.ultimate)).name


def _flow(value: Any) -> str:
    """Plain data on one line of YAML."""
    if isinstance(value, Mapping):
        return "{" + ", ".join(f"{key}: {_flow(one)}" for key, one in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(_flow(one) for one in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    text = str(value)
    return text if re.fullmatch(r"[\w./*^+-][\w./*^+ -]*", text) else json.dumps(text, ensure_ascii=False)
