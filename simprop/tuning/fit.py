"""Least squares over readings: figures with their uncertainty, what readings leave open, and which of them contradict.

Everything is reckoned in logarithms: a figure as x = ln(value / value of the rig) / spread, a reading by its share. Of
the scaled Jacobian (reading over its standard deviation, by x) the singular directions with a value above 1 are told by
the readings better than they were known before; the fit moves along these alone, and along the others the rig's own
figures stay. The solver is scipy's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy import optimize, stats

from simprop.geometry.arrays import Array

Model = Callable[[Array], Array]
"""Logarithms of all rows of the sheet at x; NaN where such figures can't be, or a row isn't there."""
STEP = 0.2
"""Step of the differences, in spreads of a figure."""
FAR = 1.5
"""A Jacobian holds so far from where it was taken, in spreads of a figure."""
ROUNDS = 3
TOLD = 0.5
"""A figure is told when it is known to this share of its spread."""
UNTOUCHED = 0.95
"""A figure of which so much lies along open directions is one of which the readings say nothing."""
TIED = 0.15
"""Two figures aren't told apart when the part of one along the open directions goes with the other's by so much."""
TOGETHER = 0.95
"""How often all bands that are printed hold the true values, together."""
DOUBT = 1e-3
"""Readings contradict each other when chance gives less than this."""

SLIP = 3.0
"""A reading that would have to be so many times further off than another (in logarithms) isn't the wrong one."""


@dataclass(frozen=True)
class Fitted:
    """What readings say of p figures.

    Attributes:
        x: where the figures end up, (p,), in spreads from the rig's.
        slopes: of all m rows by x, (m, p).
        given: indices of the n rows that were read.
        sd: standard deviation of the logarithm of each row, (m,).
        residual: of each reading over its standard deviation, (n,).
        covariance: of x, (p, p).
        open: projector on the directions that readings leave open, (p, p).
        leverage: of each reading on its own prediction, (n,).
        strong: number of directions that the readings tell.
        refused: whether figures were tried on the way that can't be.
    """

    x: Array
    slopes: Array
    given: tuple[int, ...]
    sd: Array
    residual: Array
    covariance: Array
    open: Array
    leverage: Array
    strong: int
    refused: bool

    @property
    def deviation(self) -> Array:
        """Standard deviation of x, (p,)."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def told(self) -> tuple[int, ...]:
        """The figures that readings tell."""
        return tuple(int(j) for j in np.flatnonzero(self.deviation < TOLD))

    @property
    def touched(self) -> tuple[int, ...]:
        """The figures of which readings say anything, alone or with others."""
        return tuple(int(j) for j in np.flatnonzero(np.diag(self.open) < UNTOUCHED))


@dataclass(frozen=True)
class _Directions:
    strong: Array
    weak: Array
    sizes: Array
    seen: Array


def fit(model: Model, count: int, given: Sequence[int], values: Array, sd: Array) -> Fitted:
    """Fit figures to readings.

    Args:
        model: what is predicted.
        count: of figures, p.
        given: indices of the n rows that were read.
        values: logarithms of the readings, (n,).
        sd: standard deviation of the logarithm of each of the m rows as read, or as it would be, (m,).

    Source: truncated singular value decomposition of a linearised least squares, any text on inverse problems.

    Example:
        >>> add = np.array([[1.0, 1.0]])
        >>> found = fit(lambda x: 0.1 * add @ x, 2, [0], np.array([0.2]), np.array([0.01]))
        >>> found.x.round(3), found.told, found.strong
        (array([1., 1.]), (), 1)
    """
    rows, refused = list(given), False
    at = np.zeros(count)
    slopes = jacobian(model, at)
    for _ in range(ROUNDS):
        parted = _parted(slopes[rows] / sd[rows, None])
        if not parted.strong.shape[1]:
            break
        x, failed = _solved(model, at, parted, slopes[rows] / sd[rows, None], rows, values, sd)
        refused = refused or failed
        if np.abs(x - at).max() <= FAR:
            at = x
            break
        at = x
        slopes = jacobian(model, at)
    parted = _parted(slopes[rows] / sd[rows, None])
    residual = (model(at)[rows] - values) / sd[rows]
    scaled = parted.strong / parted.sizes
    covariance = scaled @ scaled.T + parted.weak @ parted.weak.T
    return Fitted(
        at, slopes, tuple(rows), sd, residual, covariance, parted.weak @ parted.weak.T,
        (parted.seen**2).sum(axis=1), len(parted.sizes), refused,
    )  # fmt: skip


def _parted(scaled: Array) -> _Directions:
    """The directions that readings tell, (p, k) with their singular values, and the rest, (p, p - k)."""
    u, s, vt = np.linalg.svd(scaled)
    k = int((s > 1.0).sum())
    return _Directions(vt[:k].T, vt[k:].T, s[:k], u[:, :k])


def _solved(
    model: Model, start: Array, parted: _Directions, scaled: Array, rows: list[int], values: Array, sd: Array
) -> tuple[Array, bool]:
    """Where the residuals are least along the told directions, and whether figures that can't be were met."""
    failed = False
    slope = scaled @ parted.strong

    def residual(z: Array) -> Array:
        nonlocal failed
        found = (model(start + parted.strong @ z)[rows] - values) / sd[rows]
        failed = failed or not np.isfinite(found).all()
        return np.asarray(found)

    if not np.isfinite(residual(np.zeros(slope.shape[1]))).all():
        return start, True
    result = optimize.least_squares(
        residual, np.zeros(slope.shape[1]), jac=lambda z: slope, xtol=1e-3, ftol=1e-3, gtol=None, max_nfev=25
    )
    return start + parted.strong @ result.x, failed


