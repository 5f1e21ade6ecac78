"""Smooth lines and dots drawn straight into an image, quicker than a second picture laid over it."""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.picture.render.kernel import kernel

Image = Any


@kernel
def _cover(mask: Any, x0: float, y0: float, x1: float, y1: float, a0: float, a1: float, half: float) -> None:
    height, width = mask.shape
    left, right = max(0, int(min(x0, x1) - half - 1)), min(width - 1, int(max(x0, x1) + half + 1))
    top, bottom = max(0, int(min(y0, y1) - half - 1)), min(height - 1, int(max(y0, y1) + half + 1))
    dx, dy = x1 - x0, y1 - y0
    square = max(dx * dx + dy * dy, 1e-9)
    for py in range(top, bottom + 1):
        for px in range(left, right + 1):
            x, y = px + 0.5 - x0, py + 0.5 - y0
            t = min(max((x * dx + y * dy) / square, 0.0), 1.0)
            gap = np.sqrt((x - t * dx) ** 2 + (y - t * dy) ** 2)
            cover = min(max(half + 0.5 - gap, 0.0), 1.0) * (a0 + t * (a1 - a0))
            mask[py, px] = max(mask[py, px], cover)


@kernel
def _lines(mask: Any, points: Any, strength: Any, half: float) -> None:
    for i in range(points.shape[0] - 1):
        _cover(
            mask,
            points[i, 0],
            points[i, 1],
            points[i + 1, 0],
            points[i + 1, 1],
            strength[i],
            strength[i + 1],
            half,
        )


@kernel
def _lay(image: Any, mask: Any, red: float, green: float, blue: float) -> None:
    for y in range(mask.shape[0]):
        for x in range(mask.shape[1]):
            a = mask[y, x]
            if a > 0.0:
                image[y, x, 0] = np.uint8(image[y, x, 0] * (1 - a) + red * a + 0.5)
                image[y, x, 1] = np.uint8(image[y, x, 1] * (1 - a) + green * a + 0.5)
                image[y, x, 2] = np.uint8(image[y, x, 2] * (1 - a) + blue * a + 0.5)


@kernel
def _wedge(mask: Any, tip: Any) -> None:
    area = (tip[1, 0] - tip[0, 0]) * (tip[2, 1] - tip[0, 1]) - (tip[2, 0] - tip[0, 0]) * (
        tip[1, 1] - tip[0, 1]
    )
    sign = 1.0 if area > 0 else -1.0
    for py in range(mask.shape[0]):
        for px in range(mask.shape[1]):
            inside = 1e9
            for k in range(3):
                ax, ay = tip[k, 0], tip[k, 1]
                dx, dy = tip[(k + 1) % 3, 0] - ax, tip[(k + 1) % 3, 1] - ay
                gap = (
                    sign
                    * (dx * (py + 0.5 - ay) - dy * (px + 0.5 - ax))
                    / max(np.sqrt(dx * dx + dy * dy), 1e-9)
                )
                inside = min(inside, gap)
            mask[py, px] = min(max(inside + 0.5, 0.0), 1.0)


def wedge(image: Image, corners: Any, colour: tuple[int, int, int]) -> None:
    """Draw a filled triangle with smooth edges into an image, in place.

    Args:
        corners: (3, 2) pixels.
        colour: sRGB 0 to 255.

    Example:
        >>> page = np.zeros((10, 10, 3), np.uint8)
        >>> wedge(page, np.array([[1.0, 1], [9, 1], [1, 9]]), (255, 0, 0))
        >>> int(page[3, 3, 0]), int(page[8, 8, 0])
        (255, 0)
    """
    tip = np.array(corners, dtype=np.float64)
    if not np.isfinite(tip).all():
        return
    height, width = image.shape[:2]
    low, high = tip.min(axis=0) - 1, tip.max(axis=0) + 2
    left, top = max(0, int(low[0])), max(0, int(low[1]))
    right, bottom = min(width, int(high[0]) + 1), min(height, int(high[1]) + 1)
    if left >= right or top >= bottom:
        return
    mask = np.zeros((bottom - top, right - left), np.float32)
    _wedge(mask, tip - np.array([left, top]))
    red, green, blue = colour
    _lay(image[top:bottom, left:right], mask, float(red), float(green), float(blue))


def stroke(
    image: Image,
    points: Any,
    colour: tuple[int, int, int],
    width: float,
    strength: Any = 1.0,
) -> None:
    """Draw a smooth line through points into an image, in place; where it crosses itself it doesn't get darker.

    Args:
        image: (height, width, 3) uint8.
        points: (n, 2) pixels, n >= 1 (one point gives a dot).
        colour: sRGB 0 to 255.
        width: pixels.
        strength: opacity 0 to 1, one number or one a point.

    Example:
        >>> page = np.zeros((8, 8, 3), np.uint8)
        >>> stroke(page, [(1, 4), (7, 4)], (255, 255, 255), 2.0)
        >>> int(page[4, 4, 0]), int(page[0, 0, 0])
        (255, 0)
    """
    line = np.array(points, dtype=np.float64).reshape(-1, 2)
    line = line[np.isfinite(line).all(axis=1)]
    if not len(line):
        return
    if len(line) == 1:
        line = np.repeat(line, 2, axis=0)
    alpha = np.ascontiguousarray(np.broadcast_to(np.asarray(strength, np.float64), (len(line),)))
    height, width_ = image.shape[:2]
    pad = width / 2 + 2
    low, high = line.min(axis=0) - pad, line.max(axis=0) + pad
    left, top = max(0, int(low[0])), max(0, int(low[1]))
    right, bottom = min(width_, int(high[0]) + 1), min(height, int(high[1]) + 1)
    if left >= right or top >= bottom:
        return
    mask = np.zeros((bottom - top, right - left), np.float32)
    _lines(mask, line - np.array([left, top]), alpha, width / 2)
    red, green, blue = colour
    _lay(image[top:bottom, left:right], mask, float(red), float(green), float(blue))
