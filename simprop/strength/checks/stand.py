"""Does the stand tip, slide or walk: checks from a recording, with ballast and stakes that would help."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from simprop.assembly.types import Assembly, BodyData
from simprop.checking.check import Check, Remedy, judge, not_computed, warning
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rig.site import Stand, Wind
from simprop.rules import stability
from simprop.strength.members.outer import outer_loads
from simprop.strength.members.pieces import pieces

FACTOR = 1.5
"""Least factor against tipping and sliding; common practice, no source."""
GROUND_FRICTION = 0.4
"""Feet on grass or paving where the rig doesn't say; assumed (wood on most things 0.25 to 0.6, handbooks)."""
SIDES = {
    "the right (+x)": (1.0, 0.0),
    "the left (-x)": (-1.0, 0.0),
    "the back (+y)": (0.0, 1.0),
    "the viewer (-y)": (0.0, -1.0),
}
"""Directions as a person who looks at the picture calls them."""
COMPASS = 8
"""Wind directions that are tried where none is stated."""


@dataclass(frozen=True)
class Ground:
    """The ground's part of a run, for plots and the report.

    Attributes:
        force: that the ground gives without wind, (n, 3) N.
        moment: about `origin`, (n, 3) N*m.
        origin: a point of the ground under the world's origin, (3,) m.
        feet: corners of the footprint, (k, 2) m.
        weight: of the whole prop with its ballast, N.
        centre: where the weight's line meets the ground in the start pose, (2,) m.
    """

    force: Array
    moment: Array
    origin: Array
    feet: Array
    weight: float
    centre: Array


def stand_checks(loads: JointLoads) -> tuple[tuple[Check, ...], Ground | None]:
    """Tipping, sliding and walking of the stand, in the stated wind.

    Args:
        loads: of a run.

    Returns:
        The checks, and the ground's reaction; None where it isn't known what the prop stands on.
    """
    assembly = loads.recording.assembly
    stand = assembly.rig.stand or Stand()
    if stand.anchored:
        return (), None
    assumed = []
    feet, level = _feet(assembly, stand)
    if feet is None:
        reason = "what the prop stands on isn't drawn nor stated (`stand: {base: 600 x 400 mm}`)"
        return (not_computed("stability", "tipping", "stand", reason),), None
    if not stand.feet and stand.base is None:
        assumed.append("feet: the lowest points of what stands still (`stand` isn't stated)")
    gravity = float(-assembly.rig.run.gravity[2])
    if gravity <= 0:
        reason = "gravity doesn't pull down in this run"
        return (not_computed("stability", "tipping", "stand", reason),), None
    ground = _ground(loads, stand, feet, level, gravity)
    friction = stand.friction
    if friction is None:
        friction = GROUND_FRICTION
        assumed.append(f"friction of {friction} under the feet")
    wind = assembly.rig.wind
    if wind is None:
        assumed.append("no wind (`wind` isn't stated)")
    pushes = _pushes(loads, wind, ground.origin, assumed)
    case = _Case(loads, stand, ground, pushes, gravity, friction, tuple(assumed))
    checks = [_tipping(case)]
    if stand.stakes >= 2:
        checks.append(_staked(case))
    else:
        checks += _sliding(case)
    return tuple(checks), ground


@dataclass(frozen=True)
class _Case:
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


def _feet(assembly: Assembly, stand: Stand) -> tuple[Array | None, float]:
    if stand.feet:
        points = np.array([p[:3] for p in stand.feet])
        return _hull(points[:, :2]), float(points[:, 2].min())
    own = [b for b in assembly.bodies if b.fixed and not b.scenery and b.shapes]
    lows = np.vstack([_low_points(b) for b in own] or [np.zeros((0, 3))])
    level = float(lows[:, 2].min()) if len(lows) else 0.0
    if stand.base is not None:
        at = np.zeros(3) if stand.at is None else np.array(stand.at[:3])
        half = np.asarray(stand.base) / 2
        corners = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half
        return at[:2] + corners, float(at[2]) if stand.at is not None else level
    return _hull(lows[lows[:, 2] < level + 0.010, :2]), level


