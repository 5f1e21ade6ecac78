"""What comes of one variant of a study."""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache

import pint

from simprop.errors import AssemblyError, EngineError, RigError, SimpropError
from simprop.quantities import in_si
from simprop.reading.text import Document, read_text
from simprop.rig.load import rig_of
from simprop.rig.model import Rig, Source
from simprop.run.assembled import assembled
from simprop.run.run import Run
from simprop.run.simulate import simulate
from simprop.study.ask.measure import DEPTHS, Needs, asked_of, needs_of
from simprop.study.trial.swept import still, swept
from simprop.study.types import Answer, Ended, Level, Limit, Outcome, Study, Variant
from simprop.study.vary.scatter import built

UNSTEADY = 0.02
"""A limit that the way at a steady turn misses by less than this share may be kept by the real motion (assumed)."""
UNSETTLED = 0.05
"""A limit that a run at one step misses by less than this share may be kept by one that has settled (assumed)."""


@lru_cache(maxsize=8)
def document_of(text: str, file: str) -> Document:
    """What YAML makes of a rig's text, read once for all of its variants.

    Args:
        text: of the file.
        file: its name.
    """
    return read_text(text, file)


def study_from(rig: Rig, engine: str | None = None) -> Study:
    """A study of a rig as it was read, which asks nothing yet.

    Args:
        rig: as read by `load_rig`.
        engine: name of the engine; None: the usual one.

    Raises:
        OSError: where a file that the rig names can't be read.
    """
    source = rig.source
    files = {name: source.read(name) for name in rig.file_names}
    return Study(source.text, source.file or "rig.yaml", dict(source.sets), files, engine)


def rig_in(study: Study, variant: Variant) -> Rig:
    """The rig of a variant.

    Raises:
        RigError: where the rig file can't be so.
    """
    sets = {**study.sets, **dict(variant.sets)}
    source = Source(study.text, study.file, sets, dict(study.files), document_of(study.text, study.file))
    return built(source, variant.scatter) if variant.scatter else rig_of(source)


def tried(study: Study, variant: Variant, level: Level = "draft") -> Outcome:
    """What comes of a variant, looked into no deeper than asked and than its questions need.

    What costs least is asked first: what the prop is, then where its mechanism goes (where its one drive tells, see
    `simprop.study.trial.swept`), then the run, its loads, what they do to it. Where the study has limits, a variant
    that misses one by more than can be wrong is asked no further, and neither is one whose mechanism locks.

    Args:
        study: what is asked.
        variant: of its prop.
        level: how deep at most: at ``swept`` a prop whose way takes a run to tell is run at one step.
    """
    start = time.process_time()
    trial = _Trial(study)
    try:
        _look(trial, variant, level)
    except RigError as error:
        trial.ended, trial.reason = "refused", str(error)
    except AssemblyError as error:
        trial.ended, trial.reason = "open", str(error)
    except EngineError as error:
        trial.ended, trial.reason = "wrong", str(error)
    return trial.outcome(time.process_time() - start)


