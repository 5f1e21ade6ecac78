"""How far a member bends at its worst moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.catalog.load import material
from simprop.catalog.strengths import Strength
from simprop.checking.check import ALLOWABLE, Check, judge, not_computed, warning
from simprop.checking.setting import Setting, softened
from simprop.geometry.arrays import Array
from simprop.rules import stress
from simprop.strength.members.cuts import BodyHistory, Member
from simprop.strength.members.member_cuts import Governing, stress_in, supports

SAG_SHARE = 1 / 50
"""Bending beyond this share of the length is worth a look. Assumed."""
STIFF = "; the motion as simulated takes it as stiff"
ROUGH = 0.1
"""Beyond this share of the length, small-slope theory is off by more than a few percent."""


@dataclass(frozen=True)
class Bent:
    """A member at its worst moment, to be drawn: straight and bent, world frame.

    Attributes:
        name: of the member.
        body: index.
        time: s.
        row: physics step.
        place: along the member, (k,) m.
        straight: (k, 3) m.
        bent: (k, 3) m, not exaggerated.
        moment: bending moment there, (k,) N*m.
        most: largest deflection, m.
    """

    name: str
    body: int
    time: float
    row: int
    place: Array
    straight: Array
    bent: Array
    moment: Array
    most: float


def bending_of(
    history: BodyHistory, member: Member, strength: Strength, setting: Setting, governing: Governing
) -> tuple[Bent | None, list[Check]]:
    """How far a member bends at its worst moment: its shape, and a check against what looks straight.

    Args:
        governing: its governing cuts.
    """
    section = history.data.shapes[member.shape].section()
    modulus, soft = material(strength.name).modulus, softened(strength, setting)
    if modulus is None or soft is None or section is None:
        return None, [not_computed("member", "deflection", member.name, f"no modulus of {strength.name}")]
    row = int(np.argmax(stress_in(section, governing.strength, strength.family == "wood")))
    places = _ladder(history, member)
    found = np.full((len(places), 4), np.nan)
    for k, (place, side) in enumerate(places):
        moments = history.moments(member, place, side, row)
        if moments is None:
            return None, []
        found[k] = moments
    at = np.array([place for place, _ in places])
    held = supports(history, member, row)
    stiff = modulus * soft * np.array([section.inertia_u, section.inertia_v])
    moved = _moved(member, at, found[:, :2], stiff, held)
    line = member.start + at[:, None] * member.along
    turn, centre = history.turn[row], history.centre[row]
    bent = Bent(
        member.name,
        member.body,
        float(history.loads.recording.track.time[row]),
        row,
        at,
        line @ turn.T + centre,
        (line + moved) @ turn.T + centre,
        np.hypot(found[:, 0], found[:, 1]),
        float(np.linalg.norm(moved, axis=1).max()),
    )
    against = "its end fixed in direction" if held[1] is None else "a straight line between its joints"
    flexible = any(m.whole is history.data for m in history.loads.recording.assembly.members)
    checks = [_check(bent, member.length, against, flexible)]
    if strength.creep is not None:
        lasting = _moved(member, at, found[:, 2:], stiff * strength.creep, held)
        checks.append(_sag(bent, float(np.linalg.norm(lasting, axis=1).max()), member.length, strength))
    return bent, checks


def _moved(
    member: Member, at: Array, moments: Array, stiff: Array, held: tuple[float, float | None]
) -> Array:
    """Deflection at places along a member from the moments about u and v, (k, 3) m, body frame."""
    along_v = stress.deflection(at, -moments[:, 0], float(stiff[0]), *held)
    along_u = stress.deflection(at, moments[:, 1], float(stiff[1]), *held)
    return along_u[:, None] * member.u + along_v[:, None] * member.v


def _check(bent: Bent, length: float, against: str, flexible: bool) -> Check:
    limit = SAG_SHARE * length
    assumed = [f"a {1 / SAG_SHARE:.0f}th of its length looks straight"]
    common = (bent.most, limit)
    if bent.most > limit:
        rough = "; so far that the figure itself is rough" if bent.most > ROUGH * length else ""
        reason = f"bends {bent.most * 1e3:.3g} mm off {against}{rough}{'' if flexible else STIFF}"
        return _told("deflection", bent, common, reason, assumed, time=bent.time)
    return judge(
        "member",
        "deflection",
        bent.name,
        *common,
        unit="m",
        factor=ALLOWABLE,
        assumed=assumed,
        source=f"Euler-Bernoulli, against {against}",
        time=bent.time,
    )


def _sag(bent: Bent, most: float, length: float, strength: Strength) -> Check:
    limit = SAG_SHARE * length
    assumed = [
        f"modulus after months {strength.creep:g} of the short-term one",
        "mean of the run taken as the lasting load",
    ]
    if most > limit:
        reason = f"a season under its mean load leaves it {most * 1e3:.3g} mm out of straight: brace it or go up a size"
        return _told("sag after months (creep)", bent, (most, limit), reason, assumed, time=None)
    source = "Euler-Bernoulli with the creep modulus; " + strength.source
    return judge(
        "member",
        "sag after months (creep)",
        bent.name,
        most,
        limit,
        unit="m",
        factor=ALLOWABLE,
        assumed=assumed,
        source=source,
    )


def _told(
    name: str,
    bent: Bent,
    sizes: tuple[float, float],
    reason: str,
    assumed: list[str],
    *,
    time: float | None,
) -> Check:
    return warning(
        "member",
        name,
        bent.name,
        reason,
        demand=sizes[0],
        capacity=sizes[1],
        unit="m",
        assumed=assumed,
        time=time,
    )


def _ladder(history: BodyHistory, member: Member) -> list[tuple[float, bool]]:
    """Places for a bending-moment diagram, both sides of whatever hangs on the member."""
    places = {(float(p), True) for p in np.linspace(0.0, member.length, 25)[:-1]} | {(member.length, False)}
    for hang in history.hangs(member):
        if hang.place > 1e-9:
            places.add((hang.place, False))
        if hang.place < member.length - 1e-9:
            places.add((hang.place, True))
    return sorted(places)
