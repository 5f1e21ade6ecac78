"""What the PyBullet engine says when a run goes wrong, and that it leaves nothing behind."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import fields

import numpy as np
import pytest
from bullet_rigs import four_bar, run, slider_crank, wheel

from simprop.errors import EngineError

pytest.importorskip("pybullet")

PENDULUM = """
rig: 1
name: Pendulum on a stop
bodies:
  post: {fixed: true}
  bob: {parts: [{slender: 1 kg, from: 0 0 0 mm, to: 500 0 0 mm}]}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
stops: {rest: {pin_stop: hook, above: 30 deg, stiffness: %s N*m/rad, damping: %s N*m*s/rad}}
run: {for: 1 s}
"""


def test_a_stop_too_stiff_for_the_step() -> None:
    with pytest.raises(
        EngineError,
        match=r"runs away at .* s, first at joint 'hook'.*too coarse for the stop.* on joint 'hook'",
    ):
        run(PENDULUM % (1e9, 0), 1e-3, 1.0)


def test_a_stop_too_soft_for_what_falls_on_it() -> None:
    with pytest.raises(
        EngineError, match=r"joint 'hook' is more than 57.3 deg past its stop at .* N\*m/rad is too soft"
    ):
        run(PENDULUM % (0.5, 0), 1e-3, 1.0)


def test_a_loop_too_fast_for_the_step() -> None:
    with pytest.raises(
        EngineError, match=r"loop through joint 'wrist' is .* mm apart at .* s .* too coarse for its speed"
    ):
        run(slider_crank(), 2e-3, 0.1)


def test_same_input_same_bytes() -> None:
    _, _, one = run(four_bar(friction={"B": 0.001}), 1e-3, 0.2)
    _, _, two = run(four_bar(friction={"B": 0.001}), 1e-3, 0.2)
    for field in fields(one):
        assert (
            np.asarray(getattr(one, field.name)).tobytes() == np.asarray(getattr(two, field.name)).tobytes()
        )


def test_clients_are_given_back_even_after_trouble() -> None:
    import pybullet

    before = [k for k in range(64) if pybullet.isConnected(k)]
    run(wheel(1e-3), 1e-3, 0.01)
    with pytest.raises(EngineError):
        run(PENDULUM % (1e9, 0), 1e-3, 1.0)
    assert [k for k in range(64) if pybullet.isConnected(k)] == before


def test_progress_and_nothing_printed() -> None:
    code = """
from bullet_rigs import assemble, actuate, parse_rig, wheel, BulletEngine

done = []
prop = assemble(parse_rig(wheel(1e-3)))
BulletEngine().run(prop, actuate(prop), 1e-3, 1000, done.append)
assert done[-1] == 1000 and done == sorted(done) and 10 < len(done) <= 1000
"""
    found = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        check=False,
        text=True,
        cwd=__file__.rsplit("/", 1)[0],
    )
    assert found.returncode == 0, found.stderr
    assert found.stdout == ""


def test_a_prop_that_can_not_move() -> None:
    prop = "rig: 1\nname: Post\nbodies: {post: {fixed: true, parts: [{lump: 1 kg, at: 0 0 0 mm}]}}\nrun: {for: 1 s}"
    _, _, track = run(prop, 1e-3, 0.01)
    assert track.position.shape == (10, 1, 3)
    assert not track.position.any()