def _hull(points: Array) -> Array | None:
    from scipy.spatial import ConvexHull, QhullError

    if len(points) < 3:
        return None
    try:
        return np.asarray(points[ConvexHull(points).vertices])
    except QhullError:
        return None


def _low_points(body: BodyData) -> Array:
    """Points of a body that may touch the ground, world frame at the start, (k, 3) m."""
    found = []
    for piece in pieces(body):
        if piece.boxed:
            found.append(piece.spots())
        else:
            ring = np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0]]) * piece.radius
            ends = np.vstack([piece.start + ring, piece.end + ring])
            way = piece.end - piece.start
            lying = way.any() and abs(float(way[2])) < 0.5 * float(np.linalg.norm(way))
            ball = not way.any()
            found.append(ends - [0, 0, piece.radius] if lying or ball else ends)
    return np.vstack(found) + body.com


def _ground(loads: JointLoads, stand: Stand, feet: Array, level: float, gravity: float) -> Ground:
    assembly, track = loads.recording.assembly, loads.recording.track
    n = len(track.time)
    origin = np.array([0.0, 0.0, level])
    rate, turning = np.zeros((n, 3)), np.zeros((n, 3))
    pull, pull_moment = np.zeros((n, 3)), np.zeros((n, 3))
    down = np.asarray(assembly.rig.run.gravity)
    weight, first = 0.0, np.zeros(2)
    for i, body in enumerate(assembly.bodies):
        if body.scenery:
            continue
        arm = track.position[:, i] - origin
        pull += body.mass * down
        pull_moment += np.cross(arm, np.tile(body.mass * down, (n, 1)))
        weight += body.mass * gravity
        first += body.mass * gravity * body.com[:2]
        for load in outer_loads(loads, i):
            if load.other < 0 or assembly.bodies[load.other].scenery:
                pull += load.force
                pull_moment += np.cross(load.place - origin, load.force) + load.moment
        if body.fixed:
            continue
        turn = matrices(track.rotation[:, i])
        inertia = turn @ body.inertia @ turn.transpose(0, 2, 1)
        spin, alpha = track.spin[:, i], track.spin_acceleration[:, i]
        moved = body.mass * track.acceleration[:, i]
        rate += moved
        turning += np.cross(arm, moved) + np.einsum("nij,nj->ni", inertia, alpha)
        turning += np.cross(spin, np.einsum("nij,nj->ni", inertia, spin))
    extra = (stand.ballast or 0.0) * gravity
    if extra:
        at = feet.mean(axis=0) if stand.ballast_at is None else np.array(stand.ballast_at[:2])
        pull += [0.0, 0.0, -extra]
        pull_moment += np.cross([at[0], at[1], 0.0], [0.0, 0.0, -extra])
        weight += extra
        first += extra * at
    force, moment = stability.ground_reaction(rate, turning, pull, pull_moment)
    return Ground(force, moment, origin, feet, weight, first / weight if weight > 0 else feet.mean(axis=0))


def _pushes(
    loads: JointLoads, wind: Wind | None, origin: Array, assumed: list[str]
) -> tuple[tuple[Array, Array], ...]:
    """Wind force and moment about the origin for each direction tried, ((n, 3), (n, 3)); one calm pair without wind."""
    n = len(loads.recording.track.time)
    calm = (np.zeros((n, 3)), np.zeros((n, 3)))
    if wind is None or wind.speed == 0:
        return (calm,)
    if wind.toward is not None:
        ways = [np.asarray(wind.toward)]
    else:
        angles = 2 * np.pi * np.arange(COMPASS) / COMPASS
        ways = [np.array([np.cos(a), np.sin(a), 0.0]) for a in angles]
        assumed.append("the wind from its worst side")
    if wind.area is None:
        assumed.append(f"wind area estimated from the drawn parts, drag {wind.drag:g}")
    return tuple(_push(loads, wind, origin, way) for way in ways)


