"""Figures of an autumn night: pumpkin, crow, cloak, barrel and straw hat, drawn as `looks.py` says."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import numpy as np

from simprop.geometry.arrays import Array
from simprop.geometry.finish import WEAVE, WOOD, Finish, linear
from simprop.geometry.implicit import ball, blend, brick, capsule, carve, ring
from simprop.geometry.solids import lathe, sphere
from simprop.geometry.surface import Surface, frame_along, join, triangles
from simprop.parts.shaping import AMBER, DARK, IRON, STRAW, UPRIGHT, mirrored, put, solid

RIBS, STAVES = 10, 18


def _triangle(p: Array, at: tuple[float, float], half: float, tall: float) -> Array:
    """Distance, in the view from the front, from a triangle on its base."""
    x, z = np.abs(p[:, 0] - at[0]), p[:, 2] - at[1]
    side = (x * tall + (z - tall) * half) / np.hypot(tall, half)
    return np.asarray(np.maximum(side, -z))


def _face(p: Array) -> Array:
    """What is cut out of a pumpkin: two eyes, a nose, a grin with teeth."""
    q = mirrored(p)
    lean = np.stack([q[:, 0], q[:, 1], q[:, 2] - 0.22 * (q[:, 0] - 0.34)], axis=1)
    holes = np.minimum(_triangle(lean, (0.34, 0.08), 0.23, 0.34), _triangle(p, (0.0, -0.16), 0.10, 0.18))
    bend = p[:, 2] + 0.46 - 0.55 * p[:, 0] ** 2
    grin = np.maximum(np.abs(bend) - 0.18 * (1.0 - 0.75 * (q[:, 0] / 0.62) ** 2), q[:, 0] - 0.60)
    upper = np.maximum(np.maximum(np.abs(q[:, 0] - 0.24) - 0.075, 0.0 - bend), bend - 0.3)
    lower = np.maximum(np.maximum(np.abs(p[:, 0]) - 0.085, bend), -0.3 - bend)
    return np.asarray(
        np.maximum(np.minimum(holes, np.maximum(grin, -np.minimum(upper, lower))), p[:, 1] + 0.15)
    )


def _gourd(p: Array, size: float) -> Array:
    angle = np.arctan2(p[:, 0], -p[:, 1])
    around = np.hypot(p[:, 0], p[:, 1])
    rib = np.abs(np.cos(0.5 * RIBS * angle)) ** 0.7
    dent = 0.16 * np.exp(-((around / 0.34) ** 2)) * np.sign(p[:, 2])
    groove = 0.10 * (1.0 - rib) * np.clip(around / 0.35, 0.0, 1.0)
    q = np.stack([p[:, 0], p[:, 1], p[:, 2] + 0.12 + dent], axis=1)
    return (ball(q, (0.0, 0.0, 0.0), (0.97 * size, 0.97 * size, 0.86 * size)) + groove) * 0.85


def pumpkin() -> list[Surface]:
    """A ribbed pumpkin, a grin cut through its wall, a light behind it."""

    def field(p: Array) -> Array:
        return carve(_gourd(p, 1.0), np.maximum(_face(p), -_gourd(p, 0.78)), 0.02)

    def shade(p: Array) -> Array:
        angle = np.arctan2(p[:, 0], -p[:, 1])
        groove = 0.62 + 0.38 * np.abs(np.cos(0.5 * RIBS * angle)) ** 0.5
        rim = (_face(p) < 0.035) & (_gourd(p, 1.0) < -0.02)
        return np.asarray(np.where(rim, 1.7, groove))

    skin = Finish(linear("#d9701c"), 0.55)
    stalk = solid(
        lambda p: np.minimum(
            capsule(p, (0.0, 0.0, 0.62), (0.05, 0.0, 0.82), 0.15, 0.085),
            capsule(p, (0.05, 0.0, 0.82), (0.16, -0.04, 0.98), 0.085, 0.075),
        ),
        Finish(linear("#5d6a34"), 0.85),
        22,
    )
    light = solid(
        lambda p: np.maximum(_gourd(p, 0.80), p[:, 1] + 0.3), Finish(linear("#ffa531"), 0.4, glow=1.3), 20
    )
    return [solid(field, skin, 40, shade), stalk, light]


def crow() -> list[Surface]:
    """A crow that stands with its side to the viewer, its beak to the left."""

    def wings(p: Array) -> Array:
        q = np.stack([p[:, 0], np.abs(p[:, 1]), p[:, 2] + 0.38 * p[:, 0]], axis=1)
        return ball(q, (0.20, 0.50, 0.12), (0.62, 0.16, 0.27))

    def field(p: Array) -> Array:
        lean = np.stack([p[:, 0], p[:, 1], p[:, 2] + 0.42 * p[:, 0]], axis=1)
        body = ball(lean, (0.02, 0.0, 0.02), (0.60, 0.55, 0.36))
        breast = ball(p, (-0.30, 0.0, 0.10), (0.34, 0.50, 0.38))
        neck = capsule(p, (-0.34, 0.0, 0.22), (-0.46, 0.0, 0.56), 0.30, 0.22)
        head = ball(p, (-0.48, 0.0, 0.66), (0.27, 0.34, 0.24))
        tail = brick(lean, (0.74, 0.0, 0.02), (0.36, 0.26, 0.055), 0.05)
        whole = blend(blend(blend(body, breast, 0.2), neck, 0.15), head, 0.12)
        whole = blend(np.minimum(blend(whole, tail, 0.12), wings(p)), wings(p), 0.03)
        q = np.stack([p[:, 0], np.abs(p[:, 1]), p[:, 2]], axis=1)
        thigh = capsule(q, (-0.02, 0.18, -0.28), (-0.04, 0.18, -0.50), 0.15, 0.08)
        return blend(whole, thigh, 0.08)

    def shade(p: Array) -> Array:
        rows = 0.8 + 0.5 * (np.sin(p[:, 0] * 20 + p[:, 2] * 30) > 0.3)
        return np.where(wings(p) < 0.035, 1.5 * rows, 1.0)

    def legs(p: Array) -> Array:
        q = np.stack([p[:, 0], np.abs(p[:, 1]), p[:, 2]], axis=1)
        shank = capsule(q, (-0.04, 0.18, -0.46), (-0.06, 0.18, -0.93), 0.045)
        toes = [
            capsule(q, (-0.06, 0.18, -0.94), (x, y, -0.95), 0.045, 0.03)
            for x, y in ((-0.34, 0.08), (-0.36, 0.30), (0.16, 0.18))
        ]
        return np.asarray(np.minimum.reduce([shank, *toes]))

    feather = Finish(linear("#23252c"), 0.45)
    horn = Finish(linear("#3c3a38"), 0.35)
    bill = np.array([[0.0, 0.0], [0.0, 0.115], [0.14, 0.10], [0.28, 0.06], [0.38, 0.0]])
    beak = lathe(bill, horn, 14).moved(
        frame_along(np.array([-1.0, 0.0, -0.16])).T, np.array([-0.62, 0.0, 0.66])
    )
    eyes = []
    for side in (-1.0, 1.0):
        eyes.append(
            put(sphere(0.15, Finish(linear("#f0d9a0"), 0.2, glow=0.5), 14), -0.56, side * 0.285, 0.71)
        )
        eyes.append(put(sphere(0.09, DARK, 12), -0.575, side * 0.34, 0.71))
    return [solid(field, feather, 46, shade), solid(legs, horn, 46), beak, *eyes]


def cloak() -> list[Surface]:
    """A hooded cloak over nobody: folds to the hem, a dark hood, two lights for eyes."""

    def opening(p: Array) -> Array:
        return ball(p, (0.0, -0.46, 0.56), (0.24, 0.40, 0.29))

    def field(p: Array) -> Array:
        down = np.clip((0.45 - p[:, 2]) / 1.45, 0.0, 1.0)
        angle = np.arctan2(p[:, 1], p[:, 0])
        folds = 0.075 * down**0.8 * (np.sin(9 * angle + 2.0 * down) + 0.5 * np.sin(16 * angle - 1.0))
        wide = 0.42 + 0.44 * down**0.8
        around = np.hypot(p[:, 0], p[:, 1] / 0.9)
        skirt = np.maximum((around - wide + folds) * 0.8, p[:, 2] - 0.30)
        shoulder = ball(p, (0.0, 0.02, 0.20), (0.60, 0.46, 0.30))
        hood = blend(
            ball(p, (0.0, -0.02, 0.56), (0.40, 0.46, 0.42)),
            capsule(p, (0.0, 0.1, 0.8), (0.0, 0.26, 0.90), 0.16, 0.06),
            0.2,
        )
        whole = blend(blend(skirt, shoulder, 0.22), hood, 0.12)
        hem = p[:, 2] + 0.97 - 0.025 * np.sin(5 * angle)
        return carve(carve(whole, opening(p), 0.05), hem, 0.05)

    def shade(p: Array) -> Array:
        angle = np.arctan2(p[:, 1], p[:, 0])
        down = np.clip((0.45 - p[:, 2]) / 1.45, 0.0, 1.0)
        deep = 1.0 - 0.35 * down * np.clip(np.sin(9 * angle + 2.0 * down), 0.0, 1.0)
        return np.where(opening(p) < 0.015, 0.05, deep)

    felt = Finish(linear("#4d3f63"), 0.95, pattern=WEAVE)
    eyes = [put(sphere(0.085, AMBER, 14), side * 0.09, -0.20, 0.60) for side in (-1.0, 1.0)]
    clasp = put(sphere(0.10, Finish(linear("#c9a44c"), 0.35, 1.0), 14), 0.0, -0.50, 0.24)
    return [solid(field, felt, 44, shade), join(eyes), clasp]


def coat() -> list[Surface]:
    """A scarecrow's coat with its sleeves held out: lapels, buttons, a rope for a belt, straw at hem and cuffs."""

    def seams(p: Array) -> Array:
        q = mirrored(p)
        lapel = np.abs(q[:, 0] - 0.16 * (p[:, 2] + 0.05)) - 0.012
        return np.where(p[:, 2] > 0.1, lapel, np.abs(p[:, 0] - 0.02) - 0.012)

    def field(p: Array) -> Array:
        q = mirrored(p)
        angle = np.arctan2(p[:, 1], p[:, 0] * 2.2)
        down = np.clip((0.5 - p[:, 2]) / 1.5, 0.0, 1.0)
        folds = 0.035 * down * np.sin(9 * angle + 1.0)
        around = np.hypot(p[:, 0] / 0.36, p[:, 1] / 0.78)
        waist = 1.0 - 0.14 * np.exp(-(((p[:, 2] + 0.12) / 0.16) ** 2)) + 0.22 * down
        trunk = np.maximum((around - waist) * 0.34 + folds, np.abs(p[:, 2] + 0.08) - 0.86)
        sleeve = capsule(q, (0.24, 0.0, 0.66), (0.98, 0.0, 0.58), 0.19, 0.26)
        sleeve = np.maximum(sleeve + 0.02 * np.sin(26 * q[:, 0] + 4 * p[:, 2]), q[:, 0] - 0.92)
        collar = ring(p, (0.0, 0.0, 0.84), 0.20, 0.10)
        whole = blend(blend(trunk, sleeve, 0.12), collar, 0.05)
        hem = p[:, 2] + 0.86 + 0.03 * np.sin(11 * p[:, 0])
        return carve(whole, hem, 0.03)

    def shade(p: Array) -> Array:
        patch = np.maximum(np.abs(p[:, 0] + 0.2) - 0.11, np.abs(p[:, 2] + 0.52) - 0.13)
        tone = np.where(patch < 0, 1.7, np.where(np.abs(patch) < 0.02, 0.4, 1.0))
        return np.asarray(np.where((seams(p) < 0.0) & (p[:, 1] < -0.2), 0.35, tone))

    cloth = Finish(linear("#56603d"), 0.95, pattern=WEAVE)
    belt = solid(
        lambda p: np.maximum(
            np.abs(np.hypot(p[:, 0] / 0.36, p[:, 1] / 0.78) - 0.99) * 0.34 - 0.03,
            np.abs(p[:, 2] + 0.14) - 0.05,
        ),
        Finish(linear("#c9b27a"), 0.9, pattern=WEAVE),
        38,
    )
    buttons = join([put(sphere(0.085, DARK, 10), 0.09, -0.80 - 0.03 * k, -0.36 - 0.22 * k) for k in range(2)])
    tufts = [
        _straw(k, 0.24, (0.90 * side, 0.0, 0.585), np.array([side, 0.0, 0.0]))
        for k in range(16)
        for side in (-1, 1)
    ]
    for k in range(26):
        angle = 2 * np.pi * k / 26
        at = (0.40 * np.cos(angle), 0.84 * np.sin(angle), -0.84)
        tufts.append(_straw(k, 0.05, at, np.array([0.0, 0.0, -1.0])))
    return [solid(field, cloth, 42, shade), belt, buttons, join(tufts)]


