"""What a camera frames: all that moves, and as much of what stands round it as leaves it large enough to be seen."""

from __future__ import annotations

import numpy as np

from simprop.assembly.types import Assembly
from simprop.geometry.arrays import Array
from simprop.picture.render.camera import Margin, framed
from simprop.picture.render.motion import Poses
from simprop.picture.render.scene import Scene, hull, reach

TALL = 0.42
"""Share of the picture's height that what moves takes at least."""
WIDE = 0.62
"""Share of the width that will do in its place, for what is low and wide."""
STILL = 0.1
"""What moves less than this share of what moves most counts as standing."""


def movers(assembly: Assembly, scene: Scene, poses: Poses) -> list[int]:
    """Which bodies (and frames of lines) move over the instants; all that aren't fixed where none does.

    A base that stands on the floor by its contacts is no mover; a member that bends moves as a whole.
    """
    fixed = [body.fixed for body in assembly.bodies]
    loose = [b for b in range(len(scene.hulls)) if len(scene.hulls[b]) and not (b < len(fixed) and fixed[b])]
    gone: dict[int, float] = {}
    heads = {i: member.bodies[0] for member in assembly.members for i in member.bodies}
    rows = np.unique(np.linspace(0, len(poses.time) - 1, 60).astype(int))
    for b in loose:
        places = np.einsum("nij,hj->nhi", poses.turn[rows, b], scene.hulls[b]) + poses.shift[rows, b, None]
        far = float(np.linalg.norm(np.ptp(places, axis=0), axis=1).max())
        gone[heads.get(b, b)] = max(far, gone.get(heads.get(b, b), 0.0))
    most = max(gone.values(), default=0.0)
    return [b for b in loose if gone[heads.get(b, b)] > STILL * most] or loose


def swept(assembly: Assembly, scene: Scene, poses: Poses) -> Array:
    """What the moving bodies sweep over all instants, with the joints that they hang on, (k, 3) m.

    All that is to be seen, where nothing can move yet.
    """
    which = movers(assembly, scene, poses)
    if not which:
        return reach(scene, poses)
    hung = [j.point for j in assembly.joints if j.first in which or j.second in which]
    return np.concatenate([reach(scene, poses, which), np.array(hung).reshape(-1, 3)])


def cropped(
    moving: Array, more: Array, whole: Array, axes: Array, size: tuple[int, int], margin: Margin
) -> Array:
    """The points that a camera has to see, (k, 3) m: `moving` and `more`, and `whole` cut off at some way round them.

    The way is the widest that leaves `moving` at `TALL` of the picture's height or `WIDE` of its width.

    Args:
        moving, more, whole: (n, 3) m.
        axes: right, up, forward of the camera, (3, 3).
        size: of the picture, pixels.

    Example:
        >>> axes = np.array([[1.0, 0, 0], [0, 0, 1], [0, 1, 0]])
        >>> head = np.array([[x, y, z] for x in (0, 0.1) for y in (0, 0.1) for z in (1.0, 1.1)])
        >>> post = np.array([[0.0, 0, 0], [0.1, 0.1, 1.0]])
        >>> kept = cropped(head, head[:0], post, axes, (640, 480), Margin())
        >>> bool(0.7 < kept[:, 2].min() < 0.95)
        True
    """
    held = hull(np.concatenate([moving, more])) @ axes.T
    far = hull(whole) @ axes.T
    low, high = held.min(axis=0), held.max(axis=0)
    seen = hull(moving)

    def points(way: float) -> Array:
        return np.concatenate([held, np.clip(far, low - way, high + way)]) @ axes

    def large(way: float) -> bool:
        shown = framed(points(way), axes, size, margin).seen(seen)[:, :2]
        wide, tall = np.ptp(shown, axis=0) / size
        return bool(tall >= TALL or wide >= WIDE)

    least, most = 0.0, float(np.maximum(low - far.min(axis=0), far.max(axis=0) - high).max())
    if most <= 0 or large(most):
        return points(max(most, 0.0))
    for _ in range(20):
        middle = (least + most) / 2
        least, most = (middle, most) if large(middle) else (least, middle)
    return points(least)