def _push(loads: JointLoads, wind: Wind, origin: Array, way: Array) -> tuple[Array, Array]:
    assembly, track = loads.recording.assembly, loads.recording.track
    n = len(track.time)
    force, moment = np.zeros((n, 3)), np.zeros((n, 3))
    if wind.area is not None:
        one = stability.wind_force(wind.speed, wind.drag * wind.area) * way
        at = np.array(wind.at[:3]) if wind.at is not None else _middle(assembly)
        return force + one, moment + np.cross(at - origin, one)
    for i, body in enumerate(assembly.bodies):
        if body.scenery:
            continue
        turn = matrices(track.rotation[:, i])
        for shape in body.shapes:
            one = stability.wind_force(wind.speed, wind.drag * shape.face(way)) * way
            at = track.position[:, i] + turn @ shape.path.mean(axis=0)
            force += one
            moment += np.cross(at - origin, np.tile(one, (n, 1)))
    return force, moment


def _middle(assembly: Assembly) -> Array:
    own = [b for b in assembly.bodies if not b.scenery]
    return np.asarray(sum((b.mass * b.com for b in own), np.zeros(3)) / max(sum(b.mass for b in own), 1e-12))


def _tipping(case: _Case) -> Check:
    ground = case.ground
    outline = stability.edges(ground.feet)
    worst_ratio, found = -np.inf, None
    stakes = case.stand.stakes * case.stand.stake_pull
    middle = ground.feet.mean(axis=0)
    for force, moment in case.pushes:
        args = (ground.weight, ground.centre, outline)
        holding, over = stability.tipping(ground.force - force, ground.moment - moment, *args)
        hold = holding + stakes * np.einsum("ei,ei->e", outline[1], outline[0] - middle)
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
    if check.verdict != "fail":
        return check
    return replace(check, remedies=_steadier(case, max(demand, 0.0) * FACTOR, capacity, (point, normal)))


def _steadier(case: _Case, need: float, have: float, edge: tuple[Array, Array]) -> tuple[Remedy, ...]:
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


def _uses(case: _Case) -> tuple[Array, Array]:
    """The reaction in the wind that slides it most, (n, 3), and its use of friction, (n,)."""
    rows = [case.ground.force - force for force, _ in case.pushes]
    uses = [stability.slide_use(r, case.friction) for r in rows]
    k = int(np.argmax([float(u.max()) for u in uses]))
    return rows[k], uses[k]


def _sliding(case: _Case) -> list[Check]:
    reaction, use = _uses(case)
    row = int(np.argmax(use))
    flat = float(np.hypot(reaction[row, 0], reaction[row, 1]))
    track = case.loads.recording.track
    check = judge(
        "stability",
        "sliding",
        "stand, feet on the ground",
        flat,
        max(case.friction * float(reaction[row, 2]), 0.0),
        unit="N",
        factor=FACTOR,
        assumed=case.assumed,
        source="Coulomb; momentum of the whole prop",
        time=float(track.time[row]),
    )
    if check.verdict != "fail":
        return [check]
    mass = max(0.0, flat * FACTOR / case.friction - float(reaction[row, 2])) / case.gravity
    mass = float(ceil(mass + 0.5))
    after = case.friction * (float(reaction[row, 2]) + mass * case.gravity) / (flat * FACTOR)
    remedies = (
        Remedy(f"{mass:.0f} kg of ballast on the stand", after),
        Remedy("stake it down with two stakes or more", float("inf")),
    )
    checks = [replace(check, remedies=remedies)]
    if float(use.max()) > 1:
        far = stability.walk(reaction, case.friction, case.ground.weight / case.gravity, track.step)
        run = len(track.time) * track.step
        reason = f"it creeps: about {far / run * 60e3:.0f} mm a minute as the motion drags it over the ground"
        checks.append(warning("stability", "walking", "stand, feet on the ground", reason))
    return checks


def _staked(case: _Case) -> Check:
    """Sideways pull on the stakes; not judged: soil differs too much."""
    reaction, use = _uses(case)
    row = int(np.argmax(use))
    flat = float(np.hypot(reaction[row, 0], reaction[row, 1]))
    held = case.friction * max(float(reaction[row, 2]), 0.0)
    each = max(0.0, flat - held) / case.stand.stakes
    reason = f"each stake takes {each:.0f} N sideways; whether the soil holds that is for you to try"
    return warning("stability", "stakes", "stand, feet on the ground", reason)
