"""The inner loops that decide which triangle is seen at each sample: moving, projecting, filling.

All arrays are float32 and int32. Depth is the reciprocal of the distance along the view (perspective) or the distance
towards the light (parallel): larger is nearer in both, and both change linearly over a triangle on the screen.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.picture.render.kernel import kernel

F32 = Any
I32 = Any


@kernel
def place(
    vertices: F32, normals: F32, owner: I32, turn: F32, shift: F32, start: int, out: F32, out_normals: F32,
    other: I32, share: F32, offset: F32,
) -> None:  # fmt: skip
    """Move vertices `start` onward from body frames to the world: turn (B, 3, 3), shift (B, 3).

    Those with a share of another body lie so far between where both put them.
    """
    for i in range(start, vertices.shape[0]):
        b = owner[i]
        for k in range(3):
            out[i, k] = (
                turn[b, k, 0] * vertices[i, 0]
                + turn[b, k, 1] * vertices[i, 1]
                + turn[b, k, 2] * vertices[i, 2]
                + shift[b, k]
            )
            out_normals[i, k] = (
                turn[b, k, 0] * normals[i, 0] + turn[b, k, 1] * normals[i, 1] + turn[b, k, 2] * normals[i, 2]
            )
        w = share[i]
        if w > 0.0:
            b = other[i]
            x, y, z = (
                vertices[i, 0] + offset[i, 0],
                vertices[i, 1] + offset[i, 1],
                vertices[i, 2] + offset[i, 2],
            )
            for k in range(3):
                there = turn[b, k, 0] * x + turn[b, k, 1] * y + turn[b, k, 2] * z + shift[b, k]
                out[i, k] += w * (there - out[i, k])
                facing = (
                    turn[b, k, 0] * normals[i, 0]
                    + turn[b, k, 1] * normals[i, 1]
                    + turn[b, k, 2] * normals[i, 2]
                )
                out_normals[i, k] += w * (facing - out_normals[i, k])


@kernel
def project(
    points: F32, eye: F32, axes: F32, focal: float, cx: float, cy: float, near: float, start: int, out: F32
) -> None:
    """Perspective: out rows are x, y in samples and 1 / depth (0 where nearer than `near`).

    axes rows: right, up, forward of the camera.
    """
    for i in range(start, points.shape[0]):
        dx = points[i, 0] - eye[0]
        dy = points[i, 1] - eye[1]
        dz = points[i, 2] - eye[2]
        depth = axes[2, 0] * dx + axes[2, 1] * dy + axes[2, 2] * dz
        if depth < near:
            out[i, 2] = np.float32(0.0)
            continue
        inverse = np.float32(1.0) / np.float32(depth)
        out[i, 0] = cx + focal * (axes[0, 0] * dx + axes[0, 1] * dy + axes[0, 2] * dz) * inverse
        out[i, 1] = cy - focal * (axes[1, 0] * dx + axes[1, 1] * dy + axes[1, 2] * dz) * inverse
        out[i, 2] = inverse


@kernel
def flatten(points: F32, axes: F32, low: F32, scale: float, start: int, out: F32) -> None:
    """Parallel projection towards the light: x, y in texels and distance towards the light, m.

    axes rows: across, along, towards the light.
    """
    for i in range(start, points.shape[0]):
        x, y, z = points[i, 0], points[i, 1], points[i, 2]
        out[i, 0] = (axes[0, 0] * x + axes[0, 1] * y + axes[0, 2] * z - low[0]) * scale
        out[i, 1] = (axes[1, 0] * x + axes[1, 1] * y + axes[1, 2] * z - low[1]) * scale
        out[i, 2] = axes[2, 0] * x + axes[2, 1] * y + axes[2, 2] * z


@kernel
def fill(  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    faces: I32,
    start: int,
    one_sided: I32,
    bias: F32,
    screen: F32,
    perspective: bool,
    depth: F32,
    ids: I32,
) -> None:
    """Draw faces `start` onward into a depth buffer and, in perspective, the number of the nearest face into `ids`.

    Spans are found row by row from edges that both neighbours compute alike, so that no sample between two
    triangles is missed. `bias` is a factor on depth that keeps coincident faces of different parts from flickering.
    """
    height, width = depth.shape
    for f in range(start, faces.shape[0]):
        a, b, c = faces[f, 0], faces[f, 1], faces[f, 2]
        za, zb, zc = screen[a, 2], screen[b, 2], screen[c, 2]
        if perspective and (za <= 0.0 or zb <= 0.0 or zc <= 0.0):
            continue
        xa, ya = screen[a, 0], screen[a, 1]
        xb, yb = screen[b, 0], screen[b, 1]
        xc, yc = screen[c, 0], screen[c, 1]
        area = (xb - xa) * (yc - ya) - (xc - xa) * (yb - ya)
        if perspective and one_sided[f] and area >= 0.0:
            continue
        if abs(area) < 1e-7:
            continue
        top = min(ya, yb, yc)
        bottom = max(ya, yb, yc)
        first = max(0, int(np.ceil(top - 0.5)))
        last = min(height - 1, int(np.floor(bottom - 0.5)))
        if first > last:
            continue
        if max(xa, xb, xc) < 0.5 or min(xa, xb, xc) > width - 0.5:
            continue
        over = np.float32(1.0) / area
        gx = ((zb - za) * (yc - ya) - (zc - za) * (yb - ya)) * over
        gy = ((zc - za) * (xb - xa) - (zb - za) * (xc - xa)) * over
        least, most = min(za, zb, zc), max(za, zb, zc)
        factor = bias[f]
        for row in range(first, last + 1):
            y = np.float32(row) + np.float32(0.5)
            low, high = np.float32(1e9), np.float32(-1e9)
            for edge in range(3):
                if edge == 0:
                    x0, y0, x1, y1 = xa, ya, xb, yb
                elif edge == 1:
                    x0, y0, x1, y1 = xb, yb, xc, yc
                else:
                    x0, y0, x1, y1 = xc, yc, xa, ya
                if y0 > y1 or (y0 == y1 and x0 > x1):
                    x0, y0, x1, y1 = x1, y1, x0, y0
                if y < y0 or y > y1 or y0 == y1:
                    continue
                x = x0 + (y - y0) * ((x1 - x0) / (y1 - y0))
                low = min(low, x)
                high = max(high, x)
            left = max(0, int(np.ceil(low - 0.5)))
            right = min(width - 1, int(np.floor(high - 0.5)))
            base = za + gy * (y - ya)
            for col in range(left, right + 1):
                z = base + gx * (np.float32(col) + np.float32(0.5) - xa)
                z = min(max(z, least), most) * factor
                if z > depth[row, col]:
                    depth[row, col] = z
                    if perspective:
                        ids[row, col] = f


@kernel
def bound_tiles(depth: F32, low: F32, high: F32) -> None:
    """Least and greatest depth in each 8 x 8 tile of a square shadow map."""
    for i in range(low.shape[0]):
        for j in range(low.shape[1]):
            least, most = np.float32(1e9), np.float32(-1e9)
            for y in range(8 * i, 8 * i + 8):
                for x in range(8 * j, 8 * j + 8):
                    least = min(least, depth[y, x])
                    most = max(most, depth[y, x])
            low[i, j] = least
            high[i, j] = most
