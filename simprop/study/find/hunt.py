"""From what is wanted to the variants that do it: all of the search in its order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from simprop.study.ask.measure import DEPTHS, needs_of
from simprop.study.find.front import front, spread
from simprop.study.find.polish import polished
from simprop.study.find.search import BATCH, START, searched
from simprop.study.find.space import DIGITS, chosen, continuous, moved, shares_of
from simprop.study.find.wanted import FAILED, Candidate, Found, Wanted, answer, judged, ranked
from simprop.study.types import Level, Outcome, Study, Variant
from simprop.study.vary.ranges import Span

FEW = 3
"""Of the best variants that are polished, settled and shown."""
APART = 0.05
"""Two variants with the same choices are one where no value of them is further apart, as a share of its range."""
AGAIN = 2
"""Polished again so often where a settled run says otherwise than a draft."""
NEAR = 10.0
"""Within so many hundredths of its limit an answer of a draft may be the other side of it when settled."""

Runner = Callable[[Study, Sequence[Variant], Level], Iterator[Outcome]]
"""Tries some variants of a study down to a level, in their order."""
Report = Callable[[str, int, int], None]


def tries_for(spans: Sequence[Span]) -> int:
    """How many variants a search tries where nothing is said: 24 for each field, and 24 more.

    Example:
        >>> tries_for([Span("throw", 30.0, 70.0, "mm")])
        48
    """
    return 24 + 24 * len(spans)


def hunted(
    study: Study,
    spans: Sequence[Span],
    wanted: Wanted,
    run: Runner,
    *,
    tries: int | None = None,
    seed: int = 1,
    search: Level | None = None,
    last: Level = "settled",
    report: Report | None = None,
) -> Found:
    """Search a study for the variants that do what is wanted.

    Args:
        study: of the rig, with all questions that are wanted.
        spans: what may change.
        wanted: bounds and goals, as `simprop.study.find.wanted.wanted_of` makes them.
        run: tries variants.
        tries: in the search through the whole; None: as `tries_for` has it.
        seed: the same one searches the same way.
        search: how deep variants are looked into while it searches; None: as `level_for` has it.
        last: how deep the best are looked into.
        report: told how far it is.
    """
    count = tries_for(spans) if tries is None else tries
    level: Level = search or level_for(study)
    told = report or (lambda stage, done, total: None)
    hunt = _Hunt(study, spans, wanted, run, level)
    own, best, stopped = None, list[Candidate](), False
    try:
        (own,) = hunt.settled([Variant()], last)
        told("searching", 0, count)
        searched(spans, wanted, count, seed, hunt.attempt, lambda: _enough(hunt, told, count))
        told("searching", 1, 1)
        starts = _few(spans, wanted, hunt.tried)
        for k, start in enumerate(starts):
            told("polishing", k, len(starts) + 1)
            _polish(spans, hunt, start)
        if len(wanted.goals) == 1:
            told("polishing", len(starts), len(starts) + 1)
            for start in _few(spans, wanted, hunt.tried, 1):
                _polish(spans, hunt, start, along_kinks=True)
        told("polishing", 1, 1)
        best = _settle(spans, hunt, last, told)
    except KeyboardInterrupt:
        stopped = True
        if own is None:
            raise
    best = best or _few(spans, wanted, hunt.tried, holding=True)
    fronted = front(wanted, hunt.tried) if len(wanted.goals) > 1 else ()
    return Found(
        study, tuple(spans), wanted, seed, own, tuple(best), fronted, tuple(hunt.tried), last, stopped
    )


def level_for(study: Study) -> Level:
    """How deep a search has to look: where a mechanism goes is enough where nothing else is asked."""
    deep = [DEPTHS.index(needs_of(text)) for text in study.asks]
    return "draft" if max(deep, default=0) > DEPTHS.index("swept") else "swept"


class _Hunt:
    """What a search has tried so far.

    Args:
        study: of it.
        spans: what changes.
        wanted: what for.
        run: tries variants.
        level: how deep.
    """

    def __init__(self, study: Study, spans: Sequence[Span], wanted: Wanted, run: Runner, level: Level):
        self.study, self.spans, self.wanted, self.level = study, spans, wanted, level
        self._run = run
        self._whole = replace(study, limits=())
        self._drafts: dict[Variant, Candidate] = {}
        self._beside: dict[Variant, Candidate] = {}
        self._settled: dict[Level, dict[Variant, Candidate]] = {}

    def attempt(self, variants: Sequence[Variant]) -> list[Candidate]:
        """Variants, each tried once as a draft, in their order; what misses a limit is asked no further."""
        return self._each(self._drafts, self.study, variants, self.level)

    def beside(self, variants: Sequence[Variant]) -> list[Candidate]:
        """Variants that only lead on to others: none of them is one to be built, and each is asked everything."""
        return self._each(self._beside, self._whole, variants, self.level)

    def settled(self, variants: Sequence[Variant], level: Level) -> list[Candidate]:
        """Variants to be shown, each asked everything."""
        known = self._settled.setdefault(level, {})
        return self._each(known, self._whole, variants, level)

    def _each(
        self, known: dict[Variant, Candidate], study: Study, variants: Sequence[Variant], level: Level
    ) -> list[Candidate]:
        new = [variant for variant in dict.fromkeys(variants) if variant not in known]
        for variant, outcome in zip(new, self._run(study, new, level) if new else (), strict=True):
            known[variant] = judged(self.wanted, variant, outcome)
        return [known[variant] for variant in variants]

    @property
    def tried(self) -> list[Candidate]:
        """All that were tried as drafts, in their order."""
        return list(self._drafts.values())


def _enough(hunt: _Hunt, told: Report, count: int) -> bool:
    """With wants alone, once a variant does all that is wanted; what the first batches found is polished for that."""
    told("searching", min(len(hunt.tried), count), count)
    if hunt.wanted.goals:
        return False
    if len(hunt.tried) == START * BATCH:
        for start in _few(hunt.spans, hunt.wanted, hunt.tried, 1):
            _polish(hunt.spans, hunt, start)
    return any(one.holds for one in hunt.tried)


def _few(
    spans: Sequence[Span],
    wanted: Wanted,
    tried: Sequence[Candidate],
    few: int = FEW,
    *,
    holding: bool = False,
) -> list[Candidate]:
    """The best few that differ in their choices, or in their values by more than a little.

    With several goals a few that no other beats. With `holding` only those that hold, where any does.
    """
    best = list[Candidate]()
    tried = [one for one in tried if one.variant.sets]
    if holding:
        tried = [one for one in tried if one.holds] or [one for one in tried if one.missed < FAILED] or tried
    if len(wanted.goals) > 1 and any(one.holds for one in tried):
        return list(spread(wanted, front(wanted, tried), few))
    for one in ranked(wanted, tried):
        if len(best) == few:
            break
        if all(_apart(spans, one, other) for other in best):
            best.append(one)
    return best


def _apart(spans: Sequence[Span], one: Candidate, other: Candidate) -> bool:
    if chosen(spans, one.variant) != chosen(spans, other.variant):
        return True
    pairs = zip(shares_of(spans, one.variant), shares_of(spans, other.variant), strict=True)
    return any(abs(a - b) > APART for a, b in pairs)


def _polish(
    spans: Sequence[Span],
    hunt: _Hunt,
    start: Candidate,
    shift: Sequence[float] | None = None,
    *,
    along_kinks: bool = False,
) -> Candidate:
    """The best beside a variant, with as few digits as do."""
    if not any(continuous(span) for span in spans) or start.outcome.ended not in ("done", "ruled out"):
        return start
    fine = polished(spans, hunt.wanted, start, hunt.beside, shift, along_kinks=along_kinks)
    if fine is None:
        return start
    shares = shares_of(spans, fine)
    (whole,) = hunt.beside([fine])
    found = start
    for digits in (DIGITS, DIGITS + 1, DIGITS + 2):
        (found,) = hunt.attempt([moved(spans, fine, shares, digits)])
        if (found.holds, found.close) >= (whole.holds, whole.close):
            break
    return found


def _settle(spans: Sequence[Span], hunt: _Hunt, last: Level, told: Report) -> list[Candidate]:
    """The best few as settled runs have them, the best first; polished again where those say otherwise than drafts."""
    wanted = hunt.wanted
    settled = list[Candidate]()
    starts = _few(spans, wanted, hunt.tried, holding=True)
    for k, one in enumerate(starts):
        told("settling the best", k, len(starts))
        (deep,) = hunt.settled([one.variant], last)
        for _ in range(AGAIN):
            if deep.holds or not one.holds or deep.outcome.ended != "done":
                break
            shift = _shift(one, deep)
            one = _polish(spans, hunt, one, shift)
            (deep,) = hunt.settled([one.variant], last)
        settled.append(deep)
    for one in _borderline(wanted, hunt.tried, settled):
        settled += hunt.settled([one.variant], last)
    told("settling the best", 1, 1)
    return _few(spans, wanted, settled, holding=True)


def _borderline(wanted: Wanted, tried: Sequence[Candidate], settled: Sequence[Candidate]) -> list[Candidate]:
    """Drafts that just miss, and would be among the best if they didn't."""
    if any(one.holds for one in settled):
        return []
    near = [c for c in tried if c.variant.sets and not c.holds and c.missed < NEAR]
    return [c for c in ranked(wanted, near) if c.variant not in [s.variant for s in settled]][:FEW]


def _shift(draft: Candidate, deep: Candidate) -> list[float]:
    """By how much a settled run answers more than a draft, SI, by question."""
    out = list[float]()
    for ask in range(len(deep.outcome.answers)):
        one, two = answer(draft.outcome, ask), answer(deep.outcome, ask)
        out.append(0.0 if one is None or two is None else two - one)
    return out
