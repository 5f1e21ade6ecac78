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
CREEP = 1e-4
"""A prop that walks less in a run stands still, m (assumed)."""
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
    """Tipping over the weakest edge at the worst instant in the worst wind, each load with the sign it has there.

    Args:
        case: the stand.
    """
    ground = case.ground
    outline = stability.edges(ground.feet)
    middle = ground.feet.mean(axis=0)
    stakes = case.stand.stakes * case.stand.stake_pull
    pinned = stakes * np.einsum("ei,ei->e", outline[1], outline[0] - middle)
    worst, found = -1.0, (0.0, 0.0, 0, 0)
    for push in case.pushes:
        righting, overturning = stability.tipping((*ground.weights, *ground.others, push), outline)
        righting += pinned
        use = np.where(overturning > 0, overturning / np.maximum(righting, 1e-12), 0.0)
        if float(use.max()) > worst:
            worst = float(use.max())
            i, j = (int(k) for k in np.unravel_index(int(np.argmax(use)), use.shape))
            found = (float(overturning[i, j]), float(righting[i, j]), i, j)
    demand, capacity, row, e = found
    normal, point = outline[1][e], outline[0][e]
    still = sum(float(stability.held(*load, outline)[row, e]) for load in ground.weights) + float(pinned[e])
    check = judge(
        "stability",
        "tipping" if still > 0 else "standing at all (its weight is outside its feet)",
        f"stand, over its edge towards {_compass(normal)}",
        demand if still > 0 else demand - capacity,
        capacity if still > 0 else 0.0,
        unit="N*m",
        factor=FACTOR,
        assumed=case.assumed,
        source="statics about the edge at each instant, the factor on what tips (EN 1990, EQU); drag equation",
        time=float(case.loads.recording.track.time[row]),
    )
    if check.verdict == "fail":
        check = replace(check, remedies=_steadier(case, demand * FACTOR, capacity, (point, normal)))
    return [check]


def _steadier(case: StandCase, need: float, have: float, edge: tuple[Array, Array]) -> tuple[Remedy, ...]:
    """Ballast, stakes or wider feet that bring the holding moment from `have` to `need`, N*m."""
    point, normal = edge
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
    """Sliding of a stand without stakes.

    Args:
        case: the stand.
    """
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
    return [replace(check, remedies=remedies)]


@STAND_CHECKS.add
def walking(case: StandCase) -> list[Check]:
    """How far a stand without stakes walks as it moves, and whether the wind alone pushes it along.

    Args:
        case: the stand.
    """
    if case.stand.stakes >= 2:
        return []
    ground, track, place = case.ground, case.loads.recording.track, "stand, feet on the ground"
    blown = [force for force, _ in case.pushes if _blown(case, force)]
    found = []
    if blown:
        hard = max(float(np.linalg.norm(force.mean(axis=0))) for force in blown)
        reason = (
            f"the wind alone pushes it along with {hard:.0f} N, and friction holds "
            f"{case.friction * ground.weight:.0f} N: it slides for as long as it blows"
        )
        found.append(warning("stability", "pushed along by the wind", place, reason))
    held = [force for force, _ in case.pushes if not _blown(case, force)] or [np.zeros_like(ground.force)]
    mass = ground.weight / case.gravity
    far = max(stability.walk(ground.force - f, case.friction, mass, track.step) for f in held)
    if far > CREEP:
        run = len(track.time) * track.step
        reason = (
            f"it creeps: {far * 1e3:.3g} mm over the ground in this run of {run:.3g} s, about "
            f"{far / run * 60e3:.0f} mm a minute where the run is played again and again"
        )
        found.append(warning("stability", "walking", place, reason))
    return found


def _blown(case: StandCase, force: Array) -> bool:
    """Whether a wind moves the prop by itself, without its motion."""
    return float(np.linalg.norm(force[:, :2].mean(axis=0))) > case.friction * case.ground.weight


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
