"""Motion preview and joint loads of motor-driven animated props.

The public names load on first use, so that ``import simprop`` itself needs no engine and no plotting library.

Example:
    >>> import simprop
    >>> sorted(simprop.__all__)[:3]
    ['AssemblyError', 'EngineError', 'JointLoads']
"""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from simprop.assembly.assemble import assemble
    from simprop.errors import AssemblyError, EngineError, RigError, SimpropError
    from simprop.loads.joints import JointLoads, joint_loads
    from simprop.picture.clip.clip import render_clip
    from simprop.recording import Recording, load_recording, save_recording
    from simprop.rig.load import load_rig, parse_rig
    from simprop.rig.model import Rig
    from simprop.run.run import Run
    from simprop.run.simulate import simulate
    from simprop.study.find.found import found

_HOME = {
    "AssemblyError": "simprop.errors",
    "EngineError": "simprop.errors",
    "RigError": "simprop.errors",
    "SimpropError": "simprop.errors",
    "JointLoads": "simprop.loads.joints",
    "Recording": "simprop.recording",
    "Rig": "simprop.rig.model",
    "Run": "simprop.run.run",
    "assemble": "simprop.assembly.assemble",
    "found": "simprop.study.find.found",
    "joint_loads": "simprop.loads.joints",
    "load_recording": "simprop.recording",
    "load_rig": "simprop.rig.load",
    "parse_rig": "simprop.rig.load",
    "render_clip": "simprop.picture.clip.clip",
    "save_recording": "simprop.recording",
    "simulate": "simprop.run.simulate",
}

__all__ = [
    "AssemblyError",
    "EngineError",
    "JointLoads",
    "Recording",
    "Rig",
    "RigError",
    "Run",
    "SimpropError",
    "assemble",
    "found",
    "joint_loads",
    "load_recording",
    "load_rig",
    "parse_rig",
    "render_clip",
    "save_recording",
    "simulate",
]
__version__ = "0.1.0"


def __getattr__(name: str) -> Any:
    if name in _HOME:
        return getattr(importlib.import_module(_HOME[name]), name)
    raise AttributeError(f"module 'simprop' has no attribute {name!r}")


def __dir__() -> list[str]:
    return __all__


_SHOWN = (
    ("simprop.rig.model", "Rig", "rig_html"),
    ("simprop.run.run", "Run", "run_html"),
    ("simprop.recording", "Recording", "recording_html"),
)
"""Class by its home and name, and what of `simprop.report.notebook` shows it."""


def load_ipython_extension(shell: Any) -> None:
    """Let rigs, runs and recordings show themselves in IPython and Jupyter; importing the package there does it.

    Args:
        shell: the running IPython.
    """
    formatter = shell.display_formatter.formatters["text/html"]
    for home, name, maker in _SHOWN:
        formatter.for_type_by_name(home, name, _shower(maker))


def _shower(maker: str) -> Callable[[Any], str]:
    def html(thing: Any) -> str:
        return str(getattr(importlib.import_module("simprop.report.notebook"), maker)(thing))

    return html


if "IPython" in sys.modules and (_shell := sys.modules["IPython"].get_ipython()) is not None:
    load_ipython_extension(_shell)