def _straw(k: int, spread: float, at: tuple[float, float, float], way: Array) -> Surface:
    """The k-th straw of a tuft: it points about `way`, and starts within `spread` of `at`."""
    jitter = np.array([np.sin(2.3 * k), np.sin(3.7 * k + 1), np.sin(5.1 * k + 2)])
    straw = lathe(np.array([[0.0, 0.0], [0.0, 0.022], [0.17 + 0.04 * jitter[0], 0.0]]), STRAW, 5)
    across = (jitter - way * float(jitter @ way)) * spread
    return straw.moved(frame_along(way + 0.35 * jitter).T, np.array(at) + 0.7 * across)


def barrel() -> list[Surface]:
    """A cask of staves under four hoops, its heads set in."""
    along = np.linspace(-1.0, 1.0, 9)
    bulge = 1.0 - 0.20 * along**2
    wood = Finish(linear("#96683a"), 0.7, pattern=WOOD)
    core = [(-0.93, 0.0), *zip(np.clip(along, -0.93, 0.93), 0.975 * bulge, strict=True), (0.93, 0.0)]
    inner = lathe(np.array(core), replace(wood, colour=linear("#5a3c20")), 36)
    staves = []
    for k in range(STAVES):
        first, last = 2 * np.pi * (k + 0.03) / STAVES, 2 * np.pi * (k + 0.97) / STAVES
        edge = ((0.9, first), (1.0, first), (1.0, last), (0.9, last))
        points = np.array(
            [
                [r * b * np.cos(a), r * b * np.sin(a), z]
                for z, b in zip(along, bulge, strict=True)
                for r, a in edge
            ]
        )
        row = np.arange(len(along) - 1)[:, None] * 4
        a = row + np.arange(4)
        b = row + (np.arange(4) + 1) % 4
        faces = np.concatenate(
            [np.stack([a, b, b + 4], 2).reshape(-1, 3), np.stack([a, b + 4, a + 4], 2).reshape(-1, 3)]
        )
        faces = np.concatenate(
            [faces, [[0, 2, 1], [0, 3, 2]], np.array([[0, 1, 2], [0, 2, 3]]) + 4 * (len(along) - 1)]
        )
        stave = triangles(points, faces, wood)
        tone = 0.82 + 0.3 * ((k * 7) % STAVES) / STAVES
        staves.append(
            replace(stave, coords=stave.coords[:, [2, 0, 1]], shades=np.full_like(stave.vertices, tone))
        )
    hoops = []
    for z in (-0.84, -0.40, 0.40, 0.84):
        sides = [(z + s * 0.06, 1.02 - 0.20 * (z + s * 0.06) ** 2) for s in (-1, 1)]
        hoops.append(lathe(np.array([(z - 0.06, 0.5), *sides, (z + 0.06, 0.5)]), IRON, 36))
    return [*(s.moved(UPRIGHT, np.zeros(3)) for s in (inner, *hoops)), join(staves)]


