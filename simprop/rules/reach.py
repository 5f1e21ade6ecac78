"""Reach and pinch: gaps between moving parts, speed, energy and force where a visitor can reach.

Everything here is a warning for a person to judge, never a certificate.
"""

from __future__ import annotations

import numpy as np

from simprop.geometry.arrays import Array

CRUSH_GAPS = {
    "finger": 0.025,
    "toes": 0.050,
    "hand": 0.100,
    "arm": 0.120,
    "foot": 0.120,
    "leg": 0.180,
    "head": 0.300,
    "body": 0.500,
}
"""Least gap that doesn't crush a part of the body, m; ISO 13854, adults: children need more room."""
LOWER_LIMBS = ("toes", "foot", "leg")
CONTACT_FORCES = {
    "face": 65.0,
    "abdomen": 110.0,
    "skull": 130.0,
    "lower leg": 130.0,
    "hand": 140.0,
    "chest": 140.0,
    "neck": 150.0,
    "arm": 150.0,
    "forearm": 160.0,
    "pelvis": 180.0,
    "back": 210.0,
    "thigh": 220.0,
}
"""Steady contact force that adult workers are held to bear, N; ISO/TS 15066:2016, from memory."""
VISITOR_FORCE = 50.0
"""Cautious line for visitors and children, N. Assumed: 50 to 65."""
VISITOR_ENERGY = 4.0
"""Kinetic energy of a powered part that asks for a look, J: low limit for powered doors without a safety edge, from
memory."""
ROUND_REACH = 0.85
"""How far an arm reaches round the edge of what it can't reach over, m; ISO 13857, from memory."""
FENCE_HEIGHTS = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.2, 2.4, 2.5, 2.7)
"""Heights of a fence in the columns of `OVER_REACH`, m; a lower one keeps nobody off."""
OVER_REACH = {
    0.0: (1.1, 0.5),
    0.2: (1.2, 0.9),
    0.4: (1.4, 1.2, 0.4),
    0.6: (1.4, 1.3, 0.8),
    0.8: (1.5, 1.3, 0.9, 0.6),
    1.0: (1.5, 1.4, 1.0, 0.8),
    1.2: (1.5, 1.4, 1.1, 0.9, 0.7),
    1.4: (1.5, 1.4, 1.1, 0.9, 0.8),
    1.6: (1.5, 1.4, 1.1, 0.9, 0.8, 0.5),
    1.8: (1.5, 1.4, 1.1, 0.9, 0.8, 0.6),
    2.0: (1.4, 1.3, 1.1, 0.9, 0.8, 0.6, 0.4),
    2.2: (1.3, 1.2, 1.0, 0.9, 0.8, 0.6, 0.4, 0.3),
    2.4: (1.1, 1.0, 0.9, 0.8, 0.7, 0.6, 0.4, 0.3, 0.1),
    2.6: (0.9, 0.8, 0.7, 0.6, 0.6, 0.5, 0.4, 0.3, 0.1),
    2.7: (),
}
"""Least horizontal distance of a hazard behind each fence by the hazard's height, m; nothing: 0. Reaching over a
protective structure at high risk, ISO 13857, from memory; adults."""


def over_reach(height: Array, fence: float) -> Array:
    """How far behind a fence something must stay that an arm over it isn't to reach, (n,) m; -inf out of all reach.

    Args:
        height: of what moves above the ground, (n,) m.
        fence: height of the fence, at least 1 m.

    Source: ISO 13857, reaching over at high risk, from memory; between two values of its table the safer one.

    Example:
        >>> over_reach(np.array([1.2, 1.3, 2.65, 2.8]), 1.1).tolist()
        [1.5, 1.5, 0.9, -inf]
    """
    column = int(np.searchsorted(FENCE_HEIGHTS, fence + 1e-9)) - 1
    rows = np.array(list(OVER_REACH))
    reach = np.array([(*row, *[0.0] * len(FENCE_HEIGHTS))[column] for row in OVER_REACH.values()])
    above = np.clip(np.searchsorted(rows, height), 0, len(rows) - 1)
    below = np.clip(np.searchsorted(rows, height, side="right") - 1, 0, len(rows) - 1)
    return np.where(height > rows[-1], -np.inf, np.maximum(reach[above], reach[below]))


def crushed(least: float, most: float) -> tuple[str, ...]:
    """Parts of the body that fit into a gap at its widest and are crushed at its narrowest.

    Args:
        least: smallest gap over the cycle, m.
        most: largest gap, m.

    Source: ISO 13854.

    Example:
        >>> crushed(0.020, 0.110)
        ('finger', 'toes', 'hand')
    """
    return tuple(part for part, gap in CRUSH_GAPS.items() if least < gap <= most)


def kinetic_energy(mass: float, inertia: Array, velocity: Array, spin: Array) -> Array:
    """Kinetic energy of a body, J.

    Args:
        mass: kg.
        inertia: in body axes, (3, 3) kg*m^2.
        velocity: of its centre of mass, (n, 3) m/s.
        spin: in body axes, (n, 3) rad/s.

    Returns:
        (n,) J.

    Example:
        >>> kinetic_energy(2.0, np.eye(3), np.array([[1.0, 0, 0]]), np.array([[0.0, 2.0, 0]])).tolist()
        [3.0]
    """
    return np.asarray(mass / 2 * (velocity**2).sum(-1) + np.einsum("ni,ij,nj->n", spin, inertia, spin) / 2)
