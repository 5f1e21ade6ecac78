"""Does the stand tip, slide or walk: checks from a recording, with ballast and stakes that would help."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, inf

import numpy as np

from simprop.checking.check import Check, Remedy, judge, not_computed, warning
from simprop.checking.checks import Checks
from simprop.geometry.arrays import Array
from simprop.loads.joints import JointLoads
from simprop.rig.site import Stand
from simprop.rules import stability
from simprop.strength.checks.ground import Ground, footprint, reaction
from simprop.strength.checks.wind import pushes

FACTOR = 1.5
"""Least factor against tipping and sliding; common practice, no source."""
GROUND_FRICTION = 0.4
"""Feet on grass or paving where the rig doesn't say; assumed (wood on most things 0.25 to 0.6, handbooks)."""


@dataclass(frozen=True)
class StandCase:
    """A stand with what acts on it.

    Attributes:
        loads: of the run.
        stand: what the rig says of it.
        ground: what the ground gives without wind.
        pushes: wind force and moment about the ground's origin for each direction tried, ((n, 3), (n, 3)).
        gravity: m/s2.
        friction: coefficient under the feet.
        assumed: what was assumed.
    """

    loads: JointLoads
    stand: Stand
    ground: Ground
    pushes: tuple[tuple[Array, Array], ...]
    gravity: float
    friction: float
    assumed: tuple[str, ...]

    @property
    def ballast_at(self) -> Array:
        """Where ballast is put, (2,) m."""
        at = self.stand.ballast_at
        return self.ground.feet.mean(axis=0) if at is None else np.array([at.x, at.y])


STAND_CHECKS: Checks[StandCase] = Checks()
"""The checks of what isn't anchored."""


def stand_checks(loads: JointLoads) -> tuple[tuple[Check, ...], Ground | None]:
    """Tipping, sliding and walking of the stand, in the stated wind.

    Returns:
        The checks, and the ground's reaction; None where it isn't known what the prop stands on.
    """
    assembly = loads.recording.assembly
    stand = assembly.rig.stand or Stand()
    if stand.anchored:
        return (), None
    assumed = []
    feet, level = footprint(assembly, stand)
    if feet is None:
        reason = "what the prop stands on isn't drawn nor stated (`stand: {base: 600 x 400 mm}`)"
        return (not_computed("stability", "tipping", "stand", reason),), None
    if not stand.feet and stand.base is None:
        assumed.append("feet: the lowest points of what stands still (`stand` isn't stated)")
    gravity = float(-assembly.rig.run.gravity[2])
    if gravity <= 0:
        reason = "gravity doesn't pull down in this run"
        return (not_computed("stability", "tipping", "stand", reason),), None
    ground = reaction(loads, stand, feet, level, gravity)
    friction = stand.friction
    if friction is None:
        friction = GROUND_FRICTION
        assumed.append(f"friction of {friction} under the feet")
    wind = assembly.rig.wind
    if wind is None:
        assumed.append("no wind (`wind` isn't stated)")
    pushed = pushes(loads, wind, ground.origin, assumed)
    case = StandCase(loads, stand, ground, pushed, gravity, friction, tuple(assumed))
    return tuple(STAND_CHECKS(case)), ground


@STAND_CHECKS.add
def tipping(case: StandCase) -> list[Check]:
    """Tipping over the weakest edge in the worst wind."""
    ground = case.ground
    outline = stability.edges(ground.feet)
    worst_ratio, found = -np.inf, None
    staked = case.stand.stakes * case.stand.stake_pull
    middle = ground.feet.mean(axis=0)
    for force, moment in case.pushes:
        args = (ground.weight, ground.centre, outline)
        holding, over = stability.tipping(ground.force - force, ground.moment - moment, *args)
        hold = holding + staked * np.einsum("ei,ei->e", outline[1], outline[0] - middle)
        rows = np.argmax(over, axis=0)
        for e, row in enumerate(rows):
            demand, capacity = float(over[row, e]), float(hold[e])
            ratio = np.inf if capacity <= 0 else demand / capacity
            if ratio > worst_ratio:
                worst_ratio, found = ratio, (demand, capacity, int(row), e)
    demand, capacity, row, e = found if found is not None else (0.0, 0.0, 0, 0)
    normal, point = outline[1][e], outline[0][e]
    place = f"stand, over its edge towards {_compass(normal)}"
    at_rest = capacity <= 0
    check = judge(
        "stability",
        "standing at all (its weight is outside its feet)" if at_rest else "tipping",
        place,
        max(demand, 0.0) - capacity if at_rest else max(demand, 0.0),
        0.0 if at_rest else capacity,
        unit="N*m",
        factor=FACTOR,
        assumed=case.assumed,
        source="statics about the edge, momentum of the whole prop; drag equation",
        time=float(case.loads.recording.track.time[row]),
    )
    if check.verdict == "fail":
        remedies = _steadier(case, max(demand, 0.0) * FACTOR, capacity, (point, normal))
        check = replace(check, remedies=remedies)
    return [check]


