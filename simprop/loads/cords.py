"""What a cord presses with on the eyes, wheels and bars that it passes."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simprop.geometry.arrays import Array
from simprop.recording import Recording


def presses(recording: Recording) -> Iterator[tuple[str, Array]]:
    """Name and resultant of the two pulls at each place that a cord passes, (n,) N.

    Source: balance of the piece of cord there.

    Args:
        recording: of a run.
    """
    track = recording.track
    along = track.line_end - track.line_start
    along = along / np.maximum(np.linalg.norm(along, axis=2, keepdims=True), 1e-12)
    pull = track.line_force[:, :, None] * along
    for cord in recording.laws.cords:
        for i in range(1, len(cord.places) - 1):
            k = cord.line + i
            yield f"{cord.name} over {i}", np.linalg.norm(pull[:, k] - pull[:, k - 1], axis=1)
