"""Synchronous gearmotor: one speed up to its pull-out torque; stalled, it turns back the other way.

A small mains synchronous motor has no preferred direction: held at a stop its rotor slips and restarts the
other way. How long that takes is stated by few makers: the delay and lock-out are assumed values.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, replace
from typing import Literal

from simprop.laws.forms import HeldSpeed

STALLED = 0.5
"""Below this share of its nominal speed a synchronous motor has fallen out of step (assumed)."""


@dataclass(frozen=True)
class SynchronousState:
    """What a synchronous motor remembers while it is on.

    Attributes:
        direction: +1 or -1, the way it drives.
        stalled_since: when it fell out of step, s; None while it runs.
        last_reversal: when it last turned back, s; None if it hasn't.
    """

    direction: int
    stalled_since: float | None = None
    last_reversal: float | None = None


@dataclass(frozen=True)
class SynchronousLaw(HeldSpeed):
    """A synchronous motor at its output shaft.

    Attributes:
        speed: nominal, rad/s.
        pull_out_torque: N*m.
        reverses: turns back when it stalls; else it hums on in place.
        reverse_delay: how long it is stalled before it turns back, s.
        starts: direction after it is switched on.
        lockout: after a reversal no other one for so long, s (time to run up the other way).
        seed: of the coin thrown at each start when it starts either way.
    """

    speed: float
    pull_out_torque: float
    reverses: bool = True
    reverse_delay: float = 0.05
    starts: Literal["forward", "backward", "either"] = "forward"
    lockout: float = 0.1
    seed: int = 1

    def start(self, count: int = 0) -> SynchronousState:
        """State just after being switched on.

        Args:
            count: how many times it was switched on before; with `seed` it decides the coin of ``either``.

        Example:
            >>> SynchronousLaw(0.5, 2.0, starts="backward").start().direction
            -1
        """
        if self.starts == "either":
            return SynchronousState(random.Random(self.seed * 1_000_003 + count).choice((-1, 1)))
        return SynchronousState(1 if self.starts == "forward" else -1)

    def advance(self, state: SynchronousState, time: float, speed: float) -> SynchronousState:
        """The state after looking at the shaft at one instant, while the motor is on.

        Stalled means under half the nominal speed in the driven direction. Stalled for longer than the delay,
        and past the lock-out of the last reversal, it drives the other way.

        Args:
            time: s, never less than at the last call.
            speed: of the output shaft, rad/s, signed.

        Returns:
            The same object when nothing changed.

        Example:
            >>> law = SynchronousLaw(0.5, 2.0, reverse_delay=0.05)
            >>> held = law.advance(law.start(), 1.0, 0.0)
            >>> law.advance(held, 1.06, 0.0).direction
            -1
        """
        if speed * state.direction >= STALLED * self.speed:
            return state if state.stalled_since is None else replace(state, stalled_since=None)
        if state.stalled_since is None:
            return replace(state, stalled_since=time)
        locked = state.last_reversal is not None and time - state.last_reversal < self.lockout
        if not self.reverses or locked or time - state.stalled_since <= self.reverse_delay:
            return state
        return SynchronousState(-state.direction, None, time)

    def goal(self, state: SynchronousState) -> tuple[float, float]:
        """Speed to hold, rad/s, and the pull-out torque, N*m."""
        return state.direction * self.speed, self.pull_out_torque
