"""Does the stand tip, slide or walk: checks from a recording, with ballast and stakes that would help."""

from __future__ import annotations

from collections.abc import Iterator
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
SPARE = 1.02
"""How much more than just enough a change of the stand aims at. Assumed."""
WIDENED = 12
"""How many widths of the feet are tried, each a quarter more."""
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
    check, edge = _tipped(case)
    if check.verdict == "fail":
        check = replace(check, remedies=tuple(_steadier(case, edge)))
    return [check]


def _moments(case: StandCase) -> tuple[Array, Array, tuple[Array, Array], Array]:
    """Righting and overturning moments for each push, (k, n, e) N*m, the edges, and what stakes add at each, (e,)."""
    ground = case.ground
    outline = stability.edges(ground.feet)
    pinned = case.stand.stakes * case.stand.stake_pull * _inside(outline, ground.feet.mean(axis=0))
    pairs = [stability.tipping((*ground.weights, *ground.others, push), outline) for push in case.pushes]
    return np.array([r for r, _ in pairs]) + pinned, np.array([o for _, o in pairs]), outline, pinned


def _inside(outline: tuple[Array, Array], point: Array) -> Array:
    """How far a point (2,) is inside each edge, (e,) m."""
    return np.asarray(np.einsum("ei,ei->e", outline[1], outline[0] - point))


def _tipped(case: StandCase) -> tuple[Check, int]:
    """The check of tipping, and over which edge."""
    righting, overturning, outline, pinned = _moments(case)
    use = np.where(overturning > 0, overturning / np.maximum(righting, 1e-12), 0.0)
    k, row, e = (int(i) for i in np.unravel_index(int(np.argmax(use)), use.shape))
    demand, capacity = float(overturning[k, row, e]), float(righting[k, row, e])
    weights = (stability.held(*load, outline)[row, e] for load in case.ground.weights)
    still = float(sum(weights)) + float(pinned[e])
    check = judge(
        "stability",
        "tipping" if still > 0 else "standing at all (its weight is outside its feet)",
        f"stand, over its edge towards {_compass(outline[1][e])}",
        demand if still > 0 else demand - capacity,
        capacity if still > 0 else 0.0,
        unit="N*m",
        factor=FACTOR,
        assumed=case.assumed,
        source="statics about the edge at each instant, the factor on what tips (EN 1990, EQU); drag equation",
        time=float(case.loads.recording.track.time[row]),
    )
    return check, e


def _steadier(case: StandCase, edge: int) -> Iterator[Remedy]:
    """Ballast, stakes or wider feet after which it stands at every instant, over every edge, in every wind tried."""
    righting, overturning, outline, _ = _moments(case)
    lack = (FACTOR * overturning - righting).max(axis=(0, 1))

    def needed(held: Array) -> float | None:
        """How much of what holds each edge down by (e,) N*m a unit, where it does at all that give way."""
        gain = np.where(held > 0, held, FACTOR * held)
        low = max((x / g for x, g in zip(lack, gain, strict=True) if g > 0), default=0.0)
        firm = all(x + low * -g <= 0 for x, g in zip(lack, gain, strict=True) if g <= 0)
        return low if firm and low > 0 else None

    mass = needed(case.gravity * _inside(outline, case.ballast_at))
    if mass is not None:
        more = ceil(SPARE * mass)
        yield Remedy(
            _ballast(case, more), _margin(_changed(case, ballast=(case.stand.ballast or 0.0) + more))
        )
    count = max(2, case.stand.stakes)
    pull = needed(count * _inside(outline, case.ground.feet.mean(axis=0)))
    if pull is not None:
        each = ceil(SPARE * (case.stand.stake_pull * case.stand.stakes / count + pull))
        words = f"{'two' if count == 2 else count} stakes that hold {each} N upwards each"
        yield Remedy(words, _margin(_changed(case, stakes=count, stake_pull=float(each))))
    one, every = np.zeros(len(outline[1])), np.ones(len(outline[1]))
    one[edge] = 1.0
    for edges, words in ((one, f"towards {_compass(outline[1][edge])}"), (every, "on all sides")):
        wide, remedy = float(lack.max()) / case.ground.weight, None
        for _ in range(WIDENED):
            out = ceil(SPARE * wide * 1e3)
            margin = _margin(_changed(case, _spread(case.ground.feet, edges * out * 1e-3)))
            remedy = Remedy(f"feet {out} mm further out {words}", margin)
            if margin >= 1:
                break
            wide *= 1.25
        if remedy is not None:
            yield remedy
        if remedy is not None and remedy.margin >= 1:
            return


def _ballast(case: StandCase, mass: int) -> str:
    return f"{mass} kg {'more' if case.stand.ballast else 'of'} ballast on the stand"


def _margin(case: StandCase) -> float:
    """Margin against tipping."""
    return _tipped(case)[0].margin or 0.0


def _changed(case: StandCase, feet: Array | None = None, **stand: float) -> StandCase:
    """The same prop on another stand."""
    other = case.stand.model_copy(update=stand)
    outline = case.ground.feet if feet is None else feet
    level = float(case.ground.origin[2])
    return replace(case, stand=other, ground=reaction(case.loads, other, outline, level, case.gravity))


def _spread(feet: Array, out: Array) -> Array:
    """Corners of a footprint (k, 2) m whose edges, in the order of `stability.edges`, lie further out, (e,) m."""
    points, normals = stability.edges(feet)
    reach = np.einsum("ei,ei->e", points, normals)
    found = []
    for corner in feet:
        near = np.argsort(np.abs(normals @ corner - reach))[:2]
        if abs(np.linalg.det(normals[near])) > 1e-6:
            found.append(np.linalg.solve(normals[near], reach[near] + out[near]))
    return np.array(found)


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
    remedies = [Remedy("stake it down with two stakes or more", inf)]
    if case.friction > 0:
        rows = np.concatenate([case.ground.force - push for push, _ in case.pushes])
        sideways = np.hypot(rows[:, 0], rows[:, 1])
        mass = ceil(SPARE * float((sideways * FACTOR / case.friction - rows[:, 2]).max()) / case.gravity)
        _, after = _uses(_changed(case, ballast=(case.stand.ballast or 0.0) + mass))
        remedies.insert(0, Remedy(_ballast(case, mass), 1 / (FACTOR * float(after.max()))))
    return [replace(check, remedies=tuple(remedies))]


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
