"""What bears most in a prop, and how it is looked after through its season."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import isfinite

from simprop.assembly.types import Assembly
from simprop.checking.check import Check
from simprop.checking.setting import LIFE_FACTOR
from simprop.fasteners.base import Fastener
from simprop.loads.joints import Peak
from simprop.making.holes import Place
from simprop.run.run import Run
from simprop.strength.members.cuts import made_of
from simprop.strength.members.pieces import pieces
from simprop.strength.setting import setting_of

ALONG = " from its start"
"""How the place of a check along a member ends, which is none of a joint though it may bear its name."""
WEEK = 7
"""Nights from one look to the next, common practice, no source."""


@dataclass(frozen=True)
class Bears:
    """A joint and how hard it works.

    Attributes:
        joint: its name.
        hold: what holds it; None: not named.
        guided: nothing needs to hold it, as of a plain slide.
        check: the one with the least margin; None: none could be computed.
        share: demand times the factor asked for over capacity, 1 is just enough; None: not computed.
        peak: largest force in the run.
        life: nights that its fastener lasts by the rules of fatigue, a share of `LIFE_FACTOR` of which counts; None:
            not computed.
        why: why nothing could be computed; "" where something was.
    """

    joint: str
    hold: Fastener | None
    guided: bool
    check: Check | None
    share: float | None
    peak: Peak
    life: float | None
    why: str = ""

    @property
    def replace_after(self) -> float | None:
        """Nights after which it is replaced although it looks sound; None: not known."""
        return None if self.life is None else self.life / LIFE_FACTOR


def bearing_most(run: Run) -> tuple[Bears, ...]:
    """Every joint of a prop, that with the least margin first, those without one last, by their load.

    The order is that of `simprop.strength.report.StrengthReport.ranking`.

    Args:
        run: of at least one whole cycle.
    """
    assembly = run.assembly
    forces = {force.name: force for force, _ in run.loads.joints}
    found = []
    for k, joint in enumerate(assembly.joints):
        if k in assembly.seams:
            continue
        own = [*_own(run.strength.checks, joint.name)]
        computed = [c for c in run.strength.ranking if c in own]
        check = computed[0] if computed else None
        share = None
        if check is not None and check.margin is not None:
            share = 1 / check.margin if check.margin > 0 else float("inf")
        lives = [c.capacity for c in own if c.group == "fatigue" and c.capacity is not None]
        why = ""
        if check is None:
            reasons = [c.reason for c in own if c.reason]
            why = reasons[0] if reasons else "it has no fastener that could be checked"
        hold, guided = joint.kind.held_by, not joint.kind.needs_fastener
        life = min(lives, default=None)
        found.append(Bears(joint.name, hold, guided, check, share, forces[joint.name], life, why))
    return tuple(sorted(found, key=_first))


def _first(row: Bears) -> tuple[float, float]:
    return (1.0 if row.share is None else -row.share if row.share > 0 else 0.0, -row.peak.value)


def _own(checks: tuple[Check, ...], joint: str) -> Iterator[Check]:
    """The checks of what holds a joint."""
    for check in checks:
        here = check.place.split(",")[0] == joint
        if here and check.group in ("fastener", "fatigue") and not check.place.endswith(ALONG):
            yield check


def looks(run: Run) -> tuple[int, ...]:
    """Before which nights of its season a prop is looked over: the second, then each week.

    Args:
        run: of a rig with a season, or not: then as `simprop.strength.setting.SEASON`.

    Source: common practice, no source.
    """
    nights = int(setting_of(run.rig).nights)
    return tuple(sorted({n for n in (2, *range(1 + WEEK, nights + 1, WEEK)) if n <= nights}))


def lasts(row: Bears, nights: float) -> bool | None:
    """Whether a joint's fastener outlasts a season with the factor on life; None where that isn't known.

    Args:
        nights: of the season.
    """
    after = row.replace_after
    return None if after is None else not isfinite(after) or after >= nights


def members(assembly: Assembly) -> dict[str, Place]:
    """The part that each member of the strength report is: body and index by the name that the report gives it.

    Args:
        assembly: the prop.
    """
    found: dict[str, Place] = {}
    for index, body in enumerate(assembly.drawn):
        for member in made_of(index, body, pieces(body)):
            found.setdefault(member.name, (body.name, member.shape))
    return found
