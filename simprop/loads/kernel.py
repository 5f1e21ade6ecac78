"""Array work of the balance equations over many steps, compiled: one body or one joint at a time."""

from __future__ import annotations

from typing import Any

from simprop.compiled import compiled


@compiled
def wrench_columns(
    data: Any, block: int, half: int, sign: float, forces: Any, moments: Any, arm_of: Any, centre: Any, size: float
) -> None:  # fmt: skip
    """Write what a joint's unit forces and moments do to one of its bodies.

    Args:
        data: entries of all blocks, (n, blocks, 12, 6); see `simprop.loads.least.Blocks`.
        block: index of the joint's block.
        half: 0 or 1, which of its two bodies.
        sign: +1 for the joint's second body, -1 for its first.
        forces: unit forces as columns, world, (n, 3, k).
        moments: unit moments as columns, world, (n, 3, m).
        arm_of: the joint's point, (n, 3) m.
        centre: the body's centre of mass, (n, 3) m.
        size: length by which moments are divided, m.
    """
    top, k, m, turned = 6 * half, forces.shape[2], moments.shape[2], sign / size
    for n in range(len(data)):
        x, y, z = arm_of[n, 0] - centre[n, 0], arm_of[n, 1] - centre[n, 1], arm_of[n, 2] - centre[n, 2]
        for c in range(k):
            u, v, w = forces[n, 0, c], forces[n, 1, c], forces[n, 2, c]
            data[n, block, top, c] = sign * u
            data[n, block, top + 1, c] = sign * v
            data[n, block, top + 2, c] = sign * w
            data[n, block, top + 3, c] = turned * (y * w - z * v)
            data[n, block, top + 4, c] = turned * (z * u - x * w)
            data[n, block, top + 5, c] = turned * (x * v - y * u)
        for c in range(m):
            for i in range(3):
                data[n, block, top + 3 + i, k + c] = sign * moments[n, i, c]


@compiled
def inertia_rows(
    out: Any, row: int, mass: float, inertia: Any, size: float, turn: Any, motion: Any, gravity: Any
) -> None:
    """Write mass times acceleration less weight, and the rate of spin over the prop's size, of one body.

    Args:
        out: (n, rows), to be filled.
        row: the body's first row.
        mass: kg.
        inertia: about the centre of mass in the axes of the start, (3, 3) kg*m^2.
        size: length by which moments are divided, m.
        turn: rotations, (n, 3, 3).
        motion: acceleration (n, 3), spin (n, 3), and spin acceleration (n, 3).
        gravity: (3,) m/s^2.
    """
    acceleration, spin, alpha = motion
    for n in range(len(out)):
        t = turn[n]
        # In the body's own axes: I alpha + w x I w.
        w0 = t[0, 0] * spin[n, 0] + t[1, 0] * spin[n, 1] + t[2, 0] * spin[n, 2]
        w1 = t[0, 1] * spin[n, 0] + t[1, 1] * spin[n, 1] + t[2, 1] * spin[n, 2]
        w2 = t[0, 2] * spin[n, 0] + t[1, 2] * spin[n, 1] + t[2, 2] * spin[n, 2]
        a0 = t[0, 0] * alpha[n, 0] + t[1, 0] * alpha[n, 1] + t[2, 0] * alpha[n, 2]
        a1 = t[0, 1] * alpha[n, 0] + t[1, 1] * alpha[n, 1] + t[2, 1] * alpha[n, 2]
        a2 = t[0, 2] * alpha[n, 0] + t[1, 2] * alpha[n, 1] + t[2, 2] * alpha[n, 2]
        h0 = inertia[0, 0] * w0 + inertia[0, 1] * w1 + inertia[0, 2] * w2
        h1 = inertia[1, 0] * w0 + inertia[1, 1] * w1 + inertia[1, 2] * w2
        h2 = inertia[2, 0] * w0 + inertia[2, 1] * w1 + inertia[2, 2] * w2
        m0 = inertia[0, 0] * a0 + inertia[0, 1] * a1 + inertia[0, 2] * a2 + w1 * h2 - w2 * h1
        m1 = inertia[1, 0] * a0 + inertia[1, 1] * a1 + inertia[1, 2] * a2 + w2 * h0 - w0 * h2
        m2 = inertia[2, 0] * a0 + inertia[2, 1] * a1 + inertia[2, 2] * a2 + w0 * h1 - w1 * h0
        for i in range(3):
            out[n, row + i] = mass * (acceleration[n, i] - gravity[i])
            out[n, row + 3 + i] = (t[i, 0] * m0 + t[i, 1] * m1 + t[i, 2] * m2) / size


@compiled
def add_components(whole: Any, turn: Any, directions: Any, values: Any, scale: float) -> None:
    """Add a joint's components as world vectors.

    Args:
        whole: (n, 3), to be added to.
        turn: rotations of the joint's first body, (n, 3, 3).
        directions: of the components in that body's start axes, (k, 3).
        values: the components, (n, k).
        scale: factor on the values.
    """
    for n in range(len(whole)):
        x, y, z = 0.0, 0.0, 0.0
        for c in range(len(directions)):
            v = scale * values[n, c]
            x += v * directions[c, 0]
            y += v * directions[c, 1]
            z += v * directions[c, 2]
        for i in range(3):
            whole[n, i] += turn[n, i, 0] * x + turn[n, i, 1] * y + turn[n, i, 2] * z