def jacobian(model: Model, at: Array) -> Array:
    """Slopes of all rows by x, (m, p), by differences of `STEP`; the other way where that can't be.

    A row that isn't there on both sides has no slope.
    """
    here = model(at)
    columns = []
    for j in range(len(at)):
        for step in (STEP, -STEP):
            moved = at.copy()
            moved[j] += step
            slope = (model(moved) - here) / step
            if np.isfinite(slope[np.isfinite(here)]).all():
                break
        columns.append(np.where(np.isfinite(slope), slope, 0.0))
    return np.array(columns).T.reshape(len(here), len(at))


def cover(fitted: Fitted) -> float:
    """How many standard deviations each printed band is wide to either side, so that all hold together (Sidak, 1967).

    Example:
        >>> one = fit(lambda x: 0.1 * x, 1, [0], np.array([0.1]), np.array([0.01]))
        >>> round(cover(one), 2)
        1.96
    """
    count = max(len(fitted.told), 1)
    return float(stats.norm.ppf((1 + TOGETHER ** (1 / count)) / 2))


def tied(fitted: Fitted) -> tuple[tuple[int, ...], ...]:
    """Figures that the readings touch and don't tell apart, in groups; what no reading touches is alone."""
    left = [j for j in range(len(fitted.x)) if j not in fitted.told]
    groups: list[set[int]] = []
    for j in left:
        own = {j} | {i for i in left if i != j and abs(fitted.open[i, j]) > TIED}
        meets = [g for g in groups if g & own]
        groups = [g for g in groups if not g & own] + [own.union(*meets)]
    return tuple(tuple(sorted(g)) for g in groups)


@dataclass(frozen=True)
class Further:
    """A reading that would tell more.

    Attributes:
        row: its index.
        tells: figures that would be told with it.
        deviation: standard deviation of x then, (p,).
    """

    row: int
    tells: tuple[int, ...]
    deviation: Array


def further(fitted: Fitted, group: Sequence[int]) -> Further | None:
    """The one further row of the sheet that tells most of a group of figures; None where none tells any apart."""
    best: Further | None = None
    most = 0.0
    own = list(group)
    for row in range(len(fitted.slopes)):
        if row in fitted.given or not np.isfinite(fitted.sd[row]):
            continue
        way = fitted.covariance @ (fitted.slopes[row] / fitted.sd[row])
        drop = way**2 / (1.0 + float(fitted.slopes[row] / fitted.sd[row] @ way))
        after = np.sqrt(np.maximum(np.diag(fitted.covariance) - drop, 0.0))
        tells = tuple(j for j in own if after[j] < TOLD)
        if tells and float(drop[own].sum()) > most:
            best, most = Further(row, tells, after), float(drop[own].sum())
    return best


@dataclass(frozen=True)
class Contradiction:
    """Readings that can't all be right.

    Attributes:
        named: by their place among those given.
        each: without any one of them the others agree; False: more than one is wrong, and these are furthest off.
    """

    named: tuple[int, ...]
    each: bool


def contradicting(fitted: Fitted) -> Contradiction | None:
    """Readings that contradict the others; None where all agree.

    They contradict where the sum of squares is larger than chance lets it be (chi-square), or one residual is. Named
    is each reading without which the rest agree; where there is no such one, those that are furthest off.
    """
    r, free = fitted.residual, 1.0 - fitted.leverage
    spare = len(r) - fitted.strong
    if spare <= 0:
        return None
    apart = np.where(free > 1e-6, r / np.sqrt(np.maximum(free, 1e-6)), 0.0)
    total = float(r @ r)
    worst = float(np.abs(apart).max())
    if total <= stats.chi2.isf(DOUBT, spare) and worst <= stats.norm.isf(DOUBT / 2 / len(r)):
        return None
    rest = total - apart**2
    limit = float(stats.chi2.isf(DOUBT, spare - 1)) if spare > 1 else 0.01 * total
    slip = np.abs(r) * fitted.sd[list(fitted.given)] / np.maximum(free, 1e-6)
    mends = np.flatnonzero(rest <= limit)
    mends = mends[slip[mends] <= SLIP * slip[mends].min(initial=np.inf)]
    named = mends if len(mends) else np.flatnonzero(np.abs(apart) > 0.7 * worst)
    return Contradiction(tuple(int(i) for i in named), bool(len(mends)))
