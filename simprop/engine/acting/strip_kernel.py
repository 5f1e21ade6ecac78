"""Strips as chains of heavy points on light links, stepped beside an engine by its own short steps.

The first and last link are half as long as the others: the weight of each length of strip stands in its middle. Links
stretch a little, by a spring and a damper each; velocity Verlet in steps that those need. A strip that is stiff bends
by the second differences of its points (B / l^3), clamped at its root.
"""

from __future__ import annotations

from math import sqrt
from typing import Any

import numpy as np

from simprop.compiled import compiled

_THIN = 0.05
"""Sine below which a strip that runs along its own width shows no face."""
_ROUNDS = 150_000
"""Most steps in which a strip is brought to rest."""


@compiled
def _forces(  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    n: int, ends: int, numbers: Any, rest: Any, world: Any, x: Any, v: Any, force: Any, out: Any
) -> None:
    """Forces on the points of one strip, and on what holds it.

    Args:
        n: points.
        ends: 1 or 2 that are held.
        numbers: mass of a point, link, stiffness and damper of a link, bending B / l^3, drag force at 1 m/s, flat,
            damper of a crease.
        rest: length of each link at no pull, (n + 1,).
        world: places (2, 3) and speeds (2, 3) of the ends, way out and width (3,), gravity and wind (3,).
        x, v: (n, 3).
        force: (n, 3), overwritten.
        out: force on the bodies at root, behind it and at the other end (3, 3); elastic energy, power of the air, power
            that links lose, (3,); overwritten.
    """
    mass, link, stiff, damper, bent, drag, flat, crease = numbers
    place, pace, way, width, gravity, wind = world
    pull, power = out
    pull[:] = 0.0
    power[:] = 0.0
    for i in range(n):
        for j in range(3):
            force[i, j] = mass * gravity[j]
    ax, ay, az = place[0, 0], place[0, 1], place[0, 2]
    au, av, aw = pace[0, 0], pace[0, 1], pace[0, 2]
    for i in range(n + ends - 1):
        if i < n:
            bx, by, bz, bu, bv, bw = x[i, 0], x[i, 1], x[i, 2], v[i, 0], v[i, 1], v[i, 2]
        else:
            bx, by, bz = place[1, 0], place[1, 1], place[1, 2]
            bu, bv, bw = pace[1, 0], pace[1, 1], pace[1, 2]
        dx, dy, dz = bx - ax, by - ay, bz - az
        far = max(sqrt(dx * dx + dy * dy + dz * dz), 1e-12)
        dx, dy, dz = dx / far, dy / far, dz / far
        rate = (bu - au) * dx + (bv - av) * dy + (bw - aw) * dz
        k = 2.0 * stiff if i in (0, n) else stiff
        more = far - rest[i]
        tension = k * more + damper * rate
        power[0] += 0.5 * k * more * more
        power[2] += damper * rate * rate
        fx, fy, fz = tension * dx, tension * dy, tension * dz
        if i > 0:
            force[i - 1, 0] += fx
            force[i - 1, 1] += fy
            force[i - 1, 2] += fz
        else:
            pull[0, 0] += fx
            pull[0, 1] += fy
            pull[0, 2] += fz
        if i < n:
            force[i, 0] -= fx
            force[i, 1] -= fy
            force[i, 2] -= fz
        else:
            pull[2, 0] -= fx
            pull[2, 1] -= fy
            pull[2, 2] -= fz
        ax, ay, az, au, av, aw = bx, by, bz, bu, bv, bw
    if bent > 0.0:
        for j in range(3):
            off = x[0, j] - place[0, j] - 0.5 * link * way[j]  # a clamp that a quarter of a link bends at
            power[0] += 8.0 * bent * off * off
            f = 16.0 * bent * off
            force[0, j] -= f
            pull[0, j] += (
                1.5 * f
            )  # what acts half a link before the root, as loads there and a link behind it
            pull[1, j] -= 0.5 * f
            off = (
                x[1, j] - 3.0 * x[0, j] + 2.0 * place[0, j]
            )  # three quarters of a link bend at the first point
            power[0] += bent * off * off / 1.5
            f = bent * off / 0.75
            force[1, j] -= f
            force[0, j] += 3.0 * f
            pull[0, j] -= 2.0 * f
        for i in range(1, n - 1):
            for j in range(3):
                off = x[i - 1, j] - 2.0 * x[i, j] + x[i + 1, j]
                power[0] += 0.5 * bent * off * off
                force[i - 1, j] -= bent * off
                force[i, j] += 2.0 * bent * off
                force[i + 1, j] -= bent * off
    for i in range(1, n - 1):
        for j in range(3):
            off = v[i - 1, j] - 2.0 * v[i, j] + v[i + 1, j]
            power[2] += crease * off * off
            force[i - 1, j] -= crease * off
            force[i, j] += 2.0 * crease * off
            force[i + 1, j] -= crease * off
    if drag > 0.0:
        ax, ay, az = place[0, 0], place[0, 1], place[0, 2]
        for i in range(n):
            last = i == n - 1
            if last and ends == 1:
                bx, by, bz = x[i, 0], x[i, 1], x[i, 2]
            elif last:
                bx, by, bz = place[1, 0], place[1, 1], place[1, 2]
            else:
                bx, by, bz = x[i + 1, 0], x[i + 1, 1], x[i + 1, 2]
            dx, dy, dz = bx - ax, by - ay, bz - az
            size = max(sqrt(dx * dx + dy * dy + dz * dz), 1e-12)
            dx, dy, dz = dx / size, dy / size, dz / size
            gx, gy, gz = v[i, 0] - wind[0], v[i, 1] - wind[1], v[i, 2] - wind[2]
            nx, ny, nz = (
                dy * width[2] - dz * width[1],
                dz * width[0] - dx * width[2],
                dx * width[1] - dy * width[0],
            )
            size = sqrt(nx * nx + ny * ny + nz * nz)
            if flat > 0.0 and size > _THIN:
                nx, ny, nz = nx / size, ny / size, nz / size
                speed = nx * gx + ny * gy + nz * gz
                fx, fy, fz = speed * nx, speed * ny, speed * nz
            else:
                speed = dx * gx + dy * gy + dz * gz
                fx, fy, fz = gx - speed * dx, gy - speed * dy, gz - speed * dz
            size = -drag * sqrt(fx * fx + fy * fy + fz * fz)
            fx, fy, fz = size * fx, size * fy, size * fz
            force[i, 0] += fx
            force[i, 1] += fy
            force[i, 2] += fz
            power[1] += fx * v[i, 0] + fy * v[i, 1] + fz * v[i, 2]
            ax, ay, az = x[i, 0], x[i, 1], x[i, 2]


