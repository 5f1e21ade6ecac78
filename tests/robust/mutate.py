"""Rig files made wrong by their structure: keys dropped, doubled, renamed, swapped, values of the wrong kind."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from simprop.reading.text import plain, read_text
from tests.drives import rigs as drive_rigs
from tests.rig.test_drives import TEXT as DRIVES
from tests.rigs import fourbar

ROOT = Path(__file__).parents[2]

NUMBERS = (
    *("0", "-1", "1e308", "-1e308", "1e-308", "5e-324", "1e400", "9" * 400, "1" + "0" * 5000, "007", "1:30"),
    *("nan", ".nan", "inf", "-.inf", "0x10", "1_000", "½", "²", "٣", "1e", "--1", "1/0", "1-1/0", "1e999"),
)
UNITS = (
    *(
        "mm",
        "m",
        "km",
        "in",
        "ft",
        "kg",
        "g",
        "t",
        "N",
        "lbf",
        "N*m",
        "kgf*cm",
        "s",
        "ms",
        "min",
        "rpm",
        "Hz",
        "V",
    ),
    *(
        "A",
        "W",
        "bar",
        "degC",
        "K/W",
        "J/K",
        "N/m",
        "N*s/m",
        "kg*m^2",
        "m/s",
        "rad",
        "deg",
        "%",
        "",
        "mm^0",
        "m^-9",
    ),
    *("parsec", "mmm", "N*m*", "kg^99", "lightyear", "eV", "barn"),
)
WORDS = (
    *("", " ", "~", "null", "true", "yes", "on", "none", "x", "a.b", "a.²", "²", "a b", "../../etc/passwd"),
    *(
        "/dev/zero",
        "a|b|c",
        "<script>alert(1)</script>",
        "*bold*",
        "`x`",
        "$(id)",
        "a\\nb",
        "\u202egnal",
        "名前",
    ),
    *(
        "\U0001f383",
        "é" * 40,
        "a" * 20_000,
        "%s",
        "{0}",
        "{",
        "[",
        "!!python/object:os.system",
        "&a",
        "*a",
        "#",
    ),
)
EXPRESSIONS = (
    *(
        "throw * 2",
        "9**9**9",
        "9**9**9 mm",
        "(" * 90 + "1 mm" + ")" * 90,
        "sqrt(-1)",
        "1 mm / 0",
        "sin(1e300)",
    ),
    *(
        "min()",
        "max(1 mm, 2 s)",
        "abs",
        "().__class__",
        "lambda: 1",
        "[1 mm]*9",
        "1 mm if 1 else 2 mm",
        "a**-1",
    ),
    *("2 mm ** 400", "10**400 mm", "acos(2)", "tan(90 deg)", "1 mm + 1", "1 mm 2 mm", "1 kg; 9 kg", "1,5 mm"),
)


class Key(str):
    """A key that may stand twice in one mapping."""

    __slots__ = ()

    def __hash__(self) -> int:
        return id(self)

    def __eq__(self, other: object) -> bool:
        return self is other


@dataclass(frozen=True)
class Broken:
    """A rig's text made wrong.

    Attributes:
        text: YAML.
        said: what was done to it, for the record of a failure.
    """

    text: str
    said: tuple[str, ...]


def sources() -> dict[str, str]:
    """Texts to start from: the rigs that come along, those of tests, and ones that are broken already."""
    found = {p.stem: p.read_text(encoding="utf-8") for p in sorted((ROOT / "rigs").glob("*.yaml"))}
    run = "run: {for: 0.2 s}"
    found["fourbar"] = fourbar(run="for: 0.1 s")
    found["drives"] = DRIVES
    found["arm"] = drive_rigs.arm("motors: {m: {joint: hub, motor: servo standard, supply: 6 V 3 A}}\n" + run)
    found["wheel"] = drive_rigs.wheel("motors: {m: {joint: hub, motor: wiper, supply: 12 V 9 A}}\n" + run)
    found["sled"] = drive_rigs.sled("stops: {end: {slide_stop: rail, below: -50 mm}}\n" + run)
    return found


def yaml_text(value: Any) -> str:
    """Data as YAML in flow style; `Key` keys may stand twice, text stands unquoted where it reads back the same."""
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_scalar(k)}: {yaml_text(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(yaml_text(v) for v in value) + "]"
    return _scalar(value)


def _scalar(value: Any) -> str:
    if isinstance(value, Raw):
        return value.text
    if isinstance(value, str):
        return json.dumps(str(value), ensure_ascii=False)
    return {None: "null", True: "true", False: "false"}.get(value, repr(value))  # type: ignore[arg-type]


@dataclass(frozen=True)
class Raw:
    """Text that is put into the file as it is, unquoted."""

    text: str


def broken(source: str, rng: random.Random, times: int | None = None) -> Broken:
    """A rig's text with one to four things done to it.

    Args:
        source: YAML of a rig.
        rng: decides what.
        times: how many; None: mostly one.
    """
    data = read_text(source).data
    said = []
    for _ in range(times or rng.choice((1, 1, 1, 2, 4))):
        found = list(spots(data))
        if found:
            holder, key, path = rng.choice(found)
            said.append(f"{path}: {rng.choice(OPERATIONS)(holder, key, found, rng)}")
    text = "\n".join(f"{_scalar(k)}: {yaml_text(v)}" for k, v in data.items()) + "\n"
    if rng.random() < 0.03:
        text, told = _scarred(text, rng)
        said.append(told)
    return Broken(text, tuple(said))


def odd_value(rng: random.Random) -> Any:
    """A value that hardly ever is right."""
    kind = rng.randrange(8)
    if kind <= 2:
        return f"{rng.choice(NUMBERS)} {rng.choice(UNITS)}".strip()
    if kind == 3:
        return f"{rng.choice((0, -1, 1, 3.5, 1e-9, 1e9))} {rng.choice(UNITS)}".strip()
    if kind == 4:
        return rng.choice(WORDS)
    if kind == 5:
        return rng.choice(EXPRESSIONS)
    if kind == 6:
        return Raw(
            rng.choice((*NUMBERS[:14], "[]", "{}", "[[]]", "{a: {a: {a: 1}}}", "!!binary aGk=", "2001-01-01"))
        )
    return rng.choice((None, True, 0, -1, 1e308, [], {}, [[0]], {"a": 1}, 10**30))


def spots(data: Any, path: str = "") -> Iterator[tuple[Any, Any, str]]:
    """Every value in nested data: what holds it, its key there, its dotted path."""
    rows = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for key, value in rows:
        here = f"{path}.{key}" if path else str(key)
        yield data, key, here
        yield from spots(value, here)


def _drop(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    del holder[key]
    return "dropped"


def _double(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    if isinstance(holder, dict):
        holder[Key(key)] = holder[key]
    else:
        holder.insert(key, holder[key])
    return "doubled"


def _rename(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    if not isinstance(holder, dict):
        return _value(holder, key, found, rng)
    new = rng.choice((*WORDS, str(key)[:-1], f"{key}s", str(key).upper(), rng.choice(found)[1]))
    rows = [(new if k == key else k, v) for k, v in holder.items()]
    holder.clear()
    holder.update(rows)
    return f"renamed {str(new)[:60]!r}"


def _swap(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    other, there, path = rng.choice(found)
    if "[" in repr(holder[key]) or "{" in repr(holder[key]) or isinstance(other[there], (dict, list)):
        return _value(holder, key, found, rng)
    holder[key], other[there] = other[there], holder[key]
    return f"swapped with {path}"


def _value(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    holder[key] = odd_value(rng)
    return f"is {str(holder[key])[:60]!r}"


def _number(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    """The same value with its number changed and its unit kept: what still reads, but makes no sense."""
    old = holder[key]
    if not isinstance(old, (str, int, float)) or isinstance(old, bool):
        return _value(holder, key, found, rng)
    words = str(old).split(" ")
    numbers = [i for i, w in enumerate(words) if isinstance(plain(w), (int, float))]
    if not numbers:
        return _value(holder, key, found, rng)
    at = rng.choice(numbers)
    words[at] = rng.choice(("0", "-1", "-0.001", "1e-9", "1e-15", "1e6", "1e9", "1e15", "1e300", "0.37", "7"))
    holder[key] = " ".join(words)
    return f"is {holder[key]!r}"


def _nest(holder: Any, key: Any, found: Any, rng: random.Random) -> str:
    value = holder[key]
    for _ in range(rng.choice((1, 2, 40))):
        value = [value] if rng.random() < 0.5 else {"a": value}
    holder[key] = value
    return "nested"


OPERATIONS = (_drop, _double, _rename, _swap, _value, _value, _number, _number, _number, _number, _nest)


def _scarred(text: str, rng: random.Random) -> tuple[str, str]:
    at = rng.randrange(len(text))
    scar = rng.choice(
        ("\t", "\x00", "\ufeff", "\x07", "}", "]", ":", "&", "*", "- ", "[" * 1500, "\r\r", "\ud7ff")
    )
    return text[:at] + scar + text[at:], f"{scar[:3]!r} put in at {at}"
