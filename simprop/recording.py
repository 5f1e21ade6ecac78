"""A run as arrays, saved and loaded without loss; everything after it needs no engine."""

from __future__ import annotations

import hashlib
import json
import struct
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from pathlib import Path
from typing import Any

import numpy as np

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.world import APPLIED, Trajectory
from simprop.errors import RecordingError
from simprop.geometry.arrays import Array
from simprop.rig.load import parse_rig
from simprop.written import written_beside

FORMAT = 2
READ = (1, 2)
"""Formats that are read: 1 names the files of its rig, 2 holds them."""
NEAR = 2e-3
"""A recorded body may stand so far from the start pose in the first row, besides what it moves in four steps, m."""
SAG = 0.3
"""And what holds on to a member that bends so far as a share of its length: it may begin sagged."""
MAY_BE_UNKNOWN = ("voltage", "current", "touch_point", "touch_force")
"""Arrays in which NaN stands for what isn't known or doesn't touch."""


@dataclass(frozen=True)
class Band:
    """How sure a peak is.

    Attributes:
        value: the peak at the finest step, SI.
        change: what is left of its numerical error, by how it moved when the step was halved, same unit.
        settled: True when the move is within what was asked; False when the limit of steps came first.
    """

    value: float
    change: float
    settled: bool


@dataclass(frozen=True)
class Recording:
    """What one run gave.

    Attributes:
        assembly: what was run.
        laws: all that acted on it.
        engine: name of the engine that stepped it.
        track: motion and applied loads at every physics step.
        bands: numerical band of each peak by its key (see `simprop.loads.joints`); empty when only one step was run.
        versions: of this package and of the engine that made it; empty where they aren't known.
    """

    assembly: Assembly
    laws: Actuation
    engine: str
    track: Trajectory
    bands: Mapping[str, Band] = field(default_factory=dict)
    versions: Mapping[str, str] = field(default_factory=dict)


def save_recording(recording: Recording, path: str | Path) -> None:
    """Write a recording with all that its loads need, the files that its rig names too; it appears whole or not at all.

    Args:
        path: where, ending in ``.npz``.

    Raises:
        RecordingError: when a file that the rig names can't be read.
        WriteError: when it can't be written.
    """
    path = Path(path)
    rig = recording.assembly.rig
    try:
        files = {name: rig.source.read(name) for name in rig.file_names}
    except OSError as error:
        raise RecordingError(f"{path} can't be written: {error}") from None
    head = {
        "format": FORMAT,
        "engine": recording.engine,
        "versions": dict(recording.versions),
        "text": rig.source.text,
        "file": Path(rig.source.file).name,
        "sets": dict(rig.source.sets),
        "bands": {key: [b.value, b.change, b.settled] for key, b in recording.bands.items()},
        "files": {name: hashlib.sha256(content).hexdigest() for name, content in files.items()},
    }
    arrays = {f.name: np.asarray(getattr(recording.track, f.name)) for f in fields(Trajectory)}
    arrays |= {f"file{k}": np.frombuffer(content, np.uint8) for k, content in enumerate(files.values())}
    with written_beside(path.parent) as work, (work / path.name).open("wb") as file:
        np.savez(file, allow_pickle=False, head=np.array(json.dumps(head)), **arrays)


def load_recording(path: str | Path) -> Recording:
    """Read a recording; the rig inside it is put together anew, which needs no engine.

    Nothing in the file is run, and no more is unpacked than its rig calls for.

    Raises:
        RecordingError: when the file isn't a recording that this version reads, or doesn't belong to its rig.
        RigError: when the rig inside no longer reads.
    """
    try:
        with zipfile.ZipFile(path) as members:
            return _read(members)
    except FileNotFoundError:
        raise RecordingError(f"{path}: there is no such file") from None
    except (
        OSError, EOFError, KeyError, RecursionError, RuntimeError, TypeError, ValueError, struct.error,
        zipfile.BadZipFile, zlib.error,
    ) as error:  # fmt: skip
        raise RecordingError(f"{path} is not a recording: {error}") from None
    except _WrongError as error:
        raise RecordingError(f"{path} can't be used: {error}") from None


class _WrongError(Exception):
    """Why a file that reads as a recording can't be used."""


def _read(members: zipfile.ZipFile) -> Recording:
    head = json.loads(str(_array(members, "head", (), "U")))
    if not isinstance(head, dict) or head.get("format") not in READ:
        found = head.get("format") if isinstance(head, dict) else None
        raise _WrongError(f"it has format {found!r}; this version reads {', '.join(map(str, READ))}")
    head = {"versions": {}, "files": {}, **head}
    engine, text, name = (_typed(head, key, str) for key in ("engine", "text", "file"))
    versions, sets = (_typed(head, key, dict) for key in ("versions", "sets"))
    for key, table in (("versions", versions), ("sets", sets)):
        if not all(isinstance(k, str) and isinstance(v, str) for k, v in table.items()):
            raise _WrongError(f"its {key} aren't all text")
    files = {}
    for k, (file, digest) in enumerate(_typed(head, "files", dict).items()):
        files[file] = _array(members, f"file{k}", (-1,), "u1").tobytes()
        if hashlib.sha256(files[file]).hexdigest() != digest:
            raise _WrongError(f"its copy of {file} was changed")
    assembly = assemble(parse_rig(text, name, sets, files))
    laws = actuate(assembly)
    track = _track(members, assembly, laws)
    return Recording(assembly, laws, engine, track, _bands(_typed(head, "bands", dict)), versions)


