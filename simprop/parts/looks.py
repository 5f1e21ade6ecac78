"""What makes the character read: head, skull, hand, jaw, hat, owl and the rest, fitted into the part's own size.

Each shape is drawn in a box from -1 to 1 (x right, y away from the viewer, z up; it faces the viewer) and stretched
to the part. They are looks only: mass and size of the part are what the rig says.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import Literal

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import MASONRY, WEAVE, WOOD, Finish, linear
from simprop.geometry.implicit import ball, blend, brick, capsule, carve, ring
from simprop.geometry.solids import box, cylinder, lathe, sphere
from simprop.geometry.surface import Surface, frame_along, join, oriented
from simprop.parts.figures import barrel, cloak, coat, crow, pumpkin, straw_hat
from simprop.parts.shaping import AMBER, BONE, DARK, IRON, SACK, STRAW, UPRIGHT, mirrored, put, solid

Looks = Literal[
    "skull",
    "head",
    "hand",
    "jaw",
    "hat",
    "straw hat",
    "pumpkin",
    "owl",
    "crow",
    "cloak",
    "coat",
    "cloth",
    "lantern",
    "barrel",
    "wall",
    "post",
    "board",
    "plain",
]


def _skull() -> list[Surface]:
    def holes(p: Array) -> Array:
        q = mirrored(p)
        eyes = ball(q, (0.33, -0.80, 0.06), (0.24, 0.34, 0.22))
        nose = capsule(q, (0.06, -0.86, -0.34), (0.0, -0.86, -0.20), 0.09, 0.05)
        return np.minimum(eyes, nose)

    def teeth(p: Array) -> Array:
        return brick(p, (0.0, -0.66, -0.70), (0.27, 0.16, 0.15), 0.05)

    def field(p: Array) -> Array:
        q = mirrored(p)
        skull = ball(p, (0.0, 0.10, 0.27), (0.78, 0.86, 0.70))
        face = brick(p, (0.0, -0.42, -0.26), (0.46, 0.36, 0.34), 0.22)
        cheek = ball(q, (0.47, -0.52, -0.22), (0.17, 0.22, 0.13))
        brow = capsule(q, (0.10, -0.76, 0.27), (0.48, -0.62, 0.25), 0.09)
        chin = brick(p, (0.0, -0.48, -0.80), (0.31, 0.27, 0.17), 0.12)
        whole = blend(blend(blend(skull, face, 0.25), cheek, 0.12), brow, 0.10)
        whole = np.minimum(blend(whole, chin, 0.06), teeth(p))
        gap = np.maximum(np.abs(p[:, 2] + 0.70) - 0.018, p[:, 1] + 0.55)
        slots = np.maximum(np.abs(((p[:, 0] + 0.06) % 0.12) - 0.06) - 0.012, teeth(p) - 0.02)
        return carve(carve(carve(whole, holes(p), 0.07), gap, 0.02), np.maximum(slots, p[:, 1] + 0.76), 0.015)

    def shade(p: Array) -> Array:
        deep = np.clip((holes(p) + 0.02) / 0.09, 0.0, 1.0)
        return np.asarray(0.06 + 0.94 * deep**1.5)

    return [solid(field, BONE, 44, shade)]


def _head() -> list[Surface]:
    def seam(p: Array) -> Array:
        bend = p[:, 2] + 0.34 - 0.16 * (p[:, 0] / 0.5) ** 2
        return np.asarray(np.maximum(np.abs(bend) - 0.022, np.maximum(np.abs(p[:, 0]) - 0.48, p[:, 1] + 0.3)))

    def stitches(p: Array) -> Array:
        bend = p[:, 2] + 0.34 - 0.16 * (p[:, 0] / 0.5) ** 2
        near = np.abs(((p[:, 0] + 0.08) % 0.16) - 0.08) - 0.018
        return np.asarray(
            np.maximum(
                near, np.maximum(np.abs(bend) - 0.11, np.maximum(np.abs(p[:, 0]) - 0.44, p[:, 1] + 0.3))
            )
        )

    def field(p: Array) -> Array:
        angle = np.arctan2(p[:, 1], p[:, 0])
        folds = 0.035 * np.sin(9 * angle) * np.clip((-p[:, 2] - 0.55) * 3, 0.0, 1.0)
        sack = ball(p, (0.0, 0.0, 0.10), (0.80, 0.78, 0.86)) + folds
        neck = capsule(p, (0.0, 0.0, -0.98), (0.0, 0.0, -0.6), 0.40, 0.30) + folds
        whole = blend(sack, neck, 0.22)
        tie = ring(p, (0.0, 0.0, -0.76), 0.36, 0.055)
        nose = ball(p, (0.0, -0.78, -0.02), (0.12, 0.13, 0.14))
        return np.maximum(blend(np.minimum(whole, tie), nose, 0.05), -1.0 - p[:, 2])

    def shade(p: Array) -> Array:
        marks = np.minimum(seam(p), stitches(p))
        tie = ring(p, (0.0, 0.0, -0.76), 0.36, 0.075)
        return np.asarray(np.where(marks < 0.0, 0.10, np.where(tie < 0.0, 0.35, 1.0)))

    eye = lathe(np.array([[0.0, 0.0], [0.0, 0.13], [0.03, 0.15], [0.07, 0.13], [0.07, 0.0]]), DARK, 20)
    eyes = []
    for side in (-1.0, 1.0):
        facing = np.array([side * 0.42, -0.86, 0.14])
        eyes.append(eye.moved(frame_along(facing).T, np.array([side * 0.32, -0.68, 0.26])))
    return [solid(field, SACK, 40, shade), join(eyes)]


def _hand() -> list[Surface]:
    def field(p: Array) -> Array:
        palm = brick(p, (0.0, 0.0, -0.32), (0.50, 0.17, 0.40), 0.15)
        wrist = capsule(p, (0.0, 0.0, -1.0), (0.0, 0.0, -0.6), 0.24, 0.27)
        whole = blend(palm, wrist, 0.18)
        for x, top, lean in (
            (-0.38, 0.66, -0.16),
            (-0.13, 0.90, -0.06),
            (0.13, 0.88, 0.05),
            (0.37, 0.70, 0.15),
        ):
            low = capsule(p, (x, 0.0, 0.02), (x + 0.5 * lean, -0.08, 0.5 * top + 0.02), 0.125, 0.115)
            high = capsule(p, (x + 0.5 * lean, -0.08, 0.5 * top + 0.02), (x + lean, -0.24, top), 0.115, 0.085)
            whole = blend(whole, np.minimum(low, high), 0.06)
        thumb = np.minimum(
            capsule(p, (0.40, -0.04, -0.45), (0.72, -0.14, -0.12), 0.15, 0.125),
            capsule(p, (0.72, -0.14, -0.12), (0.80, -0.24, 0.18), 0.125, 0.09),
        )
        return np.maximum(blend(whole, thumb, 0.08), -1.0 - p[:, 2])

    return [solid(field, BONE, 40)]


def _jaw() -> list[Surface]:
    def arch(p: Array) -> Array:
        round_ = np.hypot(p[:, 0] / 0.72, np.minimum(p[:, 1] - 0.2, 0.0) / 1.0)
        return np.asarray((round_ - 1.0) * 0.72)

    def field(p: Array) -> Array:
        bow = np.hypot(arch(p) + 0.0, (p[:, 2] + 0.45) * 0.55) - 0.2
        bow = np.maximum(bow, p[:, 1] - 0.85)
        q = mirrored(p)
        branch = capsule(q, (0.72, 0.72, -0.4), (0.74, 0.85, 0.75), 0.2, 0.14)
        teeth = np.hypot(arch(p), np.maximum(np.abs(p[:, 2] - 0.02) - 0.16, 0.0)) - 0.10
        teeth = np.maximum(teeth, p[:, 1] - 0.45)
        turn = np.arctan2(p[:, 1] - 0.2, p[:, 0])
        slots = np.maximum(np.abs((turn % 0.26) - 0.13) - 0.025, -(p[:, 2] + 0.06))
        return np.minimum(blend(bow, branch, 0.2), np.maximum(teeth, -slots * 0.7))

    return [solid(field, BONE, 38)]


def _hat() -> list[Surface]:
    wave = np.linspace(0.0, 1.0, 7)
    brim = [(-1.0, 0.0), (-1.0, 0.5)]
    brim += [(-1.0 + 0.10 * w**2, 0.5 + 0.48 * w) for w in wave]
    brim += [(-0.86 + 0.0 * w, 0.98 - 0.44 * w) for w in wave[1:]]
    crown = [(-0.86, 0.55), (-0.55, 0.52), (0.0, 0.40), (0.55, 0.30), (0.86, 0.18), (0.97, 0.08), (1.0, 0.0)]
    band = [(-0.84, 0.50), (-0.84, 0.575), (-0.56, 0.545), (-0.56, 0.50)]
    straw = lathe(np.array(brim + crown), STRAW, 36, smooth=False)
    cloth = lathe(np.array(band), Finish(linear("#6f2f2a"), 0.9, pattern=WEAVE), 36)
    return [s.moved(UPRIGHT, np.zeros(3)) for s in (straw, cloth)]


def _owl() -> list[Surface]:
    def wings(p: Array) -> Array:
        q = mirrored(p)
        return ball(q, (0.56, 0.08, -0.30), (0.17, 0.42, 0.58))

    def field(p: Array) -> Array:
        q = mirrored(p)
        body = ball(p, (0.0, 0.05, -0.35), (0.60, 0.56, 0.66))
        head = ball(p, (0.0, -0.04, 0.38), (0.58, 0.52, 0.44))
        tufts = capsule(q, (0.38, -0.02, 0.62), (0.52, 0.0, 0.96), 0.15, 0.03)
        disc = ball(q, (0.24, -0.44, 0.38), (0.29, 0.14, 0.29))
        whole = blend(blend(body, head, 0.16), tufts, 0.10)
        return blend(
            np.minimum(blend(whole, disc, 0.03), wings(p)), ring(q, (0.24, -0.52, 0.38), 0.25, 0.03, 1), 0.04
        )

    def shade(p: Array) -> Array:
        q = mirrored(p)
        face = ball(q, (0.24, -0.5, 0.38), (0.30, 0.22, 0.30)) < 0.0
        breast = (ball(p, (0.0, -0.5, -0.36), (0.42, 0.3, 0.5)) < 0.0) & (wings(p) > 0.03)
        rows = 0.78 + 0.22 * (np.sin(p[:, 2] * 24 + 3 * np.abs(np.sin(p[:, 0] * 11))) > 0)
        return np.where(face, 2.0, np.where(breast, 1.9 * rows, np.where(wings(p) < 0.03, 0.72, 1.0)))

    feather = Finish(linear("#7d6247"), 0.9)
    parts = [solid(field, feather, 38, shade)]
    for side in (-1.0, 1.0):
        parts.append(put(sphere(0.32, replace(AMBER, glow=0.25), 20), side * 0.24, -0.50, 0.38))
        parts.append(put(sphere(0.19, DARK, 16), side * 0.235, -0.60, 0.385))
    beak = lathe(
        np.array([[0.0, 0.0], [0.0, 0.10], [0.12, 0.08], [0.28, 0.0]]), Finish(linear("#3a3128"), 0.4), 14
    )
    parts.append(beak.moved(frame_along(np.array([0.0, -0.45, -1.0])).T, np.array([0.0, -0.58, 0.27])))
    return parts


def _lantern() -> list[Surface]:
    iron: list[Surface] = [put(box(np.array([1.7, 1.7, 0.16]), IRON, 0.04), 0, 0, -0.92)]
    iron.append(put(box(np.array([1.7, 1.7, 0.10]), IRON, 0.04), 0, 0, 0.42))
    for x in (-0.74, 0.74):
        for y in (-0.74, 0.74):
            iron.append(put(box(np.array([0.12, 0.12, 1.3]), IRON, 0.02), x, y, -0.25))
    roof = lathe(np.array([[0.45, 0.0], [0.45, 1.15], [0.50, 1.15], [0.82, 0.25], [0.82, 0.0]]), IRON, 4)
    diagonal = np.array(
        [[np.cos(np.pi / 4), -np.sin(np.pi / 4), 0], [np.sin(np.pi / 4), np.cos(np.pi / 4), 0], [0, 0, 1]]
    )
    iron.append(roof.moved(diagonal @ UPRIGHT, np.zeros(3)))
    loop = solid(lambda p: ring(p, (0.0, 0.0, 0.86), 0.11, 0.035, 1), IRON, 44)
    flame = solid(lambda p: capsule(p, (0, 0, -0.55), (0, 0, -0.05), 0.30, 0.10), AMBER, 22)
    candle = cylinder(np.array([0, 0, -0.86]), np.array([0, 0, -0.6]), 0.6, Finish(linear("#f3ead2"), 0.5))
    return [join(iron), loop, candle, flame]


def _cloth() -> list[Surface]:
    rows, sides = 26, 96
    t = np.linspace(0.0, 1.0, rows)[:, None]
    angle = np.linspace(0.0, 2 * np.pi, sides + 1)[None, :]
    dome = np.clip(t / 0.42, 0.0, 1.0)
    skirt = np.clip((t - 0.34) / 0.66, 0.0, 1.0)
    radius = 0.58 * np.sin(0.5 * np.pi * dome) + 0.30 * skirt**1.3
    radius = radius + 0.11 * skirt * np.sin(7 * angle + 0.6) + 0.05 * skirt * np.sin(12 * angle)
    z = np.where(t < 0.42, 1.0 - 0.62 * (1 - np.cos(0.5 * np.pi * dome)), 0.38 - 1.34 * (t - 0.42) / 0.58)
    z = z + 0.05 * skirt**3 * np.sin(5 * angle + 1.0)
    points = np.stack([radius * np.cos(angle), radius * np.sin(angle), z + 0 * angle], axis=2)
    down, around = np.gradient(points, axis=0), np.gradient(points, axis=1)
    around[:, 0] = around[:, -1] = points[:, 1] - points[:, -2]
    normal = np.cross(down, around)
    normal[0] = (0.0, 0.0, 1.0)
    normal /= np.maximum(np.linalg.norm(normal, axis=2, keepdims=True), 1e-12)
    normal *= np.sign(np.sum(normal * (points - [0.0, 0.0, -0.3]), axis=2, keepdims=True))
    i, j = np.meshgrid(np.arange(rows - 1), np.arange(sides), indexing="ij")
    a = (i * (sides + 1) + j).ravel()
    faces = np.concatenate(
        [np.stack([a, a + 1, a + sides + 2], 1), np.stack([a, a + sides + 2, a + sides + 1], 1)]
    )
    sheet = Finish(linear("#dcd8cd"), 0.95, pattern=WEAVE)
    flat = points.reshape(-1, 3)
    groups = np.zeros(len(faces), dtype=np.int64)
    surface = oriented(Surface(flat, normal.reshape(-1, 3), flat, faces, groups, sheet, closed=False))
    eyes = []
    for side in (-1.0, 1.0):
        spot = lathe(np.array([[0.0, 0.0], [0.0, 0.11], [0.03, 0.10], [0.03, 0.0]]), DARK, 20)
        stretch = frame_along(np.array([side * 0.30, -0.95, 0.1])).T @ np.diag([1.0, 1.0, 1.0])
        eyes.append(spot.moved(stretch, np.array([side * 0.20, -0.545, 0.40])))
    return [surface, join(eyes)]


def _wall(finish: Finish, half: Array) -> list[Surface]:
    # courses run level round the sides; on top the stones lie along the wall
    solid = box(np.full(3, 2.0), replace(finish, pattern=MASONRY, roughness=0.9), 0.01)
    axis = np.argmax(np.abs(solid.normals), axis=1)
    coords = solid.vertices.copy()
    coords[axis == 0, 0], coords[axis == 1, 1] = 0.0, 0.0
    coords[axis == 2, 2] = 0.0
    return [replace(solid, coords=coords)]


def _post(finish: Finish, half: Array) -> list[Surface]:
    profile = np.array([[-1.0, 0.0], [-1.0, 0.97], [-0.97, 1.0], [0.90, 1.0], [0.97, 0.55], [1.0, 0.0]])
    return [lathe(profile, replace(finish, pattern=WOOD), 20).moved(UPRIGHT, np.zeros(3))]


def _board(finish: Finish, half: Array) -> list[Surface]:
    """Planks of about 100 mm one over the other, with gaps of 4 mm."""
    tall = 2 * float(half[2])
    count = int(np.clip(round(tall / 0.1), 1, 16))
    high, gap = 2.0 / count, min(0.008 / tall, 0.2 / count)
    planks = []
    for i in range(count):
        plank = box(np.array([2.0, 2.0, high - (gap if count > 1 else 0.0)]), finish, 0.02)
        planks.append(put(plank, 0.0, 0.0, -1.0 + (i + 0.5) * high))
    return [join(planks)]


_FIXED: dict[str, Callable[[], list[Surface]]] = {
    "skull": _skull,
    "head": _head,
    "hand": _hand,
    "jaw": _jaw,
    "hat": _hat,
    "owl": _owl,
    "lantern": _lantern,
    "cloth": _cloth,
    "pumpkin": pumpkin,
    "crow": crow,
    "cloak": cloak,
    "coat": coat,
    "barrel": barrel,
    "straw hat": straw_hat,
}
_COLOURS = {
    "wall": Finish(linear("#a08c7a"), 0.9),
    "post": Finish(linear("#8c6a45"), 0.8),
    "board": Finish(linear("#6e7f62"), 0.75, pattern=WOOD),
}
_MADE: dict[str, Callable[[Finish, Array], list[Surface]]] = {"wall": _wall, "post": _post, "board": _board}

USUAL: dict[str, tuple[float, float, float]] = {
    "skull": (0.16, 0.20, 0.20),
    "head": (0.20, 0.20, 0.22),
    "hand": (0.11, 0.06, 0.19),
    "jaw": (0.12, 0.12, 0.10),
    "hat": (0.32, 0.32, 0.16),
    "straw hat": (0.36, 0.36, 0.20),
    "pumpkin": (0.28, 0.28, 0.26),
    "crow": (0.36, 0.16, 0.28),
    "cloak": (0.50, 0.42, 1.10),
    "coat": (0.70, 0.24, 0.55),
    "barrel": (0.45, 0.45, 0.60),
    "owl": (0.20, 0.18, 0.32),
    "lantern": (0.14, 0.14, 0.22),
    "cloth": (0.42, 0.36, 0.62),
    "wall": (0.60, 0.10, 0.50),
    "post": (0.09, 0.09, 0.60),
    "board": (0.40, 0.02, 0.25),
}
"""Sizes, m, at which a look is drawn on a part whose size isn't stated (a mass at a point); chosen by eye."""