class _Trial:
    """What is known of a variant so far."""

    def __init__(self, study: Study):
        self.study = study
        self.needs = [needs_of(text) for text in study.asks]
        self.answers: list[Answer | None] = [None] * len(study.asks)
        self.unknown = [""] * len(study.asks)
        self.level: Level = "still"
        self.ended: Ended = "done"
        self.reason = ""

    def outcome(self, seconds: float) -> Outcome:
        """What came of it, after so much processor time."""
        answers, unknown = tuple(self.answers), tuple(self.unknown)
        return Outcome(self.ended, self.level, answers, self.reason, unknown, seconds)

    def deeper(self, than: Needs) -> bool:
        """Whether a question takes more."""
        return any(DEPTHS.index(n) > DEPTHS.index(than) for n in self.needs)

    def limited(self, needs: Needs) -> bool:
        """Whether a question that takes just this has a limit."""
        return any(self.needs[limit.ask] == needs for limit in self.study.limits)

    def ask(self, run: Run, needs: Sequence[Needs]) -> None:
        """Ask a run what takes no more than it has."""
        for k, text in enumerate(self.study.asks):
            if self.needs[k] in needs:
                self.answers[k], self.unknown[k] = _asked(run, text)

    def out(self, slack: float) -> bool:
        """Whether it misses a limit by more than a share of it: then it is ruled out."""
        found = next((text for limit in self.study.limits if (text := self._missed(limit, slack))), "")
        return bool(found) and self.end("ruled out", found)

    def end(self, how: Ended, reason: str) -> bool:
        """It ends so; what was not asked isn't known."""
        self.ended, self.reason = how, reason
        for k, answer in enumerate(self.answers):
            if answer is None and not self.unknown[k]:
                self.unknown[k] = "not asked any more"
        return True

    def _missed(self, limit: Limit, slack: float) -> str:
        answer = self.answers[limit.ask]
        if answer is None:
            return ""
        low, high = limit.least, limit.most
        factor = answer.si / answer.value if answer.value else 1.0
        said = f"{self.study.asks[limit.ask]} is {answer.value:.4g} {answer.unit}".strip()
        if low is not None and answer.si < low - slack * abs(low):
            return f"{said}, and at least {low / factor:.4g} is wanted"
        if high is not None and answer.si > high + slack * abs(high):
            return f"{said}, and at most {high / factor:.4g} is wanted"
        return ""


def _look(trial: _Trial, variant: Variant, level: Level) -> None:
    """Ask a variant, from the cheapest question on."""
    study = trial.study
    assembly = assembled(rig_in(study, variant))
    if "still" in trial.needs:
        trial.ask(still(assembly), ["still"])
    if level == "still" or not trial.deeper("still") or trial.out(0.0):
        return
    if level == "swept" or trial.limited("swept"):
        way = swept(assembly)
        if way is not None:
            trial.level = "swept"
            trial.ask(way.run, ["swept"])
            if way.locks and way.surely and study.limits and trial.end("jams", way.locks):
                return
            if (level == "swept" and not trial.deeper("swept")) or trial.out(UNSTEADY):
                return
    trial.level = "settled" if level == "settled" else "draft"
    run = simulate(assembly, study.engine, settle=level == "settled")
    _ask_a_run(trial, lambda needs: trial.ask(run, needs))


def _ask_a_run(trial: _Trial, ask: Callable[[Sequence[Needs]], None]) -> None:
    """Ask what has run, from the cheapest question on."""
    ask(["swept", "run"])
    for needs in ("loads", "strength"):
        if not trial.deeper("run" if needs == "loads" else "loads") or trial.out(UNSETTLED):
            return
        ask([needs])


def retold(study: Study, level: Level, known: Mapping[str, tuple[Answer | None, str]]) -> Outcome | None:
    """What `tried` says of a variant that has run, by what the run answered; None where that takes more to tell.

    Args:
        study: what is asked.
        level: how deep at most.
        known: answers by question, or why there is none.

    Example:
        >>> study = Study("", "", asks=("mass()", "peak(hub)"), limits=(Limit(0, most=2.0),))
        >>> known = {"mass()": (Answer(3.0, "kg", 3.0), ""), "peak(hub)": (Answer(9.0, "N", 9.0), "")}
        >>> retold(study, "draft", known).reason
        'mass() is 3 kg, and at most 2 is wanted'
    """
    trial = _Trial(study)
    if level not in ("draft", "settled") or trial.limited("swept") or not known.keys() >= set(study.asks):
        return None

    def ask(needs: Sequence[Needs]) -> None:
        for k, text in enumerate(study.asks):
            if trial.needs[k] in needs:
                trial.answers[k], trial.unknown[k] = known[text]

    ask(["still"])
    if trial.deeper("still") and not trial.out(0.0):
        trial.level = level
        _ask_a_run(trial, ask)
    return trial.outcome(0.0)


def _asked(run: Run, text: str) -> tuple[Answer | None, str]:
    try:
        found = asked_of(run, text)
    except SimpropError as error:
        return None, str(error)
    if not isinstance(found, pint.Quantity):
        return Answer(float(found), "", float(found)), ""
    return Answer(float(found.magnitude), f"{found.units:~}", in_si(found)), ""
