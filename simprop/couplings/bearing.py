"""Whether teeth, strands and threads bear what they hand on."""

from __future__ import annotations

from collections.abc import Sequence

from simprop.catalog.strengths import strength_of
from simprop.checking.check import ALLOWABLE, Check, judge, not_computed
from simprop.checking.setting import least_factor, weakened
from simprop.couplings.base import Asked
from simprop.reading.fields import Size
from simprop.rules.teeth import root_stress

LEWIS = "Lewis' equation with Barth's factor, one tooth bears all (Shigley, chapter 14)"
WORN = "pitting, wear and endless life aren't checked"


def teeth_bear(
    asked: Asked, wheels: Sequence[tuple[float, float]], width: Size | None, of: str | None
) -> list[Check]:
    """The teeth of the weaker wheel in bending.

    Args:
        asked: of the coupling.
        wheels: number of teeth and module (m) of each that is of this material.
        width: of the teeth, m; None: not stated.
        of: material; None: not stated.
    """
    strength = None if of is None else strength_of(of)
    if width is None or of is None:
        reason = "it doesn't say how wide its teeth are and what of (`face: 10 mm, of: steel`)"
        return [unknown_teeth(asked, reason)]
    if strength is None or strength.family == "wood":
        return [unknown_teeth(asked, f"the catalogue has no strength for teeth of {of}")]
    weak, bears = weakened(strength, asked.setting), strength.yield_strength or strength.ultimate
    if weak is None or bears is None:
        reason = f"how strong {of} is at {asked.setting.temperature:g} degC isn't known"
        return [unknown_teeth(asked, reason)]
    try:
        stress = max(root_stress(asked.force, width, m, teeth, asked.speed) for teeth, m in wheels)
    except ValueError as error:
        return [unknown_teeth(asked, str(error))]
    factor = least_factor(strength.family, asked.setting)
    return [
        judge(
            "member", "teeth", asked.place, stress, weak * bears, unit="Pa", factor=factor, assumed=[WORN],
            source=f"{LEWIS}; {strength.source}", time=asked.time,
        )
    ]  # fmt: skip


def unknown_teeth(asked: Asked, reason: str) -> Check:
    """That the strength of the teeth isn't known, and why."""
    return not_computed("member", "teeth", asked.place, reason, unit="Pa", source=LEWIS)


def strand_bears(asked: Asked, bears: float | None, *, factor: float = ALLOWABLE, source: str) -> list[Check]:
    """The tight strand against what it breaks at, or may be pulled with.

    Args:
        asked: of the coupling.
        bears: N; None: not known.
        factor: least one on that.
        source: of what it bears.
    """
    if bears is None:
        reason = "it doesn't say what its strand bears (`bears: 60 N`, from its maker)"
        return [not_computed("member", "strand", asked.place, reason, unit="N", factor=factor, source=source)]
    return [
        judge(
            "member", "strand", asked.place, asked.size, bears, unit="N", factor=factor, source=source,
            time=asked.time,
        )
    ]  # fmt: skip