@lru_cache(maxsize=32)
def _drawn(looks: str) -> tuple[Surface, ...]:
    return tuple(_FIXED[looks]())


def dressed(looks: str, centre: Array, turn: Array, half: Array, finish: Finish | None) -> list[Surface]:
    """A look fitted into a part.

    Args:
        looks: one of `Looks` but ``plain``.
        centre: middle of the part, (3,) m.
        turn: columns are the unit axes of the part (right, away, up), (3, 3).
        half: half sizes along them, (3,) m.
        finish: of the part's material, or None where it isn't known.

    Example:
        >>> parts = dressed("wall", np.zeros(3), np.eye(3), np.array([0.5, 0.1, 0.4]), None)
        >>> [round(float(v), 6) for v in parts[0].vertices.max(axis=0)]
        [0.5, 0.1, 0.4]
    """
    if looks in ("hat", "straw hat"):  # however thin the part, a hat has a crown that stands on it
        tall = max(half[2], 0.42 * max(half[0], half[1]))
        centre = centre + turn[:, 2] * (tall - half[2])
        half = np.array([half[0], half[1], tall])
    if looks in _FIXED:
        shapes = list(_drawn(looks))
    else:
        base = _COLOURS[looks] if finish is None or looks == "wall" else finish
        shapes = _MADE[looks](base, half)
    out = []
    for shape in shapes:
        moved = shape.moved(turn @ np.diag(half), centre)
        coords = shape.coords * half
        if looks == "post":
            order = np.argsort(-half, kind="stable")
            coords = coords[:, order]
        out.append(replace(moved, coords=coords))
    return out
