"""How far a member bends at its worst moment."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Array
from simprop.catalog.load import material
from simprop.catalog.strengths import Strength
from simprop.strength import members
from simprop.strength.cuts import BodyHistory, Member
from simprop.strength.margins import ALLOWABLE, Check, judge, not_computed, warning
from simprop.strength.member_cuts import Governing, section_of, stress_in, supports
from simprop.strength.setting import Setting, softened

SAG_SHARE = 1 / 50
"""Bending beyond this share of the length is worth a look. Assumed."""


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
        history: of its body.
        member: one of `history.members`.
        strength: of its material.
        setting: temperature.
        governing: its governing cuts.
    """
    section = section_of(history.data.shapes[member.shape])
    modulus, soft = material(strength.name).modulus, softened(strength, setting)
    if modulus is None or soft is None or section is None:
        return None, [not_computed("member", "deflection", member.name, f"no modulus of {strength.name}")]
    row = int(np.argmax(stress_in(section, governing.strength, strength.family == "wood")))
    places = _ladder(history, member)
    found = [history.cut(member, p, side) for p, side in places]
    if any(c is None for c in found):
        return None, []
    at = np.array([p for p, _ in places])
    rows = [c for c in found if c is not None]
    about_u = np.array([float(c.moment_u[row]) for c in rows])
    about_v = np.array([float(c.moment_v[row]) for c in rows])
    first, second = supports(history, member, row)
    stiff = modulus * soft
    along_v = members.deflection(at, -about_u, stiff * section.inertia_u, first, second)
    along_u = members.deflection(at, about_v, stiff * section.inertia_v, first, second)
    size = np.hypot(along_u, along_v)
    most = float(size.max())
    line = member.start + at[:, None] * member.along
    moved = line + along_u[:, None] * member.u + along_v[:, None] * member.v
    turn, centre = history.turn[row], history.centre[row]
    time = float(history.loads.recording.track.time[row])
    bent = Bent(
        member.name,
        member.body,
        time,
        row,
        at,
        line @ turn.T + centre,
        moved @ turn.T + centre,
        np.hypot(about_u, about_v),
        most,
    )
    limit = SAG_SHARE * member.length
    assumed = [f"a {1 / SAG_SHARE:.0f}th of its length looks straight"]
    against = "its end fixed in direction" if second is None else "a straight line between its joints"
    if most > limit:
        reason = f"bends {most * 1e3:.1f} mm off {against}; the motion as simulated takes it as stiff"
        return bent, [
            warning(
                "member",
                "deflection",
                member.name,
                reason,
                demand=most,
                capacity=limit,
                unit="m",
                assumed=assumed,
                time=time,
            )
        ]
    return bent, [
        judge(
            "member",
            "deflection",
            member.name,
            most,
            limit,
            unit="m",
            factor=ALLOWABLE,
            assumed=assumed,
            source=f"Euler-Bernoulli, against {against}",
            time=time,
        )
    ]


def _ladder(history: BodyHistory, member: Member) -> list[tuple[float, bool]]:
    """Places for a bending-moment diagram, both sides of whatever hangs on the member."""
    places = {(float(p), True) for p in np.linspace(0.0, member.length, 25)[:-1]} | {(member.length, False)}
    for hang in history.hangs(member):
        if hang.place > 1e-9:
            places.add((hang.place, False))
        if hang.place < member.length - 1e-9:
            places.add((hang.place, True))
    return sorted(places)
