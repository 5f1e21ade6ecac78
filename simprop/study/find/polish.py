"""From a good variant to the best beside it: its choices stay, its continuous values move.

Wants alone are a bounded problem of least squares (scipy's dogleg in a box, its slopes by differences that are run
together; its reflecting trust region crawls while much is missed); with goals it is a constrained one without slopes
(COBYQA), and of the best with one goal once more by a simplex (Nelder and Mead): peaks and lowest margins have kinks,
along which it goes on where smooth models stop.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from simprop.geometry.arrays import Array
from simprop.study.find.search import Try
from simprop.study.find.space import moved, shares_of
from simprop.study.find.wanted import CLOSE, SHARE, Candidate, Wanted, answer, off
from simprop.study.types import Variant
from simprop.study.vary.ranges import Span

STEP = 2e-3
"""Of a range, by which slopes are taken."""
ROUNDS = 12
"""Steps of least squares, at most."""
SLACK = 0.1
"""How far within its limit what has to be kept is brought, in its scale: rounding may take that back."""
WORST = 1e4
"""What a variant that can't be tried counts in each bound."""
PRICE = 10.0
"""What missing a limit by all of it costs a simplex, in sizes of a goal."""
WIDE = 0.1
"""Of a range, by how much the corners of a simplex lie apart at first."""


class _MetError(Exception):
    """What was wanted is met: no step would better it."""


def polished(
    spans: Sequence[Span],
    wanted: Wanted,
    start: Candidate,
    attempt: Try,
    shift: Sequence[float] | None = None,
    *,
    along_kinks: bool = False,
) -> Variant | None:
    """The best variant beside one, its values not rounded; None where nothing in it is continuous.

    Args:
        spans: what may change.
        wanted: what for.
        start: where from.
        attempt: tries some variants.
        shift: what a settled run's answers are above those that `attempt` gives, SI, by question.
        along_kinks: of goals, by a simplex from there on.
    """
    shares = np.array(shares_of(spans, start.variant))
    if not len(shares):
        return None
    attempted = _Attempted(spans, wanted, start.variant, attempt, shift)
    best = shares if along_kinks else _least_squares(attempted, shares)
    if wanted.goals:
        best = _constrained(attempted, best, along_kinks)
    return moved(spans, start.variant, [float(v) for v in best], None)


class _Attempted:
    """Answers at places beside a variant, each tried once.

    Args:
        spans: what may change.
        wanted: what for.
        variant: whose choices stay.
        attempt: tries some variants.
        shift: put on every answer.
    """

    def __init__(
        self,
        spans: Sequence[Span],
        wanted: Wanted,
        variant: Variant,
        attempt: Try,
        shift: Sequence[float] | None,
    ):
        self.spans, self.wanted = spans, wanted
        self._variant, self._attempt, self._shift = variant, attempt, shift
        self._known: dict[bytes, Candidate] = {}

    def all(self, places: Sequence[Array]) -> list[Candidate]:
        """What comes of each place, (p,) shares."""
        keys = [np.asarray(place).round(9).tobytes() for place in places]
        new = {key: place for key, place in zip(keys, places, strict=True) if key not in self._known}
        if new:
            variants = [moved(self.spans, self._variant, list(place), None) for place in new.values()]
            self._known.update(zip(new, self._attempt(variants), strict=True))
        return [self._known[key] for key in keys]

    def value(self, found: Candidate, ask: int) -> float | None:
        """An answer, as a settled run would have it."""
        own = answer(found.outcome, ask)
        return own if own is None or self._shift is None else own + self._shift[ask]

    def offs(self, found: Candidate) -> Array:
        """How far each bound is off, in its scale: of wants, signed; of the rest with some slack."""
        wanted, out = self.wanted, []
        for bound, ask, unit in zip(wanted.bounds, wanted.asks, wanted.scales, strict=True):
            value = self.value(found, ask)
            if value is None:
                out.append(np.nan)
            elif bound.value is not None:
                out.append(off(bound, value, unit))
            else:
                below = 0.0 if bound.least is None else (value - bound.least) / unit - SLACK
                above = 0.0 if bound.most is None else (value - bound.most) / unit + SLACK
                out.append(min(below, 0.0) + max(above, 0.0))
        return np.array(out)


def _least_squares(attempted: _Attempted, start: Array) -> Array:
    """Where all that is wanted is met, or nearest to it."""
    from scipy.optimize import least_squares

    best: list[Array] = [start]
    lowest = [np.inf]

    def residuals(x: Array) -> Array:
        (found,) = attempted.all([x])
        own = attempted.offs(found)
        total = float(own @ own)
        if total < lowest[0]:
            lowest[0], best[0] = total, np.array(x)
        if np.isfinite(own).all() and np.abs(own).max(initial=0.0) < CLOSE / 10:
            raise _MetError
        return np.asarray(np.where(np.isfinite(own), own, WORST))

    def slopes(x: Array) -> Array:
        steps = np.where(x + STEP <= 1.0, STEP, -STEP)
        places = [x, *(x + np.eye(len(x))[k] * steps[k] for k in range(len(x)))]
        here, *there = (attempted.offs(found) for found in attempted.all(places))
        slope = np.array([(other - here) / step for other, step in zip(there, steps, strict=True)]).T
        return np.asarray(np.where(np.isfinite(slope), slope, 0.0))

    inside = np.clip(start, 1e-6, 1 - 1e-6)
    try:
        if attempted.wanted.bounds:
            least_squares(
                residuals,
                inside,
                slopes,
                bounds=(0.0, 1.0),
                method="dogbox",
                max_nfev=ROUNDS,
                xtol=1e-6,
                ftol=1e-8,
                x_scale=0.1,
            )
    except _MetError:
        pass
    return best[0]


