"""Poses at exact instants from rows that are stamped mid-step."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from simprop.assembly.types import Assembly
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.geometry.turning import matrices
from simprop.picture.render.motion import frame_times, line_poses, poses_at
from simprop.picture.render.watch import follow, watched
from simprop.reading.fields import Point
from tests.picture.props import CRANK, ROD, SHAFT


def test_poses_at_exact_times(peeper: Assembly, run: Trajectory) -> None:
    """Against the closed-form slider-crank: wrist height = r sin a + sqrt(l^2 - r^2 cos^2 a)."""
    at = np.array([0.04, 0.333, 0.7, 1.5])
    poses = poses_at(peeper, run, at)
    angle = 2 * np.pi * at
    exact = SHAFT + CRANK * np.sin(angle) + np.sqrt(ROD**2 - (CRANK * np.cos(angle)) ** 2)
    wrist = follow(watched(peeper, ["wrist"]), poses)[:, 0, 2]
    assert wrist == pytest.approx(exact, abs=1e-6)
    pin = poses.turn[:, 1] @ np.array([CRANK / 2, 0, 0]) + poses.shift[:, 1]
    assert pin == pytest.approx(
        np.stack([CRANK * np.cos(angle), 0 * angle, SHAFT + CRANK * np.sin(angle)], 1), abs=1e-6
    )


def test_start_pose_before_the_first_row(peeper: Assembly, run: Trajectory) -> None:
    poses = poses_at(peeper, run, np.array([0.0]))
    assert poses.turn[0] == pytest.approx(np.tile(np.eye(3), (4, 1, 1)))
    assert poses.shift[0] == pytest.approx(np.array([b.com for b in peeper.bodies]))


def test_last_pose_is_held_after_the_end(peeper: Assembly, run: Trajectory) -> None:
    poses = poses_at(peeper, run, np.array([99.0]))
    assert poses.shift[0] == pytest.approx(run.position[-1])


def test_matrices_turn_as_quaternions_do() -> None:
    from scipy.spatial.transform import Rotation

    turns = Rotation.random(20, random_state=3)
    assert matrices(turns.as_quat()) == pytest.approx(turns.as_matrix(), abs=1e-12)


def test_frame_times(run: Trajectory) -> None:
    assert frame_times(run, 25.0) == pytest.approx(np.arange(51) / 25)
    assert frame_times(run, 25.0, 0.5) == pytest.approx(np.arange(101) / 50)


def test_lines_carry_the_unit_line() -> None:
    rng = np.random.default_rng(1)
    start, end = rng.normal(size=(5, 2, 3)), rng.normal(size=(5, 2, 3))
    turn, shift = line_poses(start, end)
    assert turn[:, ::3, :, 0] + shift[:, ::3] == pytest.approx(end)
    for k, sign in ((1, 1.0), (2, -1.0)):
        frames = turn[:, k::3]
        assert np.linalg.det(frames) == pytest.approx(np.ones((5, 2)))
        assert np.einsum("...ij,...kj->...ik", frames, frames) == pytest.approx(
            np.tile(np.eye(3), (5, 2, 1, 1))
        )
        unit = (end - start) / np.linalg.norm(end - start, axis=2, keepdims=True)
        assert frames[..., 0] == pytest.approx(sign * unit)
    assert shift[:, 1::3] == pytest.approx(start)
    assert shift[:, 2::3] == pytest.approx(end)


def test_unknown_point_names_the_nearest(peeper: Assembly) -> None:
    with pytest.raises(RenderError, match="did you mean 'wrist'"):
        watched(peeper, ["wristt"])


def test_a_point_can_be_watched_on_a_given_body(peeper: Assembly) -> None:
    rig = peeper.rig.model_copy(update={"points": {"top": Point(0.0, 0.0, 0.9, "top")}})
    held = replace(peeper, rig=rig)
    one, two = watched(held, ["mast.top", "rod.top"])
    assert (one.body, two.body) == (3, 2)
    for point in (one, two):
        assert point.local + peeper.bodies[point.body].com == pytest.approx([0.0, 0.0, 0.9])
