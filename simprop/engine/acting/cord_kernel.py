"""The pull in every span of a cord, at every stage of a step.

A cord is cut at its places into spans. The length of a span counts from marks on the round things at its ends, which
turn with their bodies: winding on a drum, turning a wheel and rubbing on a bar are one thing. How much cord lies in a
span is remembered; it slips from one span into the next where their pulls differ by more than e^(mu angle).
"""

from __future__ import annotations

from math import atan2, exp, pi, sqrt
from typing import Any

import numpy as np

from simprop.compiled import compiled
from simprop.engine.contact.touching import dot, turned

_ROUNDS, _SAME = 400, 1e-14
"""Most rounds of slipping, and a change that is none, m."""


@compiled
def _tangent(centre: Any, axis: Any, radius: float, side: float, to: Any, out: Any) -> None:
    """Where a straight line from `to` touches a circle, on one of its sides about the axis."""
    along = 0.0
    for j in range(3):
        along += (to[j] - centre[j]) * axis[j]
    far = 0.0
    way = np.empty(3)
    for j in range(3):
        way[j] = to[j] - centre[j] - along * axis[j]
        far += way[j] * way[j]
    far = sqrt(far)
    far = max(far, 1e-12)
    near = min(1.0, radius / far)
    off = side * sqrt(1.0 - near * near)
    x = (axis[1] * way[2] - axis[2] * way[1]) / far
    y = (axis[2] * way[0] - axis[0] * way[2]) / far
    z = (axis[0] * way[1] - axis[1] * way[0]) / far
    out[0] = centre[0] + radius * (near * way[0] / far + off * x)
    out[1] = centre[1] + radius * (near * way[1] / far + off * y)
    out[2] = centre[2] + radius * (near * way[2] / far + off * z)


@compiled
def _angle(point: Any, centre: Any, one: Any, other: Any, last: float) -> Any:
    """Angle of a point about a centre, in turns counted on from the last one."""
    x, y = 0.0, 0.0
    for j in range(3):
        x += (point[j] - centre[j]) * one[j]
        y += (point[j] - centre[j]) * other[j]
    found = atan2(y, x)
    return found + 2.0 * pi * np.round((last - found) / (2.0 * pi))


