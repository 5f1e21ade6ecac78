"""Clips: right length and rate, small, whole or not there at all."""

from __future__ import annotations

import os
from pathlib import Path

import imageio.v3 as iio
import numpy as np
import pytest
from PIL import Image

from simprop.assembly.types import Assembly
from simprop.engine.world import Trajectory
from simprop.errors import RenderError, WriteError
from simprop.picture.clip.clip import render_clip, write_clip
from tests.picture.props import motion

SIZE = (320, 240)


@pytest.fixture(scope="module")
def short(peeper: Assembly) -> Trajectory:
    return motion(peeper, seconds=0.8, turns=1.25)


def test_clip_has_every_frame_at_the_rate(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    made = render_clip(
        peeper, short, tmp_path, size=SIZE, watch=["wrist"], progress=lambda d, n: told.append((d, n))
    )
    meta = iio.immeta(made.mp4, plugin="FFMPEG")
    frames = iio.imread(made.mp4, plugin="FFMPEG")
    assert frames.shape == (21, 240, 320, 3)
    assert meta["fps"] == 25
    assert meta["codec"] == "h264"
    assert told == [(k, 21) for k in range(1, 22)]
    gif = Image.open(made.gif)  # type: ignore[arg-type]
    assert gif.n_frames == 21
    assert gif.info["duration"] == 40
    assert gif.info["loop"] == 0
    assert Image.open(made.still).size == SIZE
    assert sorted(p.name for p in tmp_path.iterdir()) == ["clip.gif", "clip.mp4", "still.png"]


def test_mp4_starts_with_its_index(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    made = render_clip(peeper, short, tmp_path, size=SIZE, with_gif=False)
    data = made.mp4.read_bytes()
    assert data.index(b"moov") < data.index(b"mdat")
    assert made.gif is None


def test_frames_move(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    made = render_clip(peeper, short, tmp_path, size=SIZE, with_gif=False)
    frames = iio.imread(made.mp4, plugin="FFMPEG").astype(float)
    assert (np.abs(frames[5] - frames[0]).max(axis=2) > 40).mean() > 0.005


def test_gif_is_made_smaller_until_it_fits(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    free = render_clip(peeper, short, tmp_path / "free", size=SIZE, gif_limit=None)
    full = free.gif.stat().st_size  # type: ignore[union-attr]
    tight = render_clip(peeper, short, tmp_path / "tight", size=SIZE, gif_limit=int(0.6 * full))
    assert tight.gif.stat().st_size < 0.6 * full  # type: ignore[union-attr]
    assert tight.gif_seconds is None
    with pytest.raises(RenderError, match="at its smallest"):
        render_clip(peeper, short, tmp_path / "none", size=SIZE, gif_limit=1000)
    assert not (tmp_path / "none").exists()


def test_interrupt_leaves_nothing(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    (tmp_path / "clip.mp4").write_bytes(b"an earlier clip")

    def stop(done: int, total: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        render_clip(peeper, short, tmp_path, size=SIZE, progress=stop)
    assert [p.name for p in tmp_path.iterdir()] == ["clip.mp4"]
    assert (tmp_path / "clip.mp4").read_bytes() == b"an earlier clip"


def test_a_fault_in_a_frame_reaches_the_caller(tmp_path: Path) -> None:
    def make(k: int) -> np.ndarray:
        if k == 3:
            raise RenderError("frame 3")
        return np.zeros((240, 320, 3), np.uint8)

    with pytest.raises(RenderError, match="frame 3"):
        write_clip(make, 10, tmp_path, SIZE, 25.0, workers=2)
    assert list(tmp_path.iterdir()) == []


def test_speed_stretches_the_clip(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    made = render_clip(peeper, short, tmp_path, size=SIZE, speed=0.5, with_gif=False)
    assert len(iio.imread(made.mp4, plugin="FFMPEG")) == 41


@pytest.mark.parametrize("size", [(321, 240), (100, 100), (320, 8000)])
def test_sizes_that_cannot_be(
    peeper: Assembly, short: Trajectory, tmp_path: Path, size: tuple[int, int]
) -> None:
    with pytest.raises(RenderError, match="allowed: even, from 160 x 120"):
        render_clip(peeper, short, tmp_path, size=size)


def test_a_folder_that_is_a_file(peeper: Assembly, short: Trajectory, tmp_path: Path) -> None:
    (tmp_path / "there").write_text("a file")
    with pytest.raises(WriteError, match="can't write into"):
        render_clip(peeper, short, tmp_path / "there", size=SIZE)


def test_gif_of_a_long_clip_shows_its_beginning(tmp_path: Path) -> None:
    """Noise can't be packed: only the first seconds fit, and the caller is told how many."""
    noise = np.random.default_rng(3).integers(0, 255, (5, 160, 240, 3)).astype(np.uint8)
    made = write_clip(lambda k: noise[k % 5], 200, tmp_path, (240, 160), 25.0, gif_limit=150_000)
    assert made.gif is not None
    assert made.gif.stat().st_size < 150_000
    assert made.gif_seconds is not None
    assert 1.0 <= made.gif_seconds < 8.0
    image = Image.open(made.gif)
    assert image.n_frames * image.info["duration"] / 1000 == pytest.approx(made.gif_seconds, abs=0.4)


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="cores can't be chosen on this system")
def test_bytes_do_not_depend_on_the_number_of_cores(
    peeper: Assembly, short: Trajectory, tmp_path: Path
) -> None:
    cores = os.sched_getaffinity(0)
    if len(cores) < 2:
        pytest.skip("one core only")
    many = render_clip(peeper, short, tmp_path / "many", size=SIZE, with_gif=False)
    try:
        os.sched_setaffinity(0, {min(cores)})
        one = render_clip(peeper, short, tmp_path / "one", size=SIZE, with_gif=False)
    finally:
        os.sched_setaffinity(0, cores)
    assert one.mp4.read_bytes() == many.mp4.read_bytes()
    assert one.still.read_bytes() == many.still.read_bytes()
