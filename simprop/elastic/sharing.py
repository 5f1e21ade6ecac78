"""How joints share a load that balance alone leaves open: the split that stores the least elastic energy.

Of all loads that balance a step, joints and bodies that obey Hooke's law take those of the least complementary energy
(Castigliano, Menabrea). Rigid bodies leave only a few directions open; the search is among these. Compiled: it runs at
every step.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from simprop.compiled import compiled

OWN = 1e-9
"""Weight of a joint's own components where it is to take all that it can."""


@compiled
def share(x: Any, open_: Any, give: Any, moved: Any, load: Any, matrix: Any) -> Any:
    """Joint components with the least energy among those that balance.

    Args:
        x: components that balance each step, (n, columns).
        open_: directions that balance leaves open, square to each other, (n, columns, s); zeros where a step has fewer.
        give: what joints give for unit components: a symmetric matrix with no negative eigenvalue, (columns, columns).
        moved: loads of each of H bodies for a unit of each direction, (n, H, q, s).
        load: loads of each body with the components `x`, (n, H, q).
        matrix: energy of each body's loads, (H, q, q): see `simprop.elastic.frame.Answer`.

    Returns:
        (n, columns).

    Source: least work (Menabrea 1858; any text on statically indeterminate structures).

    Example:
        >>> x, open_ = np.array([[6.0, 0.0]]), np.array([[[0.5**0.5], [-(0.5**0.5)]]])
        >>> none = np.zeros((1, 0, 0, 1)), np.zeros((1, 0, 0)), np.zeros((0, 0, 0))
        >>> share(x, open_, np.diag(np.array([1.0, 2.0])), *none).round(9).tolist()  # springs of 1 and 1/2 side by side
        [[4.0, 2.0]]
    """
    n, columns, count = open_.shape
    bodies, places = matrix.shape[0], matrix.shape[1]
    found = x.copy()
    form, slope = np.empty((count, count)), np.empty(count)
    part = np.empty((max(columns, places), count))
    for step in range(n):
        form[:] = 0.0
        slope[:] = 0.0
        _add(give, open_[step], x[step], form, slope, part)
        for h in range(bodies):
            _add(matrix[h], moved[step, h], load[step, h], form, slope, part)
        _solve(form, slope)
        for s in range(count):
            for c in range(columns):
                found[step, c] -= slope[s] * open_[step, c, s]
    return found


@compiled
def alone(x: Any, open_: Any, own: Any) -> Any:
    """Joint components where one joint takes all that it can and the others as little as balance allows.

    Args:
        x: components that balance each step, (n, columns).
        open_: directions that balance leaves open, (n, columns, s), as for `share`.
        own: which components are this joint's, (columns,) booleans.

    Returns:
        (n, columns): the others' sum of squares is the least that there is.

    Example:
        >>> x, open_ = np.array([[3.0, 3.0]]), np.array([[[0.5**0.5], [-(0.5**0.5)]]])
        >>> alone(x, open_, np.array([True, False])).round(6).tolist()
        [[6.0, 0.0]]
    """
    n, columns, count = open_.shape
    found = x.copy()
    form, slope = np.empty((count, count)), np.empty(count)
    for step in range(n):
        form[:] = 0.0
        slope[:] = 0.0
        for c in range(columns):
            for s in range(count):
                part = open_[step, c, s]
                form[s, s] += part * part  # square to each other: all of them together give nothing else
                if own[c]:
                    part *= OWN
                slope[s] += part * x[step, c]
        for c in range(columns):
            for s in range(count if own[c] else 0):
                part = (1.0 - OWN) * open_[step, c, s]
                for t in range(s + 1):
                    form[s, t] -= part * open_[step, c, t]
        _solve(form, slope)
        for s in range(count):
            for c in range(columns):
                found[step, c] -= slope[s] * open_[step, c, s]
    return found


@compiled
def _add(give: Any, moved: Any, load: Any, form: Any, slope: Any, part: Any) -> None:
    """Add moved' give moved to the lower half of `form`, and moved' give load to `slope`."""
    size, count = moved.shape
    part[:size] = 0.0
    for i in range(size):
        for j in range(size):
            if give[i, j] != 0.0:  # joints give each by itself
                for s in range(count):
                    part[i, s] += give[i, j] * moved[j, s]
    for i in range(size):
        for s in range(count):
            slope[s] += part[i, s] * load[i]
            for t in range(s + 1):
                form[s, t] += part[i, s] * moved[i, t]


@compiled
def _solve(form: Any, slope: Any) -> None:
    """Solve a small symmetric system given by its lower half, in place; what has no stiffness stays 0."""
    count = len(slope)
    most = 0.0
    for s in range(count):
        most = max(most, form[s, s])
    for s in range(count):
        for t in range(s + 1):
            total = form[s, t]
            for k in range(t):
                total -= form[s, k] * form[t, k]
            if s > t:
                form[s, t] = total * form[t, t]
            else:
                form[s, s] = 1.0 / np.sqrt(total) if total > 1e-14 * most else 0.0
    for s in range(count):
        for k in range(s):
            slope[s] -= form[s, k] * slope[k]
        slope[s] *= form[s, s]
    for s in range(count - 1, -1, -1):
        for k in range(s + 1, count):
            slope[s] -= form[k, s] * slope[k]
        slope[s] *= form[s, s]