def straw_hat() -> list[Surface]:
    """A worn straw hat: a brim that hangs and frays, a dented crown, a band."""
    brim = [
        (-1.0, 0.0),
        (-1.0, 0.44),
        (-0.98, 0.7),
        (-0.98, 0.97),
        (-0.93, 0.97),
        (-0.92, 0.7),
        (-0.88, 0.47),
    ]
    crown = [(-0.3, 0.43), (0.3, 0.38), (0.75, 0.33), (0.95, 0.24), (0.90, 0.12), (0.84, 0.0)]

    def worn(surface: Surface) -> Surface:
        turned = surface.moved(UPRIGHT, np.zeros(3))
        p = turned.vertices.copy()
        angle, around = np.arctan2(p[:, 1], p[:, 0]), np.hypot(p[:, 0], p[:, 1])
        out = np.clip((around - 0.45) / 0.5, 0.0, 1.0)
        up = np.clip((p[:, 2] + 0.8) / 1.7, 0.0, 1.0)
        p[:, 2] += 0.20 * out**1.5 * (0.75 + np.sin(2 * angle + 0.6) + 0.35 * np.sin(5 * angle))
        p[:, 0] += 0.10 * up**2
        p[:, 2] -= 0.12 * up**3 * (1 + np.sin(angle))
        weave = 0.86 + 0.14 * np.sin(34 * angle) * np.sin(40 * around + 25 * p[:, 2])
        return replace(turned, vertices=p, shades=np.repeat(weave[:, None], 3, axis=1))

    points = np.array(brim + crown)
    fine = [points[0]]
    for a, b in pairwise(points):
        fine += [a + (b - a) * t for t in (1 / 3, 2 / 3, 1.0)]
    band = [(-0.86, 0.40), (-0.86, 0.485), (-0.56, 0.467), (-0.56, 0.38)]
    tips = []
    for k in range(46):
        angle = 2 * np.pi * k / 46 + 0.05 * np.sin(11.0 * k)
        way = np.array([np.cos(angle), np.sin(angle), 0.25 * np.sin(5.0 * k)])
        straw = lathe(np.array([[0.0, 0.0], [0.0, 0.02], [0.13 + 0.05 * np.sin(3.0 * k), 0.0]]), STRAW, 5)
        lift = 0.20 * (0.75 + np.sin(2 * angle + 0.6) + 0.35 * np.sin(5 * angle))
        tips.append(straw.moved(frame_along(way).T, np.array([0.93 * way[0], 0.93 * way[1], -0.95 + lift])))
    cloth = lathe(np.array(band), Finish(linear("#6f2f2a"), 0.9, pattern=WEAVE), 64)
    return [worn(lathe(np.array(fine), STRAW, 64)), worn(cloth), join(tips)]