@compiled
def _rest(n: int, ends: int, numbers: Any, rest: Any, world: Any, x: Any, step: float) -> None:
    """Bring a strip to rest: it swings by its own forces, and is stopped whenever it has its largest speed."""
    v, force, pull, power = np.zeros((n, 3)), np.zeros((n, 3)), np.zeros((3, 3)), np.zeros(3)
    mass, last = numbers[0], 0.0
    weight = max(1e-12, mass * sqrt(world[4][0] ** 2 + world[4][1] ** 2 + world[4][2] ** 2))
    for _ in range(_ROUNDS):
        _forces(n, ends, numbers, rest, world, x, v, force, (pull, power))
        most = 0.0
        for i in range(n):
            for j in range(3):
                most = max(most, abs(force[i, j]))
        energy = 0.0
        for i in range(n):
            for j in range(3):
                v[i, j] += step * force[i, j] / mass
                energy += v[i, j] * v[i, j]
        if energy < last:
            v[:] = 0.0
            energy = 0.0
            if most < 1e-7 * weight:
                break
        last = energy
        x += step * v


@compiled
def settled(strips: Any, world: Any, state: Any) -> None:
    """Bring all strips to rest as they hang; links are then as long as drawn.

    Args:
        strips: first point, points, held ends (S,) each; numbers as in `_forces` (S, 8); step s (S,).
        world: as in `_forces`, for each strip; gravity and wind are one.
        state: places, speeds (P, 3), length of each link at no pull (P + S,).
    """
    first, count, ends, numbers, steps = strips
    place, pace, way, width, gravity, wind = world
    x, _, rest = state
    for s in range(len(first)):
        n, f = count[s], first[s]
        own = place[s], pace[s], way[s], width[s], gravity, wind
        length = rest[f + s : f + s + n + 1]
        link = numbers[s, 1]
        for _ in range(8):
            at = x[f : f + n]
            _rest(n, ends[s], numbers[s], length, own, at, steps[s])
            off = 0.0
            for i in range(n + ends[s] - 1):
                wanted = 0.5 * link if i in (0, n) else link
                far = 0.0
                for j in range(3):
                    a = place[s, 0, j] if i == 0 else at[i - 1, j]
                    b = place[s, 1, j] if i == n else at[i, j]
                    far += (b - a) ** 2
                far = sqrt(far)
                length[i] -= far - wanted
                off = max(off, abs(far - wanted) / wanted)
            if off < 1e-8:
                break


