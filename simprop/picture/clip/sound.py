"""Puts the rig's sounds into a clip."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

from simprop.errors import RenderError
from simprop.laws.cues import Event
from simprop.picture.encode import ffmpeg, place
from simprop.rig.model import Source
from simprop.written import written_beside


def sounds(happenings: Sequence[Event]) -> tuple[tuple[float, str], ...]:
    """When each sound among a controller's happenings begins, s, and its file as the rig names it."""
    return tuple((e.time, e.text) for e in happenings if e.action == "sound")


def add_sound(
    clip: str | Path, source: Source, played: Sequence[tuple[float, str]], speed: float = 1.0
) -> Path:
    """Put sounds into an MP4 in its own place; the picture is not encoded anew.

    Args:
        clip: the MP4.
        source: of the rig, from which the files are read.
        played: of `sounds`; with none the clip is left as it is.
        speed: seconds of motion a second of clip; sounds of a slowed clip begin later but keep their pitch.

    Returns:
        The clip.

    Raises:
        RenderError: when a sound isn't there or ffmpeg can't read it.
    """
    clip = Path(clip)
    if not played:
        return clip
    try:
        content = [source.read(name) for _, name in played]
    except OSError as error:
        raise RenderError(f"the sounds can't be put into {clip.name}: {error}") from None
    with written_beside(clip.parent) as work:
        command = [ffmpeg(), "-y", "-loglevel", "error", "-i", place(clip)]
        for k, sound in enumerate(content):
            (work / f".sound{k}").write_bytes(sound)
            command += ["-i", place(work / f".sound{k}")]
        parts = []
        for k, (time, _) in enumerate(played, start=1):
            wait = round(1000 * time / speed)
            parts.append(f"[{k}:a]aresample=44100,aformat=channel_layouts=mono,adelay={wait}:all=1[s{k}]")
        names = "".join(f"[s{k}]" for k in range(1, len(played) + 1))
        parts.append(f"{names}amix=inputs={len(played)}:normalize=0:dropout_transition=0,apad[out]")
        command += ["-filter_complex", ";".join(parts), "-map", "0:v", "-map", "[out]", "-c:v", "copy"]
        command += ["-c:a", "aac", "-b:a", "128k", "-shortest", "-movflags", "+faststart"]
        command += ["-map_metadata", "-1", "-fflags", "+bitexact", "-flags:a", "+bitexact"]
        done = subprocess.run(
            [*command, place(work / clip.name)], capture_output=True, text=True, check=False
        )
        if done.returncode != 0:
            raise RenderError(f"the sounds can't be put into {clip.name}: {done.stderr.strip()[-300:]}")
    return clip