@compiled
def pulled(  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    cords: Any, places: Any, spans: Any, memory: Any, bodies: Any, out: Any, commit: bool
) -> None:
    """Work out the pull of every span, and the forces on the bodies at its ends.

    Args:
        cords: first place, number of spans (C,) and damping N*s/m, stretch at which that is whole m (C,).
        places: body (P,), point, axis, mark (P, 3) in the body, radius, way, friction (P,).
        spans: stiffness N/m (S,).
        memory: cord that has gone out of each span m (S,), angles of its two ends (S, 2).
        bodies: position, turn, velocity, spin as in `Touching`.
        out: force, point (2 S, 3), pull, length (S,), angle turned at each place (P,), below
            0 where the cord would lift off,
            what is slack in each span m (S,).
        commit: what has slipped until now is remembered.
    """
    firsts, counts, losses, whole = cords
    of_place, local, axes, marks, radius, way, grip = places
    gone, wound = memory
    position, turn, velocity, spin = bodies
    force, point, pull, length, bent, loose = out
    total = len(of_place)
    centre, axis, mark, other = (
        np.empty((total, 3)),
        np.empty((total, 3)),
        np.empty((total, 3)),
        np.empty((total, 3)),
    )
    for p in range(total):
        b = of_place[p]
        turned(turn[b], local[p], centre[p])
        turned(turn[b], axes[p], axis[p])
        turned(turn[b], marks[p], mark[p])
        for j in range(3):
            centre[p, j] += position[b, j]
        other[p, 0] = axis[p, 1] * mark[p, 2] - axis[p, 2] * mark[p, 1]
        other[p, 1] = axis[p, 2] * mark[p, 0] - axis[p, 0] * mark[p, 2]
        other[p, 2] = axis[p, 0] * mark[p, 1] - axis[p, 1] * mark[p, 0]
    a, e, last = np.empty(3), np.empty(3), np.empty(3)
    for c in range(len(firsts)):
        p0, n = firsts[c], counts[c]
        s0 = p0 - c
        angle, along = np.zeros((n, 2)), np.zeros((n, 3))
        drawn, slip = np.zeros(n), np.zeros(n)
        pace = 0.0
        for i in range(n):
            p, q, s = p0 + i, p0 + i + 1, s0 + i
            a[:], e[:] = centre[p], centre[q]
            for _ in range(60):
                last[:] = a
                if radius[p] > 0.0:
                    _tangent(centre[p], axis[p], radius[p], -way[p], e, a)
                if radius[q] > 0.0:
                    _tangent(centre[q], axis[q], radius[q], way[q], a, e)
                if abs(a[0] - last[0]) + abs(a[1] - last[1]) + abs(a[2] - last[2]) < 1e-15:
                    break
            far = 0.0
            for j in range(3):
                along[i, j] = e[j] - a[j]
                far += along[i, j] ** 2
            far = max(sqrt(far), 1e-12)
            for j in range(3):
                along[i, j] /= far
                point[2 * s, j], point[2 * s + 1, j] = a[j], e[j]
            length[s] = far
            drawn[i] = far
            if radius[p] > 0.0:
                angle[i, 0] = _angle(a, centre[p], mark[p], other[p], wound[s, 0])
                drawn[i] += radius[p] * way[p] * angle[i, 0]
            if radius[q] > 0.0:
                angle[i, 1] = _angle(e, centre[q], mark[q], other[q], wound[s, 1])
                drawn[i] -= radius[q] * way[q] * angle[i, 1]
            for side in range(2):
                b = of_place[p + side]
                x = point[2 * s + side, 0] - position[b, 0]
                y = point[2 * s + side, 1] - position[b, 1]
                z = point[2 * s + side, 2] - position[b, 2]
                u = velocity[b, 0] + spin[b, 1] * z - spin[b, 2] * y
                v = velocity[b, 1] + spin[b, 2] * x - spin[b, 0] * z
                w = velocity[b, 2] + spin[b, 0] * y - spin[b, 1] * x
                rate = u * along[i, 0] + v * along[i, 1] + w * along[i, 2]
                pace += rate if side == 1 else -rate
            slip[i] = drawn[i] - gone[s]
        for i in range(n - 1):
            p = p0 + i + 1
            if radius[p] > 0.0:
                bent[p] = way[p] * (angle[i + 1, 0] - angle[i, 1])
            else:
                straight = min(1.0, max(-1.0, dot(along[i], along[i + 1])))
                bent[p] = atan2(sqrt(1.0 - straight * straight), straight)
        free, give, stretched = True, 0.0, 0.0
        for i in range(n):
            give += 1.0 / spans[s0 + i]
            stretched += slip[i]
            if i > 0 and grip[p0 + i] > 0.0:
                free = False
        if free:
            for i in range(n):
                slip[i] = stretched / (give * spans[s0 + i])
        else:
            for _ in range(_ROUNDS):
                most = 0.0
                for i in range(n - 1):
                    k, m = spans[s0 + i], spans[s0 + i + 1]
                    one, two = k * max(slip[i], 0.0), m * max(slip[i + 1], 0.0)
                    share = exp(grip[p0 + i + 1] * max(0.0, bent[p0 + i + 1]))
                    shift = 0.0
                    if two > share * one:
                        shift = slip[i + 1]
                        if slip[i] + slip[i + 1] > 0.0:
                            shift = (m * slip[i + 1] - share * k * slip[i]) / (m + share * k)
                    elif one > share * two:
                        shift = -slip[i]
                        if slip[i] + slip[i + 1] > 0.0:
                            shift = -(k * slip[i] - share * m * slip[i + 1]) / (k + share * m)
                    slip[i] += shift
                    slip[i + 1] -= shift
                    most = max(most, abs(shift))
                if most < _SAME:
                    break
        largest = 0.0
        for i in range(n):
            largest = max(largest, spans[s0 + i] * slip[i])
        extra = 0.0
        if largest > 0.0:
            share = min(1.0, largest * give / whole[c]) if whole[c] > 0.0 else 1.0
            extra = share * losses[c] * pace / largest
        for i in range(n):
            s = s0 + i
            loose[s] = max(0.0, -slip[i])
            pull[s] = max(0.0, spans[s] * max(slip[i], 0.0) * (1.0 + extra))
            for j in range(3):
                force[2 * s, j] = pull[s] * along[i, j]
                force[2 * s + 1, j] = -pull[s] * along[i, j]
            if commit:
                gone[s] = drawn[i] - slip[i]
                wound[s, 0], wound[s, 1] = angle[i, 0], angle[i, 1]