def _typed(head: dict[str, Any], key: str, kind: type) -> Any:
    if not isinstance(head[key], kind):
        raise _WrongError(f"its {key} should be {'text' if kind is str else 'a mapping'}")
    return head[key]


def _bands(rows: dict[str, Any]) -> dict[str, Band]:
    for key, row in rows.items():
        numbers = isinstance(row, list) and len(row) == 3 and all(type(v) in (int, float) for v in row[:2])
        if not numbers or not np.isfinite(row[:2]).all() or min(row[:2]) < 0 or not isinstance(row[2], bool):
            raise _WrongError(f"the band of {key} isn't two numbers and a yes or no")
    return {key: Band(*row) for key, row in rows.items()}


def _track(members: zipfile.ZipFile, assembly: Assembly, laws: Actuation) -> Trajectory:
    """The arrays, each of the shape that the rig calls for."""
    step = float(_array(members, "step", (), "f8"))
    duration = assembly.rig.run.duration
    if not 0 < step <= max(duration, 1.0):
        raise _WrongError(f"its step of {step:g} s can't be one of a run of {duration:g} s")
    n = max(1, round(duration / step))
    bodies, axes = (n, len(assembly.bodies)), (n, len(assembly.axes))
    lines, fed, touches = (n, len(laws.lines)), (n, laws.columns), (n, len(laws.touches))
    shapes = {
        "time": (n,),
        "rotation": (*bodies, 4),
        **dict.fromkeys(("position", "velocity", "spin", "acceleration", "spin_acceleration"), (*bodies, 3)),
        **dict.fromkeys(("coordinate", "rate"), axes),
        "applied": (n, len(APPLIED), axes[1]),
        "line_force": lines,
        **dict.fromkeys(("line_start", "line_end"), (*lines, 3)),
        **dict.fromkeys(("voltage", "current"), fed),
        **dict.fromkeys(("touch_force", "touch_point"), (*touches, 3)),
        "slip_force": (n, len(assembly.slips)),
        **dict.fromkeys(("outer_force", "outer_moment"), (n, len(laws.outside.rows), 3)),
        "held": (n if laws.outside.rows else 0, 3),
    }
    arrays: dict[str, Array] = {}
    for key, shape in shapes.items():
        if 0 in shape and key.startswith(
            ("touch", "slip", "outer", "held")
        ):  # left out where there is nothing of it
            arrays[key] = np.zeros(shape)
            continue
        arrays[key] = _array(members, key, shape, "f8")
        bad = np.isinf if key in MAY_BE_UNKNOWN else lambda v: ~np.isfinite(v)
        if bad(arrays[key]).any():
            raise _WrongError(f"its {key} holds values that aren't numbers")
    if "own.npy" in members.namelist():  # not every engine tells it
        own = _array(members, "own", (-1, -1, 6), "f8")
        if (len(own) and own.shape[:2] != (n, len(assembly.rig.joints))) or np.isinf(own).any():
            raise _WrongError("its own isn't what its rig calls for")
        arrays["own"] = own
    _fits(assembly, step, arrays)
    return Trajectory(step=step, **arrays)


def _fits(assembly: Assembly, step: float, arrays: dict[str, Array]) -> None:
    """Look that rows are a step apart, turns are turns, and the run begins in the start pose of its rig."""
    if len(arrays["time"]) > 1 and np.abs(np.diff(arrays["time"]) - step).max() > 1e-6 * step + 1e-9:
        raise _WrongError("its rows aren't a step apart")
    if np.abs(np.linalg.norm(arrays["rotation"], axis=-1) - 1.0).max(initial=0.0) > 1e-6:
        raise _WrongError("its rotations aren't unit quaternions")
    start = np.array([b.com for b in assembly.bodies]).reshape(-1, 3)
    moved = np.linalg.norm(arrays["position"][0] - start, axis=1)
    speed = np.linalg.norm(arrays["velocity"][:4], axis=2).max(axis=0)
    lengths = [s.length for m in assembly.members for shape in m.whole.shapes for s in shape.stretches()]
    far = moved > NEAR + SAG * max(lengths, default=0.0) + 4 * step * speed
    if far.any():
        raise _WrongError(
            f"{assembly.bodies[int(np.argmax(far))].name} doesn't begin where its rig puts it: another rig's?"
        )


def _array(members: zipfile.ZipFile, key: str, shape: tuple[int, ...], kind: str) -> Array:
    """An array of a recording, looked at before it is read: stored plainly, of the right shape and type.

    What is stored plainly can't unpack to more than the file holds.
    """
    info = members.getinfo(f"{key}.npy")
    if info.compress_type != zipfile.ZIP_STORED:
        raise _WrongError(f"its {key} is compressed; recordings are stored plainly")
    with members.open(info) as file:
        first = np.lib.format.read_magic(file) == (1, 0)
        read = np.lib.format.read_array_header_1_0 if first else np.lib.format.read_array_header_2_0
        found, by_columns, dtype = read(file)
        wanted = tuple(f if w < 0 else w for f, w in zip(found, shape, strict=False))
        if len(found) != len(shape) or found != wanted:
            raise _WrongError(f"its {key} has the shape {found}, its rig calls for {shape}")
        if dtype.hasobject or not dtype.isnative or not dtype.str[1:].startswith(kind):
            raise _WrongError(f"its {key} is of the type {dtype}")
        size = int(np.prod(found, dtype=object)) * dtype.itemsize
        if size > info.file_size:
            raise _WrongError(f"its {key} is cut off")
        content = file.read()
    if len(content) != size:
        raise _WrongError(f"its {key} is cut off")
    return np.frombuffer(content, dtype).reshape(found, order="F" if by_columns else "C").copy()
