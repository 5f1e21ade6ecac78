"""What may stand in a rig file, read off the model itself: sections, kinds, keys and how their values are written."""

from __future__ import annotations

import inspect
import re
import types
import typing
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BeforeValidator

from simprop.catalog.load import table
from simprop.quantities import KINDS
from simprop.reading.base import Record
from simprop.reading.catalogue import sort_of
from simprop.reading.expressions import FUNCTIONS
from simprop.reading.fields import how_written
from simprop.reading.kinds import Kinds
from simprop.rig.model import Rig


@dataclass(frozen=True)
class Key:
    """One key of a record.

    Attributes:
        name: as written in the file.
        form: what its value is and an example, or the words that it may be; "" where the type tells neither.
        about: what it is, in words; "" where that is plain.
    """

    name: str
    form: str
    about: str

    def __str__(self) -> str:
        """Its name and how its value is written.

        Example:
            >>> str(Key("rate", "stiffness, as 200 N/m", "of the spring")), str(Key("at", "", ""))
            ('rate (stiffness, as 200 N/m)', 'at')
        """
        return f"{self.name} ({self.form})" if self.form else self.name


@dataclass(frozen=True)
class Entry:
    """One kind of record.

    Attributes:
        place: where it stands, such as ``joints.NAME``; "" for the whole file.
        kind: the key that names its kind, or "".
        about: what it is, one sentence.
        needs: keys it must have.
        may: keys it may have.
    """

    place: str
    kind: str
    about: str
    needs: tuple[Key, ...]
    may: tuple[Key, ...]

    @property
    def keys(self) -> tuple[Key, ...]:
        """All its keys."""
        return self.needs + self.may


CATALOGUES = {
    "materials": "materials",
    "pipes": "pipes",
    "slotted profiles": "profiles",
    "threads": "threads",
    "fasteners": "fasteners",
    "pairs of surfaces": "friction",
    "cords": "cords",
    "fabrics": "fabrics",
    "spring wire": "spring_wires",
}
"""Tables of the catalogue that a rig names rows of, by what they hold."""


def _names(topic: str) -> str:
    """The names of a table, and in brackets the other names of a row."""
    told = []
    for name, row in table(topic).items():
        others = ", ".join(row.get("aliases", ()))
        told.append(f"{name} ({others})" if others else name)
    return ", ".join(told)


TOPICS = {
    "values": (
        "A value is a number and a unit, or arithmetic on named values with + - * / **, brackets and "
        f"{', '.join(FUNCTIONS)}: throw: 50 mm, reach: 2 * throw + 10 mm, lift: throw * sin(30 deg).",
        *(f"{kind.replace('_', ' ')}: {example}" for kind, (_, example, _) in KINDS.items()),
    ),
    "points": (
        "A point is a name from `points`, three numbers with one unit (0 20 300 mm), or a list of three values "
        "([throw, 0 mm, 300 mm]). All places are those of the start pose: x to the right, y away from the viewer, "
        "z up.",
        "A joint may have a point for each of its bodies where the two don't meet as drawn: at: {post: 0 0 0 mm, arm: "
        "0 0 2 mm}; they are then put together.",
    ),
    "directions": (
        "A direction is x, y, z, -x, -y, -z or three numbers such as 0 0.6 0.8, of any length.",
        "The coordinate of a joint is the motion of its second body against its first, 0 in the start pose. A turn "
        "counts by the right hand: thumb along `axis`, the fingers show where it grows (about y, z turns to x: seen by "
        "the viewer, clockwise). A slide grows along `along` (or `axis`).",
        "`thin` of a bar is the direction of its thickness; left out, the horizontal one across it, or y.",
    ),
    "inertia": (
        "Parts with a shape and a material have the inertia of that shape; `mass` puts a weighed mass in place of "
        "the worked-out one.",
        "A lump has none unless `inertia: 2e-5 2e-5 1e-5 kg*m^2` gives the moments about its own x, y, z. Each is at "
        "most the sum of the two others.",
    ),
    "names": (
        "Names of the catalogue, in the words of its tables; motors and actuators: `simprop drives`. What a table "
        "lacks is described inline where its key says so, or weighed (`mass`).",
        *(f"{sort}: {_names(topic)}" for sort, topic in CATALOGUES.items()),
    ),
}
"""How values are written, by topic: sentences."""


