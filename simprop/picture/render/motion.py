"""Poses of all bodies at the instants of the picture's frames."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory


@dataclass(frozen=True)
class Poses:
    """Where every body is at each of n instants; lines between points follow the bodies, three frames a line, then the
    frames of strips.

    Attributes:
        time: (n,) s.
        turn: rotation matrices, (n, B + 3 L + F, 3, 3).
        shift: centre of mass (an end of a spring), (n, B + 3 L + F, 3) m.
    """

    time: Array
    turn: Array
    shift: Array


def between(time: Array, values: Array, at: Array) -> Array:
    """Linear interpolation of rows, held at the ends.

    Args:
        time: (n,) s, rising.
        values: (n, ...).
        at: (m,) s.

    Returns:
        (m, ...).

    Example:
        >>> between(np.array([0.0, 1.0]), np.array([[0.0], [2.0]]), np.array([0.25])).tolist()
        [[0.5]]
    """
    if len(time) == 1:
        return np.repeat(values, len(at), axis=0)
    row = np.clip(np.searchsorted(time, at, side="right") - 1, 0, len(time) - 2)
    part = np.clip((at - time[row]) / (time[row + 1] - time[row]), 0.0, 1.0)
    part = part.reshape(-1, *[1] * (values.ndim - 1))
    return np.asarray(values[row] * (1 - part) + values[row + 1] * part)


def poses_at(assembly: Assembly, track: Trajectory, at: Array) -> Poses:
    """Poses at given instants, between the recorded rows (which may be stamped mid-step).

    Before the first row the start pose at 0 s is used. Between rows positions are taken linearly and rotations as the
    normalised mean of the quaternions, which over one physics step is exact to the third order.

    Args:
        at: (m,) s.
    """
    time, position, rotation = track.time, track.position, track.rotation
    if time[0] > 0:
        time = np.concatenate([[0.0], time])
        position = np.concatenate([np.array([[b.com for b in assembly.bodies]]), position])
        still = np.zeros((1, rotation.shape[1], 4))
        still[..., 3] = 1.0
        rotation = np.concatenate([still, rotation])
    row = np.clip(np.searchsorted(time, at, side="right") - 1, 0, len(time) - 2) if len(time) > 1 else None
    if row is None:
        quaternion = np.repeat(rotation, len(at), axis=0)
    else:
        part = np.clip((at - time[row]) / (time[row + 1] - time[row]), 0.0, 1.0)[:, None, None]
        first, second = rotation[row], rotation[row + 1]
        sign = np.where(np.sum(first * second, axis=-1, keepdims=True) < 0, -1.0, 1.0)
        quaternion = first * (1 - part) + sign * second * part
    quaternion = quaternion / np.linalg.norm(quaternion, axis=-1, keepdims=True)
    turn, shift = matrices(quaternion), between(time, position, at)
    if track.line_start.shape[1]:
        ends = (between(track.time, values, at) for values in (track.line_start, track.line_end))
        stretch, start = line_poses(*ends)
        turn, shift = np.concatenate([turn, stretch], axis=1), np.concatenate([shift, start], axis=1)
    frames = getattr(track, "frames", None)
    if frames is not None:
        cloth = between(track.frame_time, frames, at)  # type: ignore[attr-defined]
        turn = np.concatenate([turn, cloth[..., :3]], axis=1)
        shift = np.concatenate([shift, cloth[..., 3]], axis=1)
    return Poses(np.asarray(at, dtype=np.float64), turn, shift)


def frame_times(track: Trajectory, frames_per_second: float, speed: float = 1.0) -> Array:
    """Instants shown, from 0 s to the end of the run, (n,) s.

    Args:
        frames_per_second: of the clip.
        speed: seconds of motion for one second of clip.

    Example:
        >>> from types import SimpleNamespace
        >>> len(frame_times(SimpleNamespace(time=np.linspace(0, 2, 2001)), 25))
        51
    """
    end = float(track.time[-1]) + 0.5 * float(getattr(track, "step", 0.0))
    count = int(np.floor(end * frames_per_second / speed + 1e-6)) + 1
    return np.asarray(np.arange(count) * (speed / frames_per_second), dtype=np.float64)


def line_poses(start: Array, end: Array) -> tuple[Array, Array]:
    """Three frames for each line in space: stretched from end to end, and of true length at the start and at the end.

    Args:
        start, end: (n, L, 3) m.

    Returns:
        Matrices (n, 3 L, 3, 3), whose first columns are the whole line, the unit line, and the unit line back; places
        (n, 3 L, 3) m.

    Example:
        >>> turn, shift = line_poses(np.zeros((1, 1, 3)), np.array([[[0.0, 0.0, 2.0]]]))
        >>> (turn[0, :, :, 0] + shift[0]).tolist()
        [[0.0, 0.0, 2.0], [0.0, 0.0, 1.0], [0.0, 0.0, 1.0]]
    """
    line = end - start
    length = np.maximum(np.linalg.norm(line, axis=-1, keepdims=True), 1e-9)
    unit = line / length
    hint = np.where(np.abs(unit[..., 1:2]) < 0.9, np.array([0.0, 1.0, 0.0]), np.array([1.0, 0.0, 0.0]))
    second = hint - unit * np.sum(hint * unit, axis=-1, keepdims=True)
    second = second / np.linalg.norm(second, axis=-1, keepdims=True)
    third = np.cross(unit, second)
    columns = ((line, second, third), (unit, second, third), (-unit, -second, third))
    turn = np.stack([np.stack(c, axis=-1) for c in columns], axis=2)
    shift = np.stack([start, start, end], axis=2)
    count = start.shape[0], 3 * start.shape[1]
    return turn.reshape(*count, 3, 3), shift.reshape(*count, 3)
