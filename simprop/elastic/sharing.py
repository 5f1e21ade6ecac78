"""How joints share a load that balance alone leaves open: the split that stores the least elastic energy.

Of all loads that balance a step, joints and bodies that obey Hooke's law take those of the least complementary energy
(Castigliano, Menabrea). Rigid bodies leave only a few directions open; the search is among these.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simprop.geometry.arrays import Array

_NOTHING = 1e-10
"""Share of the largest stiffness of a direction below which the direction isn't open."""


@dataclass(frozen=True)
class Bodies:
    """Quadratic forms of what bodies store, over several steps.

    Attributes:
        carry: for each body, loads at its places for unit components, (n, q, columns).
        known: for each body, its loads that don't depend on the components, (n, q).
        matrix: for each body, `simprop.elastic.frame.Answer.matrix`, (q, q).
    """

    carry: tuple[Array, ...]
    known: tuple[Array, ...]
    matrix: tuple[Array, ...]


def share(x: Array, open_: Array, give: Array, bodies: Bodies) -> Array:
    """Joint components with the least energy among those that balance.

    Args:
        x: components that balance each step, (n, columns).
        open_: directions that balance leaves open, (n, columns, s); a step may have fewer than s: then columns repeat
            or vanish.
        give: what joints give for unit components: a symmetric matrix with no negative eigenvalue, (columns, columns).
        bodies: what the bodies store.

    Returns:
        (n, columns).

    Source: least work (Menabrea 1858; any text on statically indeterminate structures).

    Example:
        >>> x, open_ = np.array([[6.0, 0.0]]), np.array([[[1.0], [-1.0]]])
        >>> share(x, open_, np.diag([1.0, 2.0]), Bodies((), (), ())).tolist()  # springs of 1 and 1/2 side by side
        [[4.0, 2.0]]
    """
    weighted = give @ open_
    form = np.einsum("ncs,nct->nst", open_, weighted)
    slope = np.einsum("ncs,nc->ns", weighted, x)
    for carry, known, matrix in zip(bodies.carry, bodies.known, bodies.matrix, strict=True):
        moved = carry @ open_
        form += np.einsum("nqs,qr,nrt->nst", moved, matrix, moved, optimize=True)
        load = known + np.einsum("nqc,nc->nq", carry, x)
        slope += np.einsum("nqs,nq->ns", moved, load @ matrix)
    return np.asarray(x - np.einsum("ncs,ns->nc", open_, _solved(form, slope)))


def alone(x: Array, open_: Array, own: NDArray[np.bool_]) -> Array:
    """Joint components where one joint takes all that it can and the others as little as balance allows.

    Args:
        x: components that balance each step, (n, columns).
        open_: directions that balance leaves open, (n, columns, s).
        own: which components are this joint's, (columns,) booleans.

    Returns:
        (n, columns): the others' sum of squares is the least that there is.

    Example:
        >>> x, open_ = np.array([[3.0, 3.0]]), np.array([[[1.0], [-1.0]]])
        >>> alone(x, open_, np.array([True, False])).round(6).tolist()
        [[6.0, 0.0]]
    """
    return share(x, open_, np.diag(np.where(own, 1e-9, 1.0)), Bodies((), (), ()))


def _solved(form: Array, slope: Array) -> Array:
    """Solutions of small symmetric systems that may lack rank, (n, s)."""
    values, vectors = np.linalg.eigh(form)
    top = np.maximum(values[:, -1:], 1e-300)
    inverse = np.where(values > _NOTHING * top, 1.0 / np.where(values > 0, values, 1.0), 0.0)
    turned = np.einsum("nst,ns->nt", vectors, slope)
    return np.asarray(np.einsum("nst,nt->ns", vectors, inverse * turned))
