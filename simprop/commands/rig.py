"""How the command line reads a rig."""

from __future__ import annotations

from collections.abc import Mapping
from contextvars import ContextVar
from pathlib import Path

from simprop.rig.load import load_rig
from simprop.rig.model import Rig

elsewhere: ContextVar[bool] = ContextVar("elsewhere", default=False)
"""Whether the sounds and meshes of rigs may lie outside their folders, as ``--files-elsewhere`` asks for."""


def read_rig(path: Path, sets: Mapping[str, str]) -> Rig:
    """The rig of a file.

    Args:
        path: the file.
        sets: values put over those in it.
    """
    return load_rig(path, sets, files_elsewhere=elsewhere.get())
