"""The search through the whole of all ranges and choices: Optuna proposes, in batches, and is told in their order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from simprop.study.find.space import at, continuous
from simprop.study.find.wanted import FAILED, Candidate, Wanted, aims
from simprop.study.types import Variant
from simprop.study.vary.ranges import Span, values, written

BATCH = 8
"""Variants that are proposed together whatever the number of processes: the same seed searches the same way."""
START = 2
"""Batches that are spread evenly through all spans before the search leans on what was found."""

Try = Callable[[Sequence[Variant]], Sequence[Candidate]]
"""Tries some variants and judges them, in their order."""
Enough = Callable[[], bool]
"""Whether what was found is enough."""


def searched(
    spans: Sequence[Span], wanted: Wanted, tries: int, seed: int, attempt: Try, enough: Enough
) -> None:
    """Try variants all over some spans, more and more of them near the best.

    Args:
        spans: what changes.
        wanted: what for.
        tries: variants at most.
        seed: the same one tries the same variants.
        attempt: tries a batch.
        enough: asked after each batch.
    """
    import optuna

    optuna.logging.set_verbosity(optuna.logging.ERROR)
    sampler = optuna.samplers.TPESampler(seed=seed, multivariate=True, n_startup_trials=START * BATCH)
    study = optuna.create_study(directions=["minimize"] * max(1, len(wanted.goals)), sampler=sampler)
    every = {span.field: _distribution(span) for span in spans}
    for first in _spread(every, min(tries, START * BATCH), seed):
        study.enqueue_trial(first)
    for done in range(0, tries, BATCH):
        trials = [study.ask(every) for _ in range(min(BATCH, tries - done))]
        variants = [_variant(spans, trial.params) for trial in trials]
        for trial, found in zip(trials, attempt(variants), strict=True):
            _tell(study, trial, wanted, found)
        if enough():
            return


def _distribution(span: Span) -> Any:
    """What Optuna may choose of a span: a share, a whole number, a place in an ordered list, or a choice."""
    from optuna.distributions import CategoricalDistribution, FloatDistribution, IntDistribution

    if span.choices:
        return CategoricalDistribution(span.choices)
    if continuous(span):
        return FloatDistribution(0.0, 1.0)
    every = values(span)
    assert span.low is not None
    assert span.high is not None
    return IntDistribution(0, len(every) - 1) if every else IntDistribution(int(span.low), int(span.high))


def _spread(every: dict[str, Any], count: int, seed: int) -> list[dict[str, Any]]:
    """The first variants: a Latin hypercube."""
    from optuna.distributions import CategoricalDistribution, FloatDistribution
    from scipy.stats import qmc

    def value(own: Any, share: float) -> Any:
        if isinstance(own, FloatDistribution):
            return own.low + share * (own.high - own.low)
        if isinstance(own, CategoricalDistribution):
            return own.choices[int(share * len(own.choices))]
        return own.low + int(share * (own.high - own.low + 1))

    rows = qmc.LatinHypercube(len(every), seed=seed).random(count)
    return [
        {field: value(own, float(u)) for (field, own), u in zip(every.items(), row, strict=True)}
        for row in rows
    ]


def _variant(spans: Sequence[Span], values_of: dict[str, Any]) -> Variant:
    return Variant(tuple((span.field, _text(span, values_of[span.field])) for span in spans))


def _text(span: Span, value: Any) -> str:
    if span.choices:
        return str(value)
    if continuous(span):
        return at(span, float(value))
    every = values(span)
    return every[int(value)] if every else written(span, float(value))


def _tell(study: Any, trial: Any, wanted: Wanted, found: Candidate) -> None:
    """Tell what came of a trial: its aims, and each bound as a constraint; with wants alone these are the aim."""
    failed = found.outcome.ended not in ("done", "ruled out")
    trial.set_constraint("tried", FAILED if failed else 0.0)
    for k, miss in enumerate(found.misses):
        if wanted.goals or k >= wanted.wants:
            trial.set_constraint(f"bound {k}", FAILED if failed else miss)
    study.tell(trial, list(aims(wanted, found)))
