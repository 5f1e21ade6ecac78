"""Quaternions (x y z w, unit), one or many at once, and the matrices and vectors of the same rotations."""

from __future__ import annotations

import math

import numpy as np

from simprop.geometry.arrays import Array


def multiply(a: Array, b: Array) -> Array:
    """The rotation `b` followed by `a`: (..., 4).

    Example:
        >>> half = np.array([0.0, 0.0, np.sqrt(0.5), np.sqrt(0.5)])
        >>> [float(v) for v in multiply(half, half).round(9)]
        [0.0, 0.0, 1.0, 0.0]
    """
    av, aw, bv, bw = a[..., :3], a[..., 3:], b[..., :3], b[..., 3:]
    vector = aw * bv + bw * av + np.cross(av, bv)
    scalar = aw * bw - np.sum(av * bv, axis=-1, keepdims=True)
    return np.concatenate([vector, scalar], axis=-1)


def inverse(a: Array) -> Array:
    """The rotation back: (..., 4)."""
    return np.asarray(a * np.array([-1.0, -1.0, -1.0, 1.0]))


def rotate(a: Array, v: Array) -> Array:
    """Vectors turned by rotations: (..., 3).

    Example:
        >>> half = np.array([0.0, 0.0, np.sqrt(0.5), np.sqrt(0.5)])
        >>> [float(v) + 0.0 for v in rotate(half, np.array([1.0, 0.0, 0.0])).round(9)]
        [0.0, 1.0, 0.0]
    """
    vector, scalar = a[..., :3], a[..., 3:]
    twice = 2.0 * np.cross(vector, v)
    return np.asarray(v + scalar * twice + np.cross(vector, twice))


def of_axis(axis: Array, angle: Array) -> Array:
    """Rotation by `angle` (n,) rad about a unit axis (3,): (n, 4)."""
    half = 0.5 * np.asarray(angle)[..., None]
    return np.concatenate([np.sin(half) * axis, np.cos(half)], axis=-1)


def of_vector(vector: Array) -> Array:
    """Rotation vectors (..., 3) rad as quaternions (..., 4).

    Example:
        >>> [float(v) for v in of_vector(np.zeros(3))]
        [0.0, 0.0, 0.0, 1.0]
    """
    angle = np.linalg.norm(vector, axis=-1, keepdims=True)
    share = 0.5 * np.sinc(angle / (2.0 * np.pi))
    return np.concatenate([share * vector, np.cos(0.5 * angle)], axis=-1)


def of_matrix(matrix: Array) -> Array:
    """Rotation matrices (..., 3, 3) as quaternions (..., 4).

    Source: S. W. Shepperd, Quaternion from rotation matrix, Journal of Guidance and Control 1 (1978) 223: of the four
    rows of products of two components, the one with the largest square.

    Example:
        >>> [float(v) for v in of_matrix(np.diag([1.0, -1.0, -1.0]))]
        [1.0, 0.0, 0.0, 0.0]
    """
    trace = np.trace(matrix, axis1=-2, axis2=-1)
    products = np.empty((*matrix.shape[:-2], 4, 4))
    products[..., :3, :3] = matrix + np.swapaxes(matrix, -1, -2)
    products[..., :3, :3] += (1.0 - trace)[..., None, None] * np.eye(3)
    products[..., 3, 3] = 1.0 + trace
    for k, (i, j) in enumerate(((2, 1), (0, 2), (1, 0))):
        products[..., k, 3] = products[..., 3, k] = matrix[..., i, j] - matrix[..., j, i]
    largest = np.argmax(np.diagonal(products, axis1=-2, axis2=-1), axis=-1)
    row = np.take_along_axis(products, largest[..., None, None], axis=-2)[..., 0, :]
    return np.asarray(row / np.linalg.norm(row, axis=-1, keepdims=True))


def to_vector(a: Array) -> Array:
    """Quaternions (..., 4) as rotation vectors of at most half a turn (..., 3) rad."""
    a = np.where(a[..., 3:] < 0.0, -a, a)
    sine = np.linalg.norm(a[..., :3], axis=-1, keepdims=True)
    angle = 2.0 * np.arctan2(sine, a[..., 3:])
    safe = np.where(sine > 0.0, sine, 1.0)
    return np.asarray(np.where(sine > 1e-12, angle / safe, 2.0) * a[..., :3])


def twist(a: Array, axis: Array) -> Array:
    """Angle of rotations about a unit axis, wrapped to one turn, (...) rad."""
    return np.asarray(2.0 * np.arctan2(a[..., :3] @ axis, a[..., 3]))


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


def across(one: Array, other: Array) -> Array:
    """Cross products of vectors (3,) or (n, 3), bit by bit as numpy's; for a few of them in a fifth of its time.

    Example:
        >>> across(np.array([1.0, 0.0, 0.0]), np.array([[0.0, 2.0, 0.0], [0.0, 0.0, 3.0]])).tolist()
        [[0.0, 0.0, 2.0], [0.0, -3.0, 0.0]]
    """
    ax, ay, az = one[..., 0], one[..., 1], one[..., 2]
    bx, by, bz = other[..., 0], other[..., 1], other[..., 2]
    return np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx]).T


def matrix_about(vector: Array) -> Array:
    """Matrix (3, 3) of one rotation vector (3,) rad; for the many small steps of closing a loop.

    Source: Rodrigues' formula, any text on mechanics.

    Example:
        >>> matrix_about(np.array([0.0, 0.0, np.pi / 2])).round(9).tolist()
        [[0.0, -1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]]
    """
    x, y, z = (float(v) for v in vector)
    angle = math.sqrt(x * x + y * y + z * z)
    cosine = math.cos(angle)
    a = math.sin(angle) / angle if angle > 0.0 else 1.0
    b = 2.0 * (math.sin(0.5 * angle) / angle) ** 2 if angle > 0.0 else 0.5
    return np.array(
        [
            [cosine + b * x * x, b * x * y - a * z, b * x * z + a * y],
            [b * x * y + a * z, cosine + b * y * y, b * y * z - a * x],
            [b * x * z - a * y, b * y * z + a * x, cosine + b * z * z],
        ]
    )