def reference() -> list[Entry]:
    """Every kind of record of a rig file, place by place in the order of the model, the whole file first.

    Example:
        >>> [e.kind for e in reference() if e.place == "joints.NAME"]
        ['pin', 'slider', 'cylindrical', 'ball', 'fixed', 'universal', 'pin_in_slot', 'stud_in_slot', 'pipe_bearing']
    """
    found = list(_walk("", Rig, set()))
    places = list(dict.fromkeys(e.place for e in found))
    return sorted(found, key=lambda e: places.index(e.place))


def looked_up(place: str) -> tuple[list[Entry], list[tuple[Entry, Key]]]:
    """Entries that a place names, and single keys that it names where it names no entry.

    Args:
        place: the start of a place, or a place and a kind or key, with or without NAME: ``joints``, ``joints.pin``,
            ``run.gravity``, ``axis``.

    Example:
        >>> [e.kind for e in looked_up("joints.pin")[0]], [k.name for _, k in looked_up("run.gravity")[1]]
        (['pin'], ['gravity'])
    """
    entries, bare = reference(), place.replace(".NAME", "")
    whole = [e for e in entries if e.kind and bare in (_bare(e), f"{_bare(e)}.{e.kind}".strip("."))]
    exact = whole if any(bare != _bare(e) for e in whole) else []
    found = exact or [
        e for e in entries if e.place and (e.place.startswith(place) or _bare(e).startswith(bare))
    ]
    if found:
        return found, []
    path, _, last = bare.rpartition(".")
    keys = [(e, k) for e in entries for k in e.keys if k.name == last and (_bare(e) == path or not path)]
    tops = [pair for pair in keys if not pair[0].place]
    return [], tops or keys


def _bare(entry: Entry) -> str:
    return entry.place.replace(".NAME", "")


def _walk(place: str, record: type[Record], seen: set[type[Record]]) -> Iterator[Entry]:
    if record in seen:
        return
    seen.add(record)
    hints = typing.get_type_hints(record, include_extras=True)
    keys = {name: info for name, info in record.model_fields.items() if name != "kind"}
    kind_field = record.model_fields.get("kind")
    kind = str(kind_field.default) if kind_field is not None else ""
    about, told = told_of(record)
    shown = {n: _key(n, i.alias or n, hints[n], told.get(n, "")) for n, i in keys.items()}
    needs = tuple(shown[n] for n, i in keys.items() if i.is_required())
    may = tuple(shown[n] for n, i in keys.items() if not i.is_required())
    yield Entry(place, kind, about, needs, may)
    for name, info in keys.items():
        key = info.alias or name
        for inner, named in _records(hints[name]):
            yield from _walk(f"{place}.{key}{named}".strip("."), inner, seen)


def _key(field: str, name: str, hint: Any, about: str) -> Key:
    """A key as the writer of a file meets it: a value brings its own unit, and what isn't there is left out."""
    form = _form(hint) or (NAMED.get(field, "") if hint in (str, tuple[str, str]) else "")
    written = _written(hint)
    return Key(name, form, _for_files(about, SI.get(written[0], "m") if written else None))


NAMED = {
    "body": "a body",
    "joint": "a joint",
    "between": "two bodies, as [a, b]",
    "joints": "two joints, as [a, b]",
}
"""What text names, by the field that holds it."""
SI = {kind: unit for kind, (unit, *_) in KINDS.items()}


def _for_files(about: str, unit: str | None) -> str:
    """What a docstring says of a field, without what only concerns Python: its unit in SI, None, its own name."""
    about = re.sub(r"\s*\(\w+ in the file\)|(?<=begins) \(from\)|(?<=ends) \(to\)", "", about)
    about = re.sub(r"\bNone (?:stands )?for\b|\bNone:", "left out:", about)
    about = re.sub(r"\bNone\b", "left out", about).replace("False:", "false:")
    if not unit:
        return about
    return re.sub(rf"(?:^|, )(?:\S+ or )?{re.escape(unit)}(?: or \S+?)?(?=[;:,.]| \(|$)", "", about).lstrip(
        ";. "
    )