def _steadier(case: StandCase, need: float, have: float, edge: tuple[Array, Array]) -> tuple[Remedy, ...]:
    """Ballast, stakes or wider feet that bring the holding moment from `have` to `need`, N*m."""
    point, normal = edge
    least = 0.05 * case.ground.weight * float(np.ptp(case.ground.feet, axis=0).max())
    need = max(need, least)
    lever = float(normal @ (point - case.ballast_at))

    def after(more: float) -> float:
        return (have + more) / need

    remedies = []
    if lever > 0:
        mass = float(ceil(stability.ballast(need - have, lever, case.gravity) + 0.5))
        remedies.append(Remedy(f"{mass:.0f} kg of ballast on the stand", after(mass * case.gravity * lever)))
        pull = stability.stake_pull(need - have, lever, 2) * 1.05
        remedies.append(Remedy(f"two stakes that hold {pull:.0f} N upwards each", after(2 * pull * lever)))
    wider = (need - have) / case.ground.weight + 0.01
    words = f"feet {wider * 1e3:.0f} mm further out towards {_compass(normal)}"
    return (*remedies, Remedy(words, after(case.ground.weight * wider)))


def _compass(normal: Array) -> str:
    names = {
        "+x (right)": (1, 0),
        "-x (left)": (-1, 0),
        "+y (away from the viewer)": (0, 1),
        "-y (the viewer)": (0, -1),
    }
    return max(names, key=lambda k: float(normal @ np.asarray(names[k], float)))


def _uses(case: StandCase) -> tuple[Array, Array]:
    """The reaction in the wind that slides it most, (n, 3), and its use of friction, (n,)."""
    rows = [case.ground.force - force for force, _ in case.pushes]
    uses = [stability.slide_use(r, case.friction) for r in rows]
    k = int(np.argmax([float(u.max()) for u in uses]))
    return rows[k], uses[k]


@STAND_CHECKS.add
def sliding(case: StandCase) -> list[Check]:
    """Sliding of a stand without stakes, and how far it walks."""
    if case.stand.stakes >= 2:
        return []
    force, use = _uses(case)
    row = int(np.argmax(use))
    flat = float(np.hypot(force[row, 0], force[row, 1]))
    track = case.loads.recording.track
    check = judge(
        "stability",
        "sliding",
        "stand, feet on the ground",
        flat,
        max(case.friction * float(force[row, 2]), 0.0),
        unit="N",
        factor=FACTOR,
        assumed=case.assumed,
        source="Coulomb; momentum of the whole prop",
        time=float(track.time[row]),
    )
    if check.verdict != "fail":
        return [check]
    mass = max(0.0, flat * FACTOR / case.friction - float(force[row, 2])) / case.gravity
    mass = float(ceil(mass + 0.5))
    after = case.friction * (float(force[row, 2]) + mass * case.gravity) / (flat * FACTOR)
    remedies = (
        Remedy(f"{mass:.0f} kg of ballast on the stand", after),
        Remedy("stake it down with two stakes or more", inf),
    )
    checks = [replace(check, remedies=remedies)]
    if float(use.max()) > 1:
        far = stability.walk(force, case.friction, case.ground.weight / case.gravity, track.step)
        run = len(track.time) * track.step
        reason = f"it creeps: about {far / run * 60e3:.0f} mm a minute as the motion drags it over the ground"
        checks.append(warning("stability", "walking", "stand, feet on the ground", reason))
    return checks


@STAND_CHECKS.add
def stakes(case: StandCase) -> list[Check]:
    """Sideways pull on the stakes; not judged: soil differs too much."""
    if case.stand.stakes < 2:
        return []
    force, use = _uses(case)
    row = int(np.argmax(use))
    flat = float(np.hypot(force[row, 0], force[row, 1]))
    held = case.friction * max(float(force[row, 2]), 0.0)
    each = max(0.0, flat - held) / case.stand.stakes
    reason = f"each stake takes {each:.0f} N sideways; whether the soil holds that is for you to try"
    return [warning("stability", "stakes", "stand, feet on the ground", reason)]
