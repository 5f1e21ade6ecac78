"""Quaternions to matrices, many at once."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Array


def matrices(quaternions: Array) -> Array:
    """Rotation matrices of unit quaternions.

    Args:
        quaternions: x y z w, (..., 4).

    Returns:
        (..., 3, 3).

    Example:
        >>> float(matrices(np.array([0.0, 0.0, 0.0, 1.0])).trace())
        3.0
    """
    x, y, z, w = np.moveaxis(quaternions, -1, 0)
    result = np.empty((*quaternions.shape[:-1], 3, 3))
    result[..., 0, 0] = 1 - 2 * (y * y + z * z)
    result[..., 0, 1] = 2 * (x * y - z * w)
    result[..., 0, 2] = 2 * (x * z + y * w)
    result[..., 1, 0] = 2 * (x * y + z * w)
    result[..., 1, 1] = 1 - 2 * (x * x + z * z)
    result[..., 1, 2] = 2 * (y * z - x * w)
    result[..., 2, 0] = 2 * (x * z - y * w)
    result[..., 2, 1] = 2 * (y * z + x * w)
    result[..., 2, 2] = 1 - 2 * (x * x + y * y)
    return result
