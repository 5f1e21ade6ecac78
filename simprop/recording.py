"""A run as arrays, saved and loaded without loss; everything after it needs no engine."""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from pathlib import Path

import numpy as np

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, actuate
from simprop.engine.world import Trajectory
from simprop.errors import RecordingError
from simprop.geometry.arrays import Array
from simprop.rig.load import parse_rig

FORMAT = 1


@dataclass(frozen=True)
class Band:
    """How far a peak moved when the step was last halved.

    Attributes:
        value: the peak at the finest step, SI.
        change: how far it moved, same unit.
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
    """

    assembly: Assembly
    laws: Actuation
    engine: str
    track: Trajectory
    bands: Mapping[str, Band] = field(default_factory=dict)


def save_recording(recording: Recording, path: str | Path) -> None:
    """Write a recording; the file appears whole or not at all.

    Args:
        recording: what to save.
        path: where, ending in ``.npz``.

    Raises:
        RecordingError: when it can't be written.
    """
    path = Path(path)
    source = recording.assembly.rig.source
    head = {
        "format": FORMAT,
        "engine": recording.engine,
        "text": source.text,
        "file": str(Path(source.file).resolve()),
        "sets": source.sets,
        "bands": {key: [b.value, b.change, b.settled] for key, b in recording.bands.items()},
    }
    arrays = {f.name: np.asarray(getattr(recording.track, f.name)) for f in fields(Trajectory)}
    beside = path.with_name(path.name + ".part")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("wb") as file:
            np.savez(file, allow_pickle=False, head=np.array(json.dumps(head)), **arrays)
        os.replace(beside, path)
    except OSError as error:
        raise RecordingError(f"{path} can't be written: {error}") from None
    finally:
        beside.unlink(missing_ok=True)


def load_recording(path: str | Path) -> Recording:
    """Read a recording; the rig inside it is put together anew, which needs no engine.

    Raises:
        RecordingError: when the file isn't a recording of this version.
        RigError: when the rig inside no longer reads.
    """
    try:
        with np.load(path, allow_pickle=False) as data:
            head = json.loads(str(data["head"]))
            arrays: dict[str, Array] = {
                f.name: data[f.name]
                for f in fields(Trajectory)
                if f.name in data or f.default_factory is MISSING
            }
    except FileNotFoundError:
        raise RecordingError(f"{path}: there is no such file") from None
    except (OSError, ValueError, KeyError, EOFError) as error:
        raise RecordingError(f"{path} is not a recording: {error}") from None
    if head.get("format") != FORMAT:
        raise RecordingError(f"{path} has format {head.get('format')}, this version reads {FORMAT}")
    arrays["step"] = float(arrays["step"])  # type: ignore[assignment]
    rig = parse_rig(head["text"], head["file"], head["sets"])
    bands = {key: Band(*row) for key, row in head["bands"].items()}
    assembly = assemble(rig)
    return Recording(assembly, actuate(assembly), head["engine"], Trajectory(**arrays), bands)  # type: ignore[arg-type]
