"""Steps a prop with PyBullet; the only file that imports it.

What had to be heeded (pybullet 3.2.7, each measured):

- `changeDynamics` ignores an inertia unless the mass comes in the same call, and sets it to zero where damping or
  the largest joint speed come with it: two calls, and the inertia is read back.
- Damping and joint motors are on unless turned off; the largest joint speed is 100 rad/s unless raised.
- Links are put in depth-first order, which is asserted.
- A ball joint counts in the principal axes of its link, and so do the pivots of constraints.
- Its ties between links have rows that can't be left out, and a planar loop has one too many: turned by 1e-8 rad it
  jams. A slide that closes a loop gives wrong forces. Its solver works in rounds: where a heavy reflected inertia meets
  light links, loads after a sudden change (friction that sticks, a drive that turns back) are up to 30 % wrong for some
  steps, at 500 rounds and at any step size, and its direct solvers run away. So ties, gears, friction and drives are
  worked out in `simprop.engine.bullet.direct` and given as joint loads; the engine steps the tree.
- Positions after n steps belong to (n + 1/2) h when speeds belong to n h.
"""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.bullet.loop import step_through
from simprop.engine.bullet.result import trajectory
from simprop.engine.bullet.world import World
from simprop.engine.world import Progress, Trajectory
from simprop.errors import EngineError, EngineMissingError, signal_behind


class BulletEngine:
    """Semi-implicit steps in joint coordinates; loops closed by exact loads at each step."""

    name = "bullet"
    gives = False
    implicit = False

    def run(
        self,
        assembly: Assembly,
        actuation: Actuation,
        step: float,
        steps: int,
        progress: Progress | None = None,
    ) -> Trajectory:
        """Step the prop from its start pose; see `simprop.engine.world.Engine`.

        Raises:
            EngineMissingError: when PyBullet isn't installed here.
            EngineError: when the prop can't be built or its motion goes wrong.

        Example:
            >>> from simprop.assembly.assemble import assemble
            >>> from simprop.engine.acting.actuation import actuate
            >>> from simprop.rig.load import parse_rig
            >>> stone = assemble(parse_rig('''
            ... rig: 1
            ... name: Stone
            ... bodies: {stone: {parts: [{lump: 1 kg, at: 0 0 1000 mm}]}}
            ... run: {for: 1 s}
            ... '''))
            >>> track = BulletEngine().run(stone, actuate(stone), 1e-3, 100)
            >>> round(float(track.velocity[-1, 0, 2]), 4)  # after 99.5 ms
            -0.9758
        """
        if actuation.cords:
            raise EngineError("the bullet engine carries no cords: use --engine mujoco or exudyn")
        if actuation.slips:
            raise EngineError(
                "the bullet engine carries nothing that may slip: use --engine mujoco or exudyn"
            )
        if actuation.outside.rows:
            raise EngineError(
                "the bullet engine carries neither strips nor the drag of the air: use --engine mujoco or exudyn"
            )
        world = World(_pybullet(), assembly, actuation, step)
        try:
            log = step_through(world, steps, progress)
        finally:
            world.close()
        return trajectory(assembly, actuation, world.links, world.tied, step=step, log=log)


@contextmanager
def _silent() -> Iterator[None]:
    """Keeps what PyBullet's own code prints off the terminal."""
    sys.stdout.flush()
    sys.stderr.flush()
    kept = [os.dup(1), os.dup(2)]
    void = os.open(os.devnull, os.O_WRONLY)
    os.dup2(void, 1)
    os.dup2(void, 2)
    try:
        yield
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        ctypes.CDLL(None).fflush(None)
        for number, copy in zip((1, 2), kept, strict=True):
            os.dup2(copy, number)
            os.close(copy)
        os.close(void)


def _pybullet() -> Any:
    """The module, imported without the line that it prints."""
    if "pybullet" in sys.modules and sys.modules["pybullet"] is not None:
        return sys.modules["pybullet"]
    try:
        with _silent():
            import pybullet
    except ImportError as error:
        if (stopped := signal_behind(error)) is not None:
            raise stopped from None
        raise EngineMissingError(
            "PyBullet isn't installed here (there are wheels for Linux x86-64 up to Python 3.11 alone): "
            "use --engine mujoco"
        ) from None
    return pybullet
