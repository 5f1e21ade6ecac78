"""Which engine to use."""

from __future__ import annotations

from importlib.util import find_spec

from simprop.engine.world import Engine
from simprop.errors import EngineMissingError, UnknownNameError

NAMES = ("bullet", "mujoco")


def engine(name: str | None = None) -> Engine:
    """An engine by its name; None for bullet where pybullet is installed, else mujoco.

    Args:
        name: ``bullet``, ``mujoco`` or None.

    Raises:
        UnknownNameError: for another name.
        EngineMissingError: when its package isn't installed.

    Example:
        >>> engine("mujoco").name
        'mujoco'
    """
    if name is None:
        name = "bullet" if find_spec("pybullet") is not None else "mujoco"
    if name not in NAMES:
        raise UnknownNameError("engine", name, NAMES)
    package = {"bullet": "pybullet", "mujoco": "mujoco"}[name]
    if find_spec(package) is None:
        raise EngineMissingError(f"engine {name!r} needs the package {package}, which isn't installed here")
    if name == "bullet":
        from simprop.engine.bullet.engine import BulletEngine

        return BulletEngine()
    from simprop.engine.mujoco.engine import MujocoEngine

    return MujocoEngine()
