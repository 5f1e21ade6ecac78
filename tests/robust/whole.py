"""Tells whether a file that a command wrote is whole, by its kind."""

from __future__ import annotations

import csv
import json
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import imageio_ffmpeg
import numpy as np
from PIL import Image, ImageSequence


def trouble(path: Path) -> str | None:
    """What is wrong with a file, or None where it reads from its beginning to its end."""
    try:
        return _READERS[path.suffix](path)
    except KeyError:
        return "a kind of file that nobody asked for"
    except Exception as error:
        return f"{type(error).__name__}: {error}"


def strays(folder: Path) -> list[str]:
    """Files and folders that are no results: temporary ones that were left."""
    return sorted(
        str(p.relative_to(folder))
        for p in folder.rglob("*")
        if any(part.startswith(".") for part in p.relative_to(folder).parts) or p.suffix in (".part", ".tmp")
    )


def broken_files(folder: Path) -> list[str]:
    """Results in a folder that aren't whole, each with what is wrong."""
    files = [
        p
        for p in sorted(folder.rglob("*"))
        if p.is_file() and not p.relative_to(folder).parts[0].startswith(".")
    ]
    return [f"{p.name}: {said}" for p in files if (said := trouble(p)) is not None]


def _picture(path: Path) -> str | None:
    with Image.open(path) as image:
        for frame in ImageSequence.Iterator(image):
            frame.load()
    return None


def _clip(path: Path) -> str | None:
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-i", str(path), "-f", "null", "-"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    return done.stderr[:200] or None


def _arrays(path: Path) -> str | None:
    with np.load(path, allow_pickle=False) as data:
        for name in data.files:
            data[name]
    return None


def _text(path: Path) -> str | None:
    return None if path.read_text(encoding="utf-8").endswith("\n") else "its last line has no end"


def _json(path: Path) -> str | None:
    json.loads(path.read_text(encoding="utf-8"))
    return None


def _table(path: Path) -> str | None:
    with path.open(newline="", encoding="utf-8") as file:
        widths = {len(row) for row in csv.reader(file) if not row[0].startswith("#")}
    return None if len(widths) == 1 else f"rows of {sorted(widths)} columns"


def _scene(path: Path) -> str | None:
    data = path.read_bytes()
    length = int.from_bytes(data[8:12], "little")
    return None if data[:4] == b"glTF" and length == len(data) else f"{len(data)} bytes of {length}"


def _drawing(path: Path) -> str | None:
    ElementTree.fromstring(path.read_text(encoding="utf-8"))
    return None


_READERS = {
    **dict.fromkeys((".png", ".gif"), _picture),
    **dict.fromkeys((".md", ".txt"), _text),
    ".mp4": _clip,
    ".npz": _arrays,
    ".json": _json,
    ".csv": _table,
    ".glb": _scene,
    ".svg": _drawing,
    ".html": _text,
}