@compiled
def stepped(strips: Any, before: Any, world: Any, state: Any, h: float, out: Any) -> None:
    """Step all strips while what holds them moves from `before` to `world`.

    Args:
        strips, world, state: as in `settled`.
        before: places, speeds, way and width of the ends when the step began.
        h: s; 0: work out forces alone.
        out: forces on the bodies at root, behind it and other end (S, 3, 3); energy that the strips hold (kinetic,
            elastic and of height), what the air has taken, what links have lost (3,) J: the first is overwritten, the
            others grow.
    """
    first, count, ends, numbers, steps = strips
    place, pace, way, width, gravity, wind = world
    x, v, rest = state
    pulls, held = out
    held[0] = 0.0
    for s in range(len(first)):
        n, f = count[s], first[s]
        at, go, length, mass = x[f : f + n], v[f : f + n], rest[f + s : f + s + n + 1], numbers[s, 0]
        force, power = np.zeros((n, 3)), np.zeros(3)
        now, rate, out_, wide = place[s].copy(), pace[s].copy(), way[s].copy(), width[s].copy()
        if h > 0.0:
            parts = int(np.ceil(h / steps[s] - 1e-9))
            dt = h / parts
            now[:], rate[:], out_[:], wide[:] = before[0][s], before[1][s], before[2][s], before[3][s]
            own = now, rate, out_, wide, gravity, wind
            _forces(n, ends[s], numbers[s], length, own, at, go, force, (pulls[s], power))
            old = np.empty((n, 3))
            for k in range(1, parts + 1):
                u = k / parts
                for j in range(3):
                    for e in range(2):
                        p, q = before[0][s, e, j], place[s, e, j]
                        a, b = h * before[1][s, e, j], h * pace[s, e, j]
                        now[e, j] = (
                            p * (1 - u) ** 2 * (1 + 2 * u) + q * u * u * (3 - 2 * u)
                            + a * u * (1 - u) ** 2 - b * u * u * (1 - u)
                        )  # fmt: skip
                        rate[e, j] = (
                            6 * u * (1 - u) * (q - p) + a * (1 - u) * (1 - 3 * u) - b * u * (2 - 3 * u)
                        ) / h
                    out_[j] = (1 - u) * before[2][s, j] + u * way[s, j]
                    wide[j] = (1 - u) * before[3][s, j] + u * width[s, j]
                lost, taken = power[2], power[1]
                for i in range(n):
                    for j in range(3):
                        old[i, j] = force[i, j] / mass
                        at[i, j] += dt * go[i, j] + 0.5 * dt * dt * old[i, j]
                        go[i, j] += dt * old[i, j]
                _forces(n, ends[s], numbers[s], length, own, at, go, force, (pulls[s], power))
                for i in range(n):
                    for j in range(3):
                        go[i, j] += 0.5 * dt * (force[i, j] / mass - old[i, j])
                held[1] -= 0.5 * dt * (taken + power[1])
                held[2] += 0.5 * dt * (lost + power[2])
        own = place[s], pace[s], way[s], width[s], gravity, wind
        _forces(n, ends[s], numbers[s], length, own, at, go, force, (pulls[s], power))
        held[0] += power[0]
        for i in range(n):
            for j in range(3):
                held[0] += mass * (0.5 * go[i, j] * go[i, j] - gravity[j] * at[i, j])


