"""How a picture lies, kept in a small file beside the rig."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Annotated, Any

from pydantic import BeforeValidator, Field, ValidationError

from simprop.errors import Fault, RigError
from simprop.reading.base import Record
from simprop.reading.faults import faults_of, ordered
from simprop.reading.fields import Length, fault, read_row, scope_of
from simprop.reading.text import plain, read_text, text_of
from simprop.tracing.placing import faults_in
from simprop.tracing.types import Level, Placing, View
from simprop.written import write_text


def _at(value: Any, info: Any) -> tuple[float, ...]:
    return read_row(value, "length", 2, scope_of(info))


def _size(value: Any) -> tuple[int, int]:
    words = re.fullmatch(r"\s*(\d{1,6})\s+x\s+(\d{1,6})\s*", str(value))
    if words is None or not int(words[1]) * int(words[2]):
        raise fault("width and height in whole pixels are wanted, with an x between them", "4000 x 3000")
    return int(words[1]), int(words[2])


def _mark(value: Any) -> tuple[float, ...]:
    try:
        x, y = (float(word) for word in str(value).split())
    except ValueError:
        raise fault("two numbers are wanted: pixels from the left and from the top", "412.5 1210") from None
    return x, y


Mark = Annotated[tuple[float, float], BeforeValidator(_mark)]


class Kept(Record):
    """A placing as its file has it.

    Attributes:
        picture: its file, from the folder of the rig.
        size: width x height, pixels.
        view: from where it was taken.
        marks: pixels from the left and from the top.
        distance: between them, m.
        level: what the line between them is.
        at: where mark 1 is: to the right and up in the view, m.
    """

    picture: Annotated[str, Field(min_length=1)]
    size: Annotated[tuple[int, int], BeforeValidator(_size)]
    view: View
    marks: tuple[Mark, Mark]
    distance: Length
    level: Level = "as it lies"
    at: Annotated[tuple[float, float], BeforeValidator(_at)]


def kept_beside(rig: Path) -> Path:
    """Where the placing of the picture behind a rig is kept.

    Args:
        rig: its file.

    Example:
        >>> kept_beside(Path("rigs/wall_peeper.yaml")).name
        'wall_peeper.picture.yaml'
    """
    return rig.with_name(f"{rig.stem}.picture.yaml")


def placing_text(placing: Placing) -> str:
    """A placing as text of its file, which reads back as it was to within a thousandth of a pixel and of a micrometre.

    Args:
        placing: of a picture.

    Example:
        >>> marks = ((100.5, 300.0), (600.0, 300.25))
        >>> print(placing_text(Placing("bench.jpg", (800, 600), "front", marks, 0.25, (0.0, 0.9), "level")), end="")
        # How a picture lies behind the rig; made by `simprop live`.
        picture: bench.jpg
        size: 800 x 600          # pixels
        view: front              # front: x and z; side: y and z
        marks:                   # pixels from the left and from the top
          - 100.5 300
          - 600 300.25
        distance: 250 mm         # between the marks
        level: level             # their line: as it lies, level, upright
        at: 0 900 mm             # mark 1, to the right and up
    """
    first, second = (f"{_plain(x, 3)} {_plain(y, 3)}" for x, y in placing.marks)
    at = " ".join(_plain(1e3 * v, 6) for v in placing.at)
    rows = (
        (f"size: {placing.size[0]} x {placing.size[1]}", "pixels"),
        (f"view: {placing.view}", "front: x and z; side: y and z"),
        ("marks:", "pixels from the left and from the top"),
        (f"  - {first}", ""),
        (f"  - {second}", ""),
        (f"distance: {_plain(1e3 * placing.distance, 6)} mm", "between the marks"),
        (f"level: {placing.level}", "their line: as it lies, level, upright"),
        (f"at: {at} mm", "mark 1, to the right and up"),
    )
    lines = [f"{row:<24} # {remark}" if remark else row for row, remark in rows]
    head = [
        "# How a picture lies behind the rig; made by `simprop live`.",
        f"picture: {_quoted(placing.file)}",
    ]
    return "\n".join([*head, *lines, ""])


def save_placing(path: Path, placing: Placing) -> Path:
    """Write a placing.

    Args:
        path: see `kept_beside`; what is there is replaced.
        placing: of a picture.

    Raises:
        WriteError: where it can't be written.
    """
    return write_text(path, placing_text(placing))


def load_placing(path: Path) -> Placing:
    """Read a placing.

    Args:
        path: see `kept_beside`.

    Raises:
        RigError: with every fault of it, or where there is no such file.
    """
    return parse_placing(text_of(path), str(path))


def parse_placing(text: str, file: str = "rig.picture.yaml") -> Placing:
    """The same from its text.

    Args:
        text: YAML.
        file: its name, for messages.

    Raises:
        RigError: with every fault of it.

    Example:
        >>> placing = Placing("bench.jpg", (800, 600), "front", ((100.5, 300.0), (600.0, 300.25)), 0.25, (0.0, 0.9))
        >>> parse_placing(placing_text(placing)) == placing
        True
    """
    document = read_text(text, file)
    if not isinstance(document.data, dict):
        raise RigError(
            [Fault("a mapping is wanted", file=file, line=1, allowed="picture: bench.jpg, size: ...")]
        )
    faults = list(document.faults)
    placing = None
    try:
        kept = Kept.model_validate(document.data)
        row = {name: value for name, value in kept if name != "picture"}
        placing = Placing(file=kept.picture, **row)
        faults += [document.located(f) for f in faults_in(placing)]
    except ValidationError as error:
        faults += faults_of(error, Kept, document.data, document)
    if faults or placing is None:
        raise RigError(ordered(faults))
    return placing


def _plain(value: float, digits: int) -> str:
    text = f"{value:.{digits}f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _quoted(name: str) -> str:
    """A file's name as YAML takes it."""
    bare = re.fullmatch(r"[A-Za-z_][\w./ -]*\w", name) and plain(name) == name
    return name if bare else "'" + name.replace("'", "''") + "'"
