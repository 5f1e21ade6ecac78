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
ARM_REACH = 0.85
"""How far an arm reaches over a barrier, m; ISO 13857 upper limbs, from memory."""

STANDING_NOTE = "850 mm, ISO 13857 upper limbs, from memory; children reach less far but slip through"


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


def lever_force(torque: float, rate: Array, speed: Array) -> float | None:
    """Force at a point when a motor's stall torque meets a hand there: at the point's fastest moment, N.

    Args:
        torque: stall torque of the motor, N*m (a force N for a sliding drive).
        rate: of the driven axis, (n,) rad/s (m/s).
        speed: of the point, (n,) m/s.

    Returns:
        torque x rate / speed there; None where the point doesn't move. Nearer to a dead centre the force is larger
        without a bound.

    Source: virtual work; weight and friction left out.

    Example:
        >>> lever_force(2.0, np.array([3.0, 3.0]), np.array([1.5, 0.2]))
        4.0
    """
    at = int(np.argmax(speed))
    if speed[at] < 1e-6:
        return None
    return float(torque * abs(rate[at]) / speed[at])


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
