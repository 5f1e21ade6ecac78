"""Images to MP4 and GIF through ffmpeg (imageio-ffmpeg brings it)."""

from __future__ import annotations

import contextlib
import shutil
import subprocess
import tempfile
from fractions import Fraction
from pathlib import Path
from typing import IO, Any, cast

from simprop.errors import RenderError, WriteError

FULL = "No space left on device"
LITTLE = 2**16
"""Free space of a disk below which a clip that failed failed for want of it, bytes."""
THREADS = "4"
"""Threads of the encoder, whose work depends on their number: the same on every machine."""


def ffmpeg() -> str:
    """Path of the ffmpeg program."""
    import imageio_ffmpeg

    return str(imageio_ffmpeg.get_ffmpeg_exe())


def place(path: Path) -> str:
    """A path as ffmpeg takes it whatever it begins with or holds: ``night:2`` is no protocol, ``-x`` no option."""
    return f"file:{path}"


class Encoder:
    """Takes frames and writes an MP4, and a lossless copy from which a GIF can be made.

    Args:
        path: of the MP4.
        lossless: of the lossless copy, or None for none.
        size: width, height in pixels, even.
        frames_per_second: of the clip.
        quick: a larger MP4 in less time.
    """

    def __init__(
        self,
        path: Path,
        lossless: Path | None,
        size: tuple[int, int],
        frames_per_second: float,
        *,
        quick: bool = False,
    ):
        rate = str(Fraction(frames_per_second).limit_denominator(1001))
        self._folder = path.parent
        self._log = tempfile.TemporaryFile()  # noqa: SIM115
        command = [ffmpeg(), "-y", "-loglevel", "error", "-f", "rawvideo", "-pix_fmt", "rgb24"]
        command += ["-s", f"{size[0]}x{size[1]}", "-r", rate, "-i", "-"]
        command += [
            "-map",
            "0:v",
            "-c:v",
            "libx264",
            "-crf",
            "20",
            "-preset",
            "ultrafast" if quick else "medium",
            "-threads",
            THREADS,
            "-pix_fmt",
            "yuv420p",
        ]
        command += ["-movflags", "+faststart", "-map_metadata", "-1", "-fflags", "+bitexact", place(path)]
        if lossless is not None:
            command += [
                "-map",
                "0:v",
                "-c:v",
                "libx264rgb",
                "-qp",
                "0",
                "-preset",
                "ultrafast",
                place(lossless),
            ]
        self._process = subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=self._log,
            start_new_session=True,
        )
        self._pipe = cast(IO[bytes], self._process.stdin)

    def add(self, image: Any) -> None:
        """One frame, (height, width, 3) uint8."""
        try:
            self._pipe.write(memoryview(image).cast("B"))
        except BrokenPipeError:
            self.close()

    def close(self) -> None:
        """End the clip.

        Raises:
            RenderError: when ffmpeg reports a fault.
            WriteError: when the disk is full, which ffmpeg tells in several ways, or not at all.
        """
        with contextlib.suppress(BrokenPipeError):
            self._process.communicate()
        if self._process.returncode:
            self._log.seek(0)
            said = self._log.read().decode(errors="replace").strip()
            if FULL in said or shutil.disk_usage(self._folder).free < LITTLE:
                raise WriteError(f"can't write into {self._folder}: {FULL}")
            raise RenderError(f"the clip can't be encoded: {' '.join(said.splitlines()[-1:])}")
        self._log.close()

    def stop(self) -> None:
        """Give up at once."""
        self._process.kill()
        with contextlib.suppress(OSError):
            self._process.communicate()
        self._log.close()


def gif(
    source: Path,
    path: Path,
    limit: int | None = 3_000_000,
    frames_per_second: float = 25.0,
    seconds: float = 0.0,
) -> float | None:
    """A looping GIF from a (lossless) clip, made smaller in steps until it is below `limit` bytes.

    Half the frames first, then narrower pictures, then only the beginning of the clip. GIF delays are whole
    hundredths of a second; 25 and 12.5 frames a second are exact.

    Args:
        source: clip to read.
        path: GIF to write.
        limit: bytes, or None for no limit.
        frames_per_second: at most.
        seconds: length of the clip; 0 leaves out the last resort of showing only its beginning.

    Returns:
        Seconds of the clip that the GIF shows, or None for all of it.

    Raises:
        RenderError: when ffmpeg reports a fault or even a second at the smallest size is too big.
    """
    rates = [frames_per_second, frames_per_second / 2]
    steps = [
        (rates[0], 1.0),
        (rates[1], 1.0),
        (rates[1], 0.75),
        (rates[1], 0.6),
        (rates[1] / 2, 0.5),
        (rates[1] / 2, 0.35),
    ]
    bytes_ = 0
    at = 0
    while at < len(steps):
        rate, scale = steps[at]
        _gif(source, path, rate, scale)
        bytes_ = path.stat().st_size
        if limit is None or bytes_ < limit:
            return None
        at += 1
        while at + 1 < len(steps) and bytes_ * _relative(steps[at], (rate, scale)) > 1.15 * limit:
            at += 1
    shown = seconds
    while limit is not None and shown * 0.9 * limit / bytes_ >= 1.0:
        shown *= 0.9 * limit / bytes_
        _gif(source, path, *steps[-1], shown)
        bytes_ = path.stat().st_size
        if bytes_ < limit:
            return shown
    raise RenderError(f"the GIF is {bytes_ / 1e6:.1f} MB at its smallest; ask for a shorter run")


def _relative(step: tuple[float, float], made: tuple[float, float]) -> float:
    return step[0] / made[0] * 0.85 * (step[1] / made[1]) ** 2 if step != made else 1.0


def _gif(source: Path, path: Path, rate: float, scale: float, seconds: float | None = None) -> None:
    length = [] if seconds is None else ["-t", f"{seconds:.3f}"]
    size = "" if scale == 1 else f"scale=trunc(iw*{scale}/2)*2:-2:flags=lanczos,"
    graph = (
        f"[0:v]fps={Fraction(rate).limit_denominator(1001)},{size}split[a][b];"
        "[a]palettegen=stats_mode=full:max_colors=256[p];[b][p]paletteuse=dither=bayer:bayer_scale=4:diff_mode=rectangle"
    )
    command = [
        ffmpeg(),
        "-y",
        "-loglevel",
        "error",
        *length,
        "-i",
        place(source),
        "-filter_complex",
        graph,
        "-loop",
        "0",
        place(path),
    ]
    done = subprocess.run(command, capture_output=True, check=False, start_new_session=True)
    if done.returncode:
        tail = done.stderr.decode(errors="replace").strip().splitlines()[-1:]
        raise RenderError(f"the GIF can't be made: {' '.join(tail)}")