@compiled
def blown(faces: Any, bodies: Any, wind: Any, row: Any, force: Any, moment: Any) -> None:
    """Drag on the faces of bodies: added to the force and moment about the centre of mass of each row.

    Args:
        faces: body, sort (0 flat, 1 round stock, 2 ball) (F,), point, normal or axis (F, 3) in the body, drag force at
            1 m/s (F,).
        bodies: position, turn, velocity, spin.
        wind: (3,) m/s.
        row: of each face.
        force, moment: (K, 3).
    """
    which, sort, points, normals, sizes = faces
    _, turn, velocity, spin = bodies
    go, n, arm, f = np.empty(3), np.empty(3), np.empty(3), np.empty(3)
    for k in range(len(which)):
        b = which[k]
        for j in range(3):
            arm[j], n[j] = 0.0, 0.0
            for m in range(3):
                arm[j] += turn[b, j, m] * points[k, m]
                n[j] += turn[b, j, m] * normals[k, m]
        go[0] = velocity[b, 0] + spin[b, 1] * arm[2] - spin[b, 2] * arm[1] - wind[0]
        go[1] = velocity[b, 1] + spin[b, 2] * arm[0] - spin[b, 0] * arm[2] - wind[1]
        go[2] = velocity[b, 2] + spin[b, 0] * arm[1] - spin[b, 1] * arm[0] - wind[2]
        along = go[0] * n[0] + go[1] * n[1] + go[2] * n[2]
        size = 0.0
        for j in range(3):
            f[j] = along * n[j] if sort[k] == 0 else go[j] - (along * n[j] if sort[k] == 1 else 0.0)
            size += f[j] * f[j]
        size = -sizes[k] * sqrt(size)
        for j in range(3):
            f[j] *= size
            force[row[k], j] += f[j]
        moment[row[k], 0] += arm[1] * f[2] - arm[2] * f[1]
        moment[row[k], 1] += arm[2] * f[0] - arm[0] * f[2]
        moment[row[k], 2] += arm[0] * f[1] - arm[1] * f[0]


@compiled
def carried(held: Any, bodies: Any, out: Any) -> None:
    """Where the ends of strips are.

    Args:
        held: body of the two ends (S, 2), places in them (S, 2, 3), way out and width in the first (S, 3).
        bodies: position, turn, velocity, spin.
        out: places, speeds (S, 2, 3), way out, width (S, 3), overwritten.
    """
    which, points, ways, widths = held
    position, turn, velocity, spin = bodies
    place, pace, way, width = out
    arm = np.empty(3)
    for s in range(len(which)):
        for e in range(2):
            b = which[s, e]
            for j in range(3):
                arm[j] = 0.0
                for m in range(3):
                    arm[j] += turn[b, j, m] * points[s, e, m]
                place[s, e, j] = position[b, j] + arm[j]
            pace[s, e, 0] = velocity[b, 0] + spin[b, 1] * arm[2] - spin[b, 2] * arm[1]
            pace[s, e, 1] = velocity[b, 1] + spin[b, 2] * arm[0] - spin[b, 0] * arm[2]
            pace[s, e, 2] = velocity[b, 2] + spin[b, 0] * arm[1] - spin[b, 1] * arm[0]
        b = which[s, 0]
        for j in range(3):
            way[s, j], width[s, j] = 0.0, 0.0
            for m in range(3):
                way[s, j] += turn[b, j, m] * ways[s, m]
                width[s, j] += turn[b, j, m] * widths[s, m]


@compiled
def summed(
    row: Any, ends: Any, links: Any, world: Any, pulls: Any, point: Any, force: Any, moment: Any
) -> None:
    """Add the pulls of strips to the force and moment of the rows of their ends.

    Args:
        row: of the two ends (S, 2).
        ends: how many are held (S,).
        links: (S,) m.
        world: as `carried` gives.
        pulls: of `stepped`.
        point: world place of each row (K, 3).
        force, moment: (K, 3).
    """
    place, way = world[0], world[2]
    arm = np.empty(3)
    for s in range(len(row)):
        for part in range(2 if ends[s] == 1 else 3):
            k = row[s, 1] if part == 2 else row[s, 0]
            for j in range(3):
                at = place[s, 1, j] if part == 2 else place[s, 0, j]
                if part == 1:
                    at -= links[s] * way[s, j]
                arm[j] = at - point[k, j]
                force[k, j] += pulls[s, part, j]
            f = pulls[s, part]
            moment[k, 0] += arm[1] * f[2] - arm[2] * f[1]
            moment[k, 1] += arm[2] * f[0] - arm[0] * f[2]
            moment[k, 2] += arm[0] * f[1] - arm[1] * f[0]