def told_of(record: type[Record]) -> tuple[str, dict[str, str]]:
    """What a record is, in a sentence, and what each of its attributes is, by name; "" or nothing where none says.

    Args:
        record: any of those of a rig file.
    """
    return _plainly((record.__doc__ or "").strip().split("\n\n")[0]), _attributes(record)


def _attributes(record: type[Record]) -> dict[str, str]:
    """What the docstrings of a record and of what it is made from say of each attribute."""
    found: dict[str, str] = {}
    for cls in record.__mro__:
        _, _, section = inspect.cleandoc(cls.__doc__ or "").partition("Attributes:\n")
        for name, text in re.findall(r"^    (\w+): ((?:.+\n?)(?:        .+\n?)*)", section, re.MULTILINE):
            found.setdefault(name, _plainly(text))
    return found


def _plainly(text: str) -> str:
    return " ".join(text.split()).replace("``", "")


def _records(hint: Any, named: str = "") -> Iterator[tuple[type[Record], str]]:
    """Records inside a type, with ``.NAME`` for mappings and nothing for lists."""
    origin, inner = typing.get_origin(hint), typing.get_args(hint)
    if isinstance(hint, type) and issubclass(hint, Record):
        yield hint, named
    elif origin is typing.Annotated:
        sorts = [extra for extra in inner[1:] if isinstance(extra, Kinds)]
        for sort in sorts:
            for kind in sort:
                yield kind, f"{named}.{kind.model_fields['kind'].default}" if sort.inside else named
        if not sorts:
            yield from _records(inner[0], named)
    elif origin in (typing.Union, types.UnionType, tuple, list):
        for one in inner:
            yield from _records(one, named)
    elif origin is dict:
        yield from _records(inner[1], named + ".NAME")


def _form(hint: Any) -> str:
    """What a value is and an example of it, or the words it may be, where the type tells."""
    words = _literals(hint)
    if words:
        return " | ".join(words)
    written = _written(hint)
    if written is None:
        return _plain_form(hint)
    kind, example = written
    kind, example = kind.replace("_", " "), example if kind == "direction" else example.split(", ")[0]
    return kind if kind == "number" else f"{kind}, as {example}"


def _plain_form(hint: Any) -> str:
    """What a name of the catalogue, a switch or a whole number is."""
    inner = [one for one in _leaves(hint) if one is not type(None)]
    if inner == [bool]:
        return "true | false"
    if inner == [int]:
        return "whole number"
    sorts = [found for one in _extras(hint) if (found := sort_of(one))]
    return f"{sorts[0][0]}, as {sorts[0][1]}" if sorts else ""


def _leaves(hint: Any) -> Iterator[Any]:
    """The types that a value may be of."""
    if typing.get_origin(hint) is typing.Annotated:
        yield from _leaves(typing.get_args(hint)[0])
    elif typing.get_origin(hint) in (typing.Union, types.UnionType):
        for one in typing.get_args(hint):
            yield from _leaves(one)
    else:
        yield hint


def _extras(hint: Any) -> Iterator[Any]:
    """All that is said beside the types of a value."""
    inner = typing.get_args(hint)
    if typing.get_origin(hint) is typing.Annotated:
        yield from inner[1:]
        inner = inner[:1]
    if _plain(hint):
        for one in inner:
            yield from _extras(one)


def _literals(hint: Any) -> list[str]:
    if typing.get_origin(hint) is typing.Literal:
        return [str(word) for word in typing.get_args(hint)]
    return [w for inner in typing.get_args(hint) for w in _literals(inner)] if _plain(hint) else []


def _plain(hint: Any) -> bool:
    return typing.get_origin(hint) in (typing.Annotated, typing.Union, types.UnionType)


def _as_read(reader: Any) -> tuple[str, str] | None:
    return how_written(reader) or getattr(reader, "written", None)


def _written(hint: Any) -> tuple[str, str] | None:
    if typing.get_origin(hint) is typing.Annotated:
        for extra in typing.get_args(hint)[1:]:
            found = _as_read(extra.func) if isinstance(extra, BeforeValidator) else None
            if found is not None:
                return found
    if _plain(hint):
        return next((e for inner in typing.get_args(hint) if (e := _written(inner))), None)
    return None