def _constrained(attempted: _Attempted, start: Array, along_kinks: bool) -> Array:
    """Where the goals are least and all that is wanted is met; of several goals none gets worse than at the start."""
    wanted = attempted.wanted
    here = _goals(attempted, start, np.ones(len(wanted.goals)))
    if not np.isfinite(here).all():
        return start
    sizes = np.where(here == 0.0, 1.0, np.abs(here))
    low, high = _sides(wanted)
    if len(here) > 1:
        low, high = np.append(low, here * 0 - np.inf), np.append(high, here / sizes)
    best: list[Array] = [start]
    lowest = [np.inf]

    def limits(x: Array) -> Array:
        own = _places(attempted, x)
        return np.append(own, _goals(attempted, x, sizes)) if len(here) > 1 else own

    def kept(x: Array) -> Array:
        own = limits(x)
        failed = np.where(np.isfinite(low), low - WORST, high + WORST)
        return np.asarray(np.where(np.isfinite(own), own, failed))

    def aim(x: Array) -> float:
        total, own = float(_goals(attempted, x, sizes).sum()), limits(x)
        holds = bool(np.all(own >= low - 1e-6) and np.all(own <= high + 1e-6))
        if np.isfinite(total) and holds and total < lowest[0]:
            lowest[0], best[0] = total, np.array(x)
        return total if np.isfinite(total) else WORST

    (_simplex if along_kinks else _modelled)(aim, kept, low, high, start)
    return best[0]


Kept = Callable[[Array], Array]
"""Answers at a place that have to lie between two sides."""


def _modelled(aim: Callable[[Array], float], kept: Kept, low: Array, high: Array, start: Array) -> None:
    """Go down by quadratic models."""
    from scipy.optimize import NonlinearConstraint, minimize

    minimize(
        aim,
        np.clip(start, 0.0, 1.0),
        method="COBYQA",
        bounds=[(0.0, 1.0)] * len(start),
        constraints=NonlinearConstraint(kept, low, high) if len(low) else (),
        options={
            "maxfev": 20 + 12 * len(start),
            "initial_tr_radius": 0.05,
            "final_tr_radius": 2e-4,
            "feasibility_tol": 1e-6,
        },
    )


def _simplex(aim: Callable[[Array], float], kept: Kept, low: Array, high: Array, start: Array) -> None:
    """Go down by a simplex, with a price on what is missed."""
    from scipy.optimize import minimize

    def priced(x: Array) -> float:
        own = kept(x)
        missed = np.maximum(low - own, 0.0) + np.maximum(own - high, 0.0)
        return aim(x) + PRICE * float(missed.sum())

    corners = np.tile(np.clip(start, 0.0, 1.0), (len(start) + 1, 1))
    for k, share in enumerate(corners[0]):
        corners[k + 1, k] += WIDE if share + WIDE <= 1.0 else -WIDE
    minimize(
        priced,
        corners[0],
        method="Nelder-Mead",
        bounds=[(0.0, 1.0)] * len(start),
        options={"maxfev": 40 * len(start), "initial_simplex": corners, "xatol": 1e-3, "fatol": 1e-5},
    )


def _goals(attempted: _Attempted, x: Array, sizes: Array) -> Array:
    """Answers to the goals at a place, each the less the better, in some sizes; NaN where one isn't known."""
    (found,) = attempted.all([x])
    own = [attempted.value(found, goal.ask) for goal in attempted.wanted.goals]
    told = [np.nan if v is None else g.sign * v for v, g in zip(own, attempted.wanted.goals, strict=True)]
    return np.array(told) / sizes


def _places(attempted: _Attempted, x: Array) -> Array:
    """Answers to what is bounded at a place, in sizes of a limit; NaN where one isn't known."""
    wanted = attempted.wanted
    (found,) = attempted.all([x])
    own = [attempted.value(found, ask) for ask in wanted.asks]
    told = [np.nan if v is None else SHARE * v / unit for v, unit in zip(own, wanted.scales, strict=True)]
    return np.array(told)


def _sides(wanted: Wanted) -> tuple[Array, Array]:
    """Between what those have to lie: a want closely, the rest with some slack."""
    low, high = list[float](), list[float]()
    for bound, unit in zip(wanted.bounds, wanted.scales, strict=True):
        if bound.value is not None:
            low.append(SHARE * (bound.value / unit - CLOSE / 2))
            high.append(SHARE * (bound.value / unit + CLOSE / 2))
            continue
        low.append(-np.inf if bound.least is None else SHARE * (bound.least / unit + SLACK))
        high.append(np.inf if bound.most is None else SHARE * (bound.most / unit - SLACK))
    return np.array(low), np.array(high)
