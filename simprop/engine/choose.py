"""Which engine to use."""

from __future__ import annotations

from importlib.util import find_spec

from simprop.engine.world import Engine
from simprop.errors import EngineMissingError, UnknownNameError

PACKAGES = {"mujoco": "mujoco", "bullet": "pybullet", "exudyn": "exudyn"}
"""The engines and the package that each needs."""
DEFAULT = "mujoco"
"""The engine where none is named: it has wheels for every platform, so that the same rig gives the same numbers on
every machine, and its rows are of fourth order in the step. PyBullet is the second opinion where it has wheels."""

FLEXIBLE = "exudyn"
"""The engine where none is named and members bend or joints give."""


def available(name: str) -> bool:
    """Whether the package of an engine is installed here.

    Example:
        >>> available("mujoco")
        True
    """
    return find_spec(PACKAGES[name]) is not None


def engine(name: str | None = None) -> Engine:
    """An engine by its name.

    Args:
        name: ``mujoco``, ``bullet``, ``exudyn``, or None for `DEFAULT`.

    Raises:
        UnknownNameError: for another name.
        EngineMissingError: when its package isn't installed.

    Example:
        >>> engine("mujoco").name
        'mujoco'
    """
    if name is None:
        name = DEFAULT
    if name not in PACKAGES:
        raise UnknownNameError("engine", name, PACKAGES)
    package = PACKAGES[name]
    if not available(name):
        raise EngineMissingError(f"engine {name!r} needs the package {package}, which isn't installed here")
    if name == "bullet":
        from simprop.engine.bullet.engine import BulletEngine

        return BulletEngine()
    if name == "exudyn":
        from simprop.engine.exudyn.engine import ExudynEngine

        return ExudynEngine()
    from simprop.engine.mujoco.engine import MujocoEngine

    return MujocoEngine()
