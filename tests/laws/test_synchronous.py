"""When a synchronous motor turns back, and which way it starts."""

from __future__ import annotations

import numpy as np

from simprop.laws.synchronous import SynchronousLaw, SynchronousState

LAW = SynchronousLaw(0.5, 2.0, reverse_delay=0.05, lockout=0.2)


def follow(law: SynchronousLaw, speeds: np.ndarray, step: float = 0.001) -> list[SynchronousState]:
    state, states = law.start(), []
    for n, speed in enumerate(speeds):
        state = law.advance(state, n * step, speed)
        states.append(state)
    return states


def test_runs_on_above_half_its_speed() -> None:
    assert all(s == SynchronousState(1) for s in follow(LAW, np.full(1000, 0.26)))


def test_turns_back_once_the_delay_is_over() -> None:
    directions = np.array([s.direction for s in follow(LAW, np.zeros(100))])
    assert int(np.argmax(directions < 0)) in (51, 52)


def test_a_short_stall_is_forgotten() -> None:
    speeds = np.full(300, 0.5)
    for begin in range(0, 300, 60):
        speeds[begin : begin + 40] = 0.0
    assert follow(LAW, speeds)[-1].direction == 1


def test_locked_out_between_reversals() -> None:
    states = follow(LAW, np.zeros(1000))
    flips = [n for n in range(1, 1000) if states[n].direction != states[n - 1].direction]
    assert len(flips) >= 4
    assert min(np.diff(flips)) >= 200


def test_one_way_motor_hums_on() -> None:
    law = SynchronousLaw(0.5, 2.0, reverses=False)
    assert follow(law, np.zeros(1000))[-1].direction == 1


def test_starts() -> None:
    assert SynchronousLaw(0.5, 2.0, starts="backward").start().direction == -1
    law = SynchronousLaw(0.5, 2.0, starts="either", seed=3)
    tossed = [law.start(n).direction for n in range(200)]
    assert tossed == [law.start(n).direction for n in range(200)]
    assert 60 < tossed.count(1) < 140
