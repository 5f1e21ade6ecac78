"""What comes of one variant of a study."""

from __future__ import annotations

import time
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
from simprop.study.ask.measure import asked_of
from simprop.study.types import Answer, Level, Outcome, Study, Variant
from simprop.study.vary.scatter import built


@lru_cache(maxsize=4)
def _document(text: str, file: str) -> Document:
    return read_text(text, file)


def rig_in(study: Study, variant: Variant) -> Rig:
    """The rig of a variant.

    Raises:
        RigError: where the rig file can't be so.
    """
    sets = {**study.sets, **dict(variant.sets)}
    source = Source(study.text, study.file, sets, dict(study.files), _document(study.text, study.file))
    return built(source, variant.scatter) if variant.scatter else rig_of(source)


def tried(study: Study, variant: Variant, level: Level = "draft") -> Outcome:
    """What comes of a variant, looked into down to a level.

    Args:
        study: what is asked.
        variant: of its prop.
        level: how deep at most.
    """
    start = time.process_time()
    answers: list[Answer | None] = [None] * len(study.asks)
    unknown = [""] * len(study.asks)

    def ended(how: str, reason: str = "") -> Outcome:
        spent = time.process_time() - start
        return Outcome(how, level, tuple(answers), reason, tuple(unknown), spent)  # type: ignore[arg-type]

    try:
        rig = rig_in(study, variant)
        assembly = assembled(rig)
        run = simulate(assembly, study.engine, settle=level == "settled")
    except RigError as error:
        return ended("refused", str(error))
    except AssemblyError as error:
        return ended("open", str(error))
    except EngineError as error:
        return ended("wrong", str(error))
    for k, text in enumerate(study.asks):
        answers[k], unknown[k] = _asked(run, text)
    return ended("done")


def _asked(run: Run, text: str) -> tuple[Answer | None, str]:
    try:
        found = asked_of(run, text)
    except SimpropError as error:
        return None, str(error)
    if not isinstance(found, pint.Quantity):
        return Answer(float(found), "", float(found)), ""
    return Answer(float(found.magnitude), f"{found.units:~}", in_si(found)), ""
