"""What strips pull with at their roots, and how the air brakes bodies."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simprop.geometry.arrays import Array
from simprop.recording import Recording


def outer_pulls(recording: Recording) -> Iterator[tuple[str, str, Array]]:
    """Sort (strip, air), name and size of what each row of strips, and the air on each body, acts with, (n,) N.

    The pulls of all strips of a row are summed as one.

    Args:
        recording: of a run.
    """
    rows = recording.laws.outside.rows
    for sort, name in dict.fromkeys((row.sort, row.name) for row in rows):
        own = [k for k, row in enumerate(rows) if (row.sort, row.name) == (sort, name)]
        yield sort, name, np.linalg.norm(recording.track.outer_force[:, own].sum(axis=1), axis=1)
