"""The camera sees everything, inside its margins, and no farther away than needed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.picture.render.camera import VIEWS, Margin, following, framed, view_axes
from simprop.picture.render.film import Shot, prepare
from simprop.picture.render.scene import build_scene, reach
from simprop.rig.load import load_rig
from simprop.run.simulate import simulate
from tests.picture.props import motion

RIGS = Path(__file__).parents[2] / "rigs"

number = st.floats(-3.0, 3.0)
points = st.lists(st.tuples(number, number, number), min_size=2, max_size=30).filter(
    lambda rows: float(np.ptp(np.array(rows), axis=0).min()) > 0.01
)


@settings(max_examples=80, deadline=None)
@given(points, st.sampled_from(sorted(VIEWS)), st.sampled_from([(640, 480), (1280, 720), (360, 480)]))
def test_everything_is_inside_the_margins_and_tight(
    rows: list[tuple[float, ...]], view: str, size: tuple[int, int]
) -> None:
    margin = Margin(0.05, 0.06, 0.07, 0.13)
    camera = framed(np.array(rows), view_axes(view), size, margin)
    seen = camera.seen(np.array(rows))
    width, height = size
    low = np.array([margin.left * width, margin.top * height])
    high = np.array([(1 - margin.right) * width, (1 - margin.bottom) * height])
    assert (seen[:, :2] >= low - 1e-6).all()
    assert (seen[:, :2] <= high + 1e-6).all()
    assert (seen[:, 2] > 0).all()
    room = np.concatenate([seen[:, :2].min(axis=0) - low, high - seen[:, :2].max(axis=0)])
    across, upward = room[[0, 2]], room[[1, 3]]
    assert min(across.max(), upward.max()) < 1e-6 or seen[:, 2].min() == pytest.approx(0.05)


def test_seen_is_a_pinhole() -> None:
    camera = framed(np.array([[0.0, 0, 0], [1, 0, 0], [0, 0, 1]]), view_axes("front"), (640, 480))
    point = np.array([0.3, 0.1, 0.2])
    local = camera.axes @ (point - camera.eye)
    expected = [320 + camera.focal * local[0] / local[2], 240 - camera.focal * local[1] / local[2], local[2]]
    assert camera.seen(point) == pytest.approx(expected)


@pytest.mark.parametrize("view", VIEWS)
def test_axes_are_right_handed(view: str) -> None:
    right, up, forward = view_axes(view)
    assert np.cross(right, forward) == pytest.approx(up)
    assert up[2] >= 0


def test_front_looks_away_and_side_looks_left() -> None:
    assert view_axes("front", 0.0)[2] == pytest.approx([0, 1, 0])
    assert view_axes("side", 0.0)[2] == pytest.approx([-1, 0, 0])


def test_unknown_view_names_the_nearest() -> None:
    with pytest.raises(RenderError, match="did you mean 'front'"):
        view_axes("frnt")


def test_following_keeps_a_moving_point_in_place() -> None:
    camera = framed(np.eye(3), view_axes("front"), (640, 480))
    shift = np.array([0.4, 0.1, -0.2])
    assert following(camera, shift).seen(np.eye(3) + shift) == pytest.approx(camera.seen(np.eye(3)))


def test_long_runs_are_framed_by_the_hull_alone(peeper: Assembly) -> None:
    """A run long enough to be taken in stretches has the same camera as all of its points."""
    from simprop.picture.render.motion import poses_at

    track = motion(peeper, seconds=8.0, step=2e-3, turns=0.37)
    scene = build_scene(peeper)
    poses = poses_at(peeper, track, np.arange(0, 8, 0.04))
    kept = reach(scene, poses)
    full = np.concatenate(
        [
            (np.einsum("nij,hj->nhi", poses.turn[:, b], hull) + poses.shift[:, b, None]).reshape(-1, 3)
            for b, hull in enumerate(scene.hulls)
            if len(hull)
        ]
    )
    assert len(kept) < 0.35 * len(full)
    a, b = (framed(p, view_axes("three_quarter"), (640, 480)) for p in (kept, full))
    assert a.eye == pytest.approx(b.eye, abs=1e-9)


@pytest.mark.parametrize("whole", ["true", "false"])
def test_a_rig_may_say_that_all_of_it_is_in_the_picture(whole: str) -> None:
    """Only the jaw of a pumpkin on a barrel moves: the barrel's foot is in the picture where the rig wants it there."""
    rig = load_rig(RIGS / "talking_pumpkin.yaml", {"camera.whole": whole, "run.for": "0.1 s"})
    run = simulate(rig, settle=False, step=1e-3)
    film = prepare(run.assembly, run.track, Shot(size=(320, 240), plain=True))
    foot, top = film.camera(0).seen(np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.95]]))
    assert (0 < top[1] < foot[1] < 240) == (whole == "true")
