"""One picture of a scene: the buffers and the order of the inner loops."""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.geometry.arrays import Array
from simprop.picture.render.camera import Camera
from simprop.picture.render.raster import bound_tiles, fill, flatten, place, project
from simprop.picture.render.scene import SHADOW_TEXELS, Lighting, Scene
from simprop.picture.render.shade import EYE, TEXEL, curve, shade

Image = Any
"""(height, width, 3) uint8, sRGB."""


class Painter:
    """Draws frames of one scene; keeps its buffers, so use one in each thread.

    Args:
        scene: what is drawn.
        light: sun, sky and ground.
        size: width and height, pixels.
    """

    def __init__(self, scene: Scene, light: Lighting, size: tuple[int, int]):
        self.scene, self.light, self.size = scene, light, size
        width, height = size
        count = len(scene.vertices)
        self._world = np.zeros((count, 3), np.float32)
        self._normals = np.zeros((count, 3), np.float32)
        self._screen = np.zeros((count, 3), np.float32)
        self._sunny = np.zeros((count, 3), np.float32)
        self._depth = np.zeros((2 * height, 2 * width), np.float32)
        self._ids = np.zeros((2 * height, 2 * width), np.int32)
        self._shadow = np.zeros((SHADOW_TEXELS, SHADOW_TEXELS), np.float32)
        self._low = np.zeros((SHADOW_TEXELS // 8, SHADOW_TEXELS // 8), np.float32)
        self._high = np.zeros_like(self._low)
        self._none = np.zeros((1, 1), np.int32)
        self._curve = curve()
        self._still: tuple[Any, ...] | None = None
        self._still_camera: Camera | None = None

    def paint(self, turn: Array, shift: Array, camera: Camera) -> Image:
        """One frame.

        Args:
            turn: rotation of each body, (B, 3, 3).
            shift: centre of mass of each body, (B, 3) m.

        Returns:
            (height, width, 3) uint8, the same bytes for the same arguments.
        """
        s, light = self.scene, self.light
        turn, shift = np.ascontiguousarray(turn, np.float32), np.ascontiguousarray(shift, np.float32)
        axes = np.ascontiguousarray(camera.axes, np.float32)
        eye = camera.eye.astype(np.float32)
        width, height = self.size
        focal: Any = np.float32(2 * camera.focal)
        cx: Any = np.float32(width)
        cy: Any = np.float32(height)
        near: Any = np.float32(0.02)
        texels: Any = np.float32(light.table[TEXEL, 0])

        def draw(vertex: int, face: int, last: int) -> None:
            place(
                s.vertices, s.normals, s.owner, turn, shift, vertex, self._world, self._normals,
                s.other, s.share, s.offset,
            )  # fmt: skip
            project(self._world, eye, axes, focal, cx, cy, near, vertex, self._screen)
            flatten(self._world, light.sun_axes, light.sun_low, texels, vertex, self._sunny)
            faces = s.faces[:last]
            fill(faces, face, s.one_sided, s.bias, self._screen, True, self._depth, self._ids)
            fill(faces, face, s.one_sided, self._flat_bias, self._sunny, False, self._shadow, self._none)

        if self._still is None or self._still_camera is not camera:
            self._flat_bias = np.ones(len(s.faces), np.float32)
            self._depth.fill(0.0)
            self._ids.fill(-1)
            self._shadow.fill(-1e9)
            draw(0, 0, s.moving_face)
            self._still = (self._depth.copy(), self._ids.copy(), self._shadow.copy())
            self._still_camera = camera
        else:
            np.copyto(self._depth, self._still[0])
            np.copyto(self._ids, self._still[1])
            np.copyto(self._shadow, self._still[2])
        draw(s.moving_vertex, s.moving_face, len(s.faces))
        bound_tiles(self._shadow, self._low, self._high)
        table = light.table.copy()
        table[EYE] = eye
        out = np.empty((height, width, 3), np.uint8)
        shade(
            self._ids, s.faces, self._screen, self._world, self._normals, s.colours, s.coords, s.groups, s.finish,
            table, light.sun_axes, light.sun_low, self._shadow, self._low, self._high,
            axes, focal, cx, cy, self._curve, out,
        )  # fmt: skip
        return out

    def moving_cover(self) -> Image:
        """Share of each pixel of the last frame that shows a moving body, (height, width) float32, 0 to 1."""
        hit = (self._ids >= self.scene.moving_face).astype(np.float32)
        return 0.25 * (hit[::2, ::2] + hit[1::2, ::2] + hit[::2, 1::2] + hit[1::2, 1::2])
