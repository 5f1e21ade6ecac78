"""The inner loops that colour a pixel: light, soft shadow, grain, ground and sky.

`light` is a float32 table, rows by the names below, three columns each. Everything is linear light; `curve`
turns it into sRGB bytes with a soft shoulder.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.picture.render.kernel import kernel

F32 = Any
I32 = Any

# Rows of the light table.
SUN, SUN_COLOUR, SKY_TOP, SKY_LOW, BOUNCE, GROUND, FILL, FILL_COLOUR, MIDDLE, SPREAD, EYE, FLOOR, TEXEL = (
    range(13)
)
# SPREAD: distances from MIDDLE at which the ground starts and ends to fade, m; strength of the ground's lines.
# FLOOR: height of the ground, m; line distance, m; gain of glow.
# TEXEL: texels a metre; greatest and least blur, texels.

SHOULDER = 2.0
TAPS = 48
_ANGLE = np.arange(TAPS) * np.pi * (3.0 - np.sqrt(5.0))
_REACH = np.sqrt((np.arange(TAPS) + 0.5) / TAPS)
# Places on a disc that line up in no direction (H. Vogel, 1979), so that soft edges have no steps; weights fall
# outwards.
_DISC_X = (_REACH * np.cos(_ANGLE)).astype(np.float32)
_DISC_Y = (_REACH * np.sin(_ANGLE)).astype(np.float32)
_WEIGHT = ((1.15 - _REACH) / (1.15 - _REACH).sum()).astype(np.float32)
STEPS = 4096


def curve() -> Any:
    """Linear light 0 to `SHOULDER` in `STEPS` steps to sRGB bytes, softly bent over 0.75, (STEPS,) uint8.

    Example:
        >>> int(curve()[0]), int(curve()[-1])
        (0, 255)
    """
    x = np.linspace(0.0, SHOULDER, STEPS)
    knee = 0.75
    x = np.where(x > knee, knee + (1 - knee) * (1 - np.exp(-(x - knee) / (1 - knee))), x)
    x = x / x[-1]
    srgb = np.where(x <= 0.0031308, 12.92 * x, 1.055 * x ** (1 / 2.4) - 0.055)
    return np.clip(np.round(255 * srgb), 0, 255).astype(np.uint8)


@kernel
def _hash(x: int, y: int, z: int) -> Any:
    h = np.uint32(x * 73856093) ^ np.uint32(y * 19349663) ^ np.uint32(z * 83492791)
    h = np.uint32((h ^ (h >> np.uint32(15))) * np.uint32(0x2C1B3C6D))
    h = h ^ (h >> np.uint32(13))
    return np.float32(np.uint32(h & np.uint32(0xFFFF))) / np.float32(65535.0)


@kernel
def _noise(x: float, y: float, z: float) -> Any:
    """Value noise, 0 to 1."""
    i, j, k = int(np.floor(x)), int(np.floor(y)), int(np.floor(z))
    u, v, w = x - i, y - j, z - k
    u, v, w = u * u * (3 - 2 * u), v * v * (3 - 2 * v), w * w * (3 - 2 * w)
    total = 0.0
    for di in range(2):
        for dj in range(2):
            for dk in range(2):
                weight = (u if di else 1 - u) * (v if dj else 1 - v) * (w if dk else 1 - w)
                total += weight * _hash(i + di, j + dj, k + dk)
    return np.float32(total)


@kernel
def _grain(pattern: int, x: float, y: float, z: float, pixel: float) -> Any:
    """Factor on the colour by the pattern at a place of the part, m; fades where it is finer than `pixel` m."""
    if pattern == 1:  # wood: long streaks
        fade = min(max(0.004 / pixel, 0.0), 1.0)
        streak = _noise(x * 5.0, y * 160.0, z * 160.0) * 0.6 + _noise(x * 14.0, y * 420.0, z * 420.0) * 0.4
        return 1.0 + fade * 0.55 * (streak - 0.5)
    if pattern == 3:  # cloth: weave
        fade = min(max(0.0022 / pixel - 0.3, 0.0), 1.0)
        threads = np.sin(x * 1400.0) * np.sin(z * 1400.0) * 0.09 * fade
        return 1.0 + threads + 0.25 * (_noise(x * 40.0, y * 40.0, z * 40.0) - 0.5)
    if pattern == 4:  # stones in courses
        course = 0.085
        if z == 0.0:  # the top of the wall
            z, y = 0.04, 0.0
        row = int(np.floor(z / course))
        long = 0.20 + 0.05 * _hash(row, 7, 3)
        shift = 0.5 * long * (row & 1) + 0.03 * _hash(row, 1, 9)
        along = x + y
        col = int(np.floor((along + shift) / long))
        dz = z / course - row
        dx = (along + shift) / long - col
        edge = min(min(dz, 1.0 - dz) * course, min(dx, 1.0 - dx) * long)
        blur = max(pixel, 0.003)
        joint = min(max((edge - 0.005) / blur + 0.5, 0.0), 1.0)
        stone = 0.78 + 0.4 * _hash(row, col, 5) + 0.22 * (_noise(x * 70.0, y * 70.0, z * 70.0) - 0.5)
        return joint * stone + (1.0 - joint) * 0.62
    if pattern == 5:  # foam: speckle
        fade = min(max(0.004 / pixel, 0.0), 1.0)
        return 1.0 + fade * 0.22 * (_noise(x * 260.0, y * 260.0, z * 260.0) - 0.5)
    return 1.0


@kernel
def _lit(
    u: float, v: float, w: float, depth: F32, low: F32, high: F32, widest: float, least: float, texels: float
) -> Any:
    """How much of the sun is seen, 0 to 1, from a place in light space (texels, texels, m).

    Where all tiles in reach agree the answer is plain; else the blur follows the mean distance of what is in the way.
    """
    size = depth.shape[0]
    if u < 1.0 or v < 1.0 or u > size - 2.0 or v > size - 2.0:
        return 1.0
    i0, i1 = max(0, int(v - widest) >> 3), min(low.shape[0] - 1, int(v + widest) >> 3)
    j0, j1 = max(0, int(u - widest) >> 3), min(low.shape[0] - 1, int(u + widest) >> 3)
    nearest, farthest = np.float32(-1e9), np.float32(1e9)
    for i in range(i0, i1 + 1):
        for j in range(j0, j1 + 1):
            nearest = max(nearest, high[i, j])
            farthest = min(farthest, low[i, j])
    if nearest <= w:
        return 1.0
    if farthest > w:
        return 0.0
    gap, hits = np.float32(0.0), 0
    for i in range(0, TAPS, 2):
        x, y = int(u + _DISC_X[i] * widest), int(v + _DISC_Y[i] * widest)
        if x < 0 or y < 0 or x >= size or y >= size:
            continue
        d = depth[y, x] - w
        if d > 0.0:
            gap += d
            hits += 1
    blur = least if hits == 0 else min(max(0.055 * texels * gap / hits, least), widest)
    s = np.float32(0.0)
    for i in range(TAPS):
        x, y = int(u + _DISC_X[i] * blur), int(v + _DISC_Y[i] * blur)
        if x < 0 or y < 0 or x >= size or y >= size or depth[y, x] <= w:
            s += _WEIGHT[i]
    s = min(s, np.float32(1.0))
    return s * s * (3.0 - 2.0 * s)


@kernel
def _line(x: float, every: float, pixel: float) -> Any:
    """Coverage of thin lines at multiples of `every`, at least a pixel wide."""
    near = abs(x - every * np.floor(x / every + 0.5))
    width = 0.016 * every
    wide = max(width, pixel)
    return min(max((wide - near) / wide, 0.0), 1.0) * width / wide * (1.0 if pixel < every * 0.25 else 0.0)


@kernel
def shade(  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    ids: I32,
    faces: I32,
    screen: F32,
    world: F32,
    normals: F32,
    colours: F32,
    coords: F32,
    groups: I32,
    finish: F32,
    light: F32,
    sun_axes: F32,
    sun_low: F32,
    depth: F32,
    tile_low: F32,
    tile_high: F32,
    axes: F32,
    focal: float,
    cx: float,
    cy: float,
    table: Any,
    out: Any,
) -> None:
    """Colour an image from the numbers of the faces seen at 2 x 2 samples a pixel.

    Each smooth patch in a pixel is shaded once and counts by its samples. `focal`, `cx`, `cy` are in samples; `out` is
    (height, width, 3) uint8.
    """
    height, width = out.shape[0], out.shape[1]
    eye = light[EYE]
    texels, widest, least = light[TEXEL, 0], light[TEXEL, 1], light[TEXEL, 2]
    glow_gain = light[FLOOR, 2]
    scale = (STEPS - 1) / SHOULDER
    seen = np.empty(4, np.int32)
    for py in range(height):
        for px in range(width):
            red, green, blue = 0.0, 0.0, 0.0
            open_samples = 0
            for s in range(4):
                seen[s] = ids[2 * py + (s >> 1), 2 * px + (s & 1)]
                if seen[s] < 0:
                    open_samples += 1
            if open_samples:
                sx = (2.0 * px + 1.0 - cx) / focal
                sy = (cy - 2.0 * py - 1.0) / focal
                dx = axes[2, 0] + sx * axes[0, 0] + sy * axes[1, 0]
                dy = axes[2, 1] + sx * axes[0, 1] + sy * axes[1, 1]
                dz = axes[2, 2] + sx * axes[0, 2] + sy * axes[1, 2]
                up = dz / np.sqrt(dx * dx + dy * dy + dz * dz)
                mix = min(max((up + 0.30) * 1.35, 0.0), 1.0)
                r = light[SKY_LOW, 0] + mix * (light[SKY_TOP, 0] - light[SKY_LOW, 0])
                g = light[SKY_LOW, 1] + mix * (light[SKY_TOP, 1] - light[SKY_LOW, 1])
                b = light[SKY_LOW, 2] + mix * (light[SKY_TOP, 2] - light[SKY_LOW, 2])
                if dz < -1e-4:
                    t = (light[FLOOR, 0] - eye[2]) / dz
                    x, y = eye[0] + t * dx, eye[1] + t * dy
                    away = np.sqrt((x - light[MIDDLE, 0]) ** 2 + (y - light[MIDDLE, 1]) ** 2)
                    fade = (away - light[SPREAD, 0]) / (light[SPREAD, 1] - light[SPREAD, 0])
                    fade = min(max(fade, 0.0), 1.0)
                    fade = fade * fade * (3.0 - 2.0 * fade)
                    if fade < 1.0:
                        z = light[FLOOR, 0]
                        u = (
                            sun_axes[0, 0] * x + sun_axes[0, 1] * y + sun_axes[0, 2] * z - sun_low[0]
                        ) * texels
                        v = (
                            sun_axes[1, 0] * x + sun_axes[1, 1] * y + sun_axes[1, 2] * z - sun_low[1]
                        ) * texels
                        w = sun_axes[2, 0] * x + sun_axes[2, 1] * y + sun_axes[2, 2] * z + 1.0 / texels
                        bright = (
                            _lit(u, v, w, depth, tile_low, tile_high, widest, least, texels) * light[SUN, 2]
                        )
                        pixel = 2.0 * t / focal
                        slant = pixel / max(-up, 0.05)
                        lines = max(
                            _line(x, light[FLOOR, 1], pixel if abs(axes[0, 0]) > 0.7 else slant),
                            _line(y, light[FLOOR, 1], slant if abs(axes[0, 0]) > 0.7 else pixel),
                        )
                        ink = 1.0 - light[SPREAD, 2] * lines
                        gr = (
                            light[GROUND, 0]
                            * ink
                            * (light[SUN_COLOUR, 0] * bright + light[SKY_TOP, 0] * 0.25 + light[BOUNCE, 0])
                        )
                        gg = (
                            light[GROUND, 1]
                            * ink
                            * (light[SUN_COLOUR, 1] * bright + light[SKY_TOP, 1] * 0.25 + light[BOUNCE, 1])
                        )
                        gb = (
                            light[GROUND, 2]
                            * ink
                            * (light[SUN_COLOUR, 2] * bright + light[SKY_TOP, 2] * 0.25 + light[BOUNCE, 2])
                        )
                        r, g, b = gr + fade * (r - gr), gg + fade * (g - gg), gb + fade * (b - gb)
                share = 0.25 * open_samples
                red, green, blue = share * r, share * g, share * b
            for s in range(4):
                f = seen[s]
                if f < 0:
                    continue
                same = 1
                ox, oy = s & 1, s >> 1
                for q in range(s + 1, 4):
                    if seen[q] >= 0 and groups[seen[q]] == groups[f]:
                        seen[q] = -1
                        same += 1
                ia, ib, ic = faces[f, 0], faces[f, 1], faces[f, 2]
                x, y = np.float32(2 * px + ox) + np.float32(0.5), np.float32(2 * py + oy) + np.float32(0.5)
                xa, ya = screen[ia, 0] - x, screen[ia, 1] - y
                xb, yb = screen[ib, 0] - x, screen[ib, 1] - y
                xc, yc = screen[ic, 0] - x, screen[ic, 1] - y
                wa = (xb * yc - xc * yb) * screen[ia, 2]
                wb = (xc * ya - xa * yc) * screen[ib, 2]
                wc = (xa * yb - xb * ya) * screen[ic, 2]
                total = wa + wb + wc
                if total == 0.0:
                    wa, wb, wc, total = np.float32(1.0), np.float32(1.0), np.float32(1.0), np.float32(3.0)
                wa = min(max(wa / total, np.float32(0.0)), np.float32(1.0))
                wb = min(max(wb / total, np.float32(0.0)), np.float32(1.0))
                wc = min(max(np.float32(1.0) - wa - wb, np.float32(0.0)), np.float32(1.0))
                x = wa * world[ia, 0] + wb * world[ib, 0] + wc * world[ic, 0]
                y = wa * world[ia, 1] + wb * world[ib, 1] + wc * world[ic, 1]
                z = wa * world[ia, 2] + wb * world[ib, 2] + wc * world[ic, 2]
                nx = wa * normals[ia, 0] + wb * normals[ib, 0] + wc * normals[ic, 0]
                ny = wa * normals[ia, 1] + wb * normals[ib, 1] + wc * normals[ic, 1]
                nz = wa * normals[ia, 2] + wb * normals[ib, 2] + wc * normals[ic, 2]
                long = max(np.sqrt(nx * nx + ny * ny + nz * nz), 1e-9)
                nx, ny, nz = nx / long, ny / long, nz / long
                vx, vy, vz = eye[0] - x, eye[1] - y, eye[2] - z
                long = max(np.sqrt(vx * vx + vy * vy + vz * vz), 1e-9)
                vx, vy, vz = vx / long, vy / long, vz / long
                facing = nx * vx + ny * vy + nz * vz
                # the far side of an open sheet, told by the turn of the triangle and not by the smoothed normal
                if finish[f, 4] < 0.5 and (xb - xa) * (yc - ya) - (xc - xa) * (yb - ya) > 0.0:
                    nx, ny, nz, facing = -nx, -ny, -nz, -facing
                facing = max(facing, 0.0)
                pixel = 2.0 * long / focal
                cr = wa * colours[ia, 0] + wb * colours[ib, 0] + wc * colours[ic, 0]
                cg = wa * colours[ia, 1] + wb * colours[ib, 1] + wc * colours[ic, 1]
                cb = wa * colours[ia, 2] + wb * colours[ib, 2] + wc * colours[ic, 2]
                pattern = int(finish[f, 2])
                if pattern:
                    gx = wa * coords[ia, 0] + wb * coords[ib, 0] + wc * coords[ic, 0]
                    gy = wa * coords[ia, 1] + wb * coords[ib, 1] + wc * coords[ic, 1]
                    gz = wa * coords[ia, 2] + wb * coords[ib, 2] + wc * coords[ic, 2]
                    k = _grain(pattern, gx, gy, gz, pixel)
                    cr, cg, cb = cr * k, cg * k, cb * k
                rough, metal = finish[f, 0], finish[f, 1]
                sun = nx * sun_axes[2, 0] + ny * sun_axes[2, 1] + nz * sun_axes[2, 2]
                bright = 0.0
                if sun > 0.0:
                    # stand off along the normal so that a surface doesn't shade itself
                    off = 2.4 / texels
                    qx, qy, qz = x + nx * off, y + ny * off, z + nz * off
                    u = (
                        sun_axes[0, 0] * qx + sun_axes[0, 1] * qy + sun_axes[0, 2] * qz - sun_low[0]
                    ) * texels
                    v = (
                        sun_axes[1, 0] * qx + sun_axes[1, 1] * qy + sun_axes[1, 2] * qz - sun_low[1]
                    ) * texels
                    w = sun_axes[2, 0] * qx + sun_axes[2, 1] * qy + sun_axes[2, 2] * qz + 2.0 / texels
                    bright = _lit(u, v, w, depth, tile_low, tile_high, widest, least, texels)
                fill_ = max(nx * light[FILL, 0] + ny * light[FILL, 1] + nz * light[FILL, 2], 0.0)
                hemi = 0.5 + 0.5 * nz
                low = min(max((z - light[FLOOR, 0]) * 6.0, 0.0), 1.0)
                open_sky = (0.62 + 0.38 * low) if nz < 0.5 else 1.0
                # what a smooth surface mirrors: sky above, ground below, a soft step between
                rz = 2 * facing * nz - vz
                blur = 0.12 + rough
                t = min(max(rz / blur * 0.5 + 0.5, 0.0), 1.0)
                t = t * t * (3.0 - 2.0 * t)
                edge = 1.0 - facing
                fresnel = edge * edge * edge * edge * edge * (1.0 - rough)
                # sun highlight (Blinn-Phong with the exponent taken from the roughness)
                hx, hy, hz = sun_axes[2, 0] + vx, sun_axes[2, 1] + vy, sun_axes[2, 2] + vz
                long = max(np.sqrt(hx * hx + hy * hy + hz * hz), 1e-9)
                half = max((nx * hx + ny * hy + nz * hz) / long, 0.0)
                power = 2.0 / max(rough * rough * rough * rough, 0.002)
                gloss = half**power * (power + 8.0) * 0.04 * bright * max(sun, 0.0)
                gloss = min(gloss, 3.0)
                for k in range(3):
                    albedo = cr if k == 0 else (cg if k == 1 else cb)
                    sky = light[SKY_TOP, k] * 0.55 + light[SKY_LOW, k] * 0.45
                    around = (light[BOUNCE, k] + hemi * sky * 0.62) * open_sky
                    diffuse = albedo * (
                        light[SUN_COLOUR, k] * max(sun, 0.0) * bright + light[FILL_COLOUR, k] * fill_ + around
                    )
                    mirror = (
                        light[GROUND, k] * 0.55 * (0.4 + light[BOUNCE, k]) * (1 - t) + (sky * 1.15) * t
                    ) * (0.55 + 0.45 * open_sky)
                    base = 0.04 + 0.96 * fresnel
                    shine = base * mirror * (1.0 - 0.6 * rough) + 0.05 * gloss * light[SUN_COLOUR, k]
                    bare = albedo * (
                        mirror * 1.05
                        + 0.38
                        * (
                            light[SUN_COLOUR, k] * max(sun, 0.0) * bright
                            + light[FILL_COLOUR, k] * fill_
                            + around
                        )
                        + 0.55 * gloss * light[SUN_COLOUR, k]
                    )
                    value = (
                        (1.0 - metal) * (diffuse + shine) + metal * bare + finish[f, 3] * albedo * glow_gain
                    )
                    if k == 0:
                        red += 0.25 * same * min(value, 4.0)
                    elif k == 1:
                        green += 0.25 * same * min(value, 4.0)
                    else:
                        blue += 0.25 * same * min(value, 4.0)
            out[py, px, 0] = table[min(max(int(red * scale + 0.5), 0), STEPS - 1)]
            out[py, px, 1] = table[min(max(int(green * scale + 0.5), 0), STEPS - 1)]
            out[py, px, 2] = table[min(max(int(blue * scale + 0.5), 0), STEPS - 1)]
