"""Several fasteners that share a force and a twist (elastic bolt group)."""

from __future__ import annotations

import numpy as np

from simprop.geometry.arrays import Array


def bolt_forces(places: Array, force: Array, torque: float) -> Array:
    """In-plane force on each fastener of a group.

    Args:
        places: of the fasteners in their plane, (k, 2) m.
        force: on the group, through its centre, (2,) N.
        torque: on the group about its centre, N*m, counter-clockwise.

    Returns:
        (k, 2) N.

    Source: elastic method, any textbook: F/n plus T r / sum r^2, as vectors.

    Example:
        >>> square = np.array([[20.0, 20.0], [-20.0, 20.0], [-20.0, -20.0], [20.0, -20.0]]) * 1e-3
        >>> forces = bolt_forces(square, np.array([0.0, -100.0]), -100.0 * 0.150)
        >>> round(float(np.linalg.norm(forces, axis=1).max()), 3)
        151.296
    """
    arms = places - places.mean(axis=0)
    square = float((arms**2).sum())
    turned = np.stack([-arms[:, 1], arms[:, 0]], axis=1)
    share = turned * (torque / square) if square > 0 else np.zeros_like(arms)
    return force / len(places) + share


def bolt_pulls(places: Array, force: float, moment: Array) -> Array:
    """Pull on each fastener of a group from a force along them and a moment that pries.

    Args:
        places: (k, 2) m.
        force: along the fasteners, pull positive, N.
        moment: about the two axes of the plane, (2,) N*m.

    Returns:
        (k,) N.

    Source: elastic method about the centre of the group (no help from the plate's edge: the safe side).

    Example:
        >>> pair = np.array([[0.0, 0.02], [0.0, -0.02]])
        >>> bolt_pulls(pair, 10.0, np.array([2.0, 0.0])).round(9).tolist()
        [55.0, -45.0]
    """
    arms = places - places.mean(axis=0)
    about_x, about_y = float((arms[:, 1] ** 2).sum()), float((arms[:, 0] ** 2).sum())
    pull = np.full(len(places), force / len(places))
    if about_x > 0:
        pull = pull + moment[0] * arms[:, 1] / about_x
    if about_y > 0:
        pull = pull - moment[1] * arms[:, 0] / about_y
    return pull
