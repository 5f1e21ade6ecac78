"""How a prop rings about its start pose: what gives as springs, the rest rigid, motors and pushers locked."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.types import Assembly, Closure, CouplingData, JointData
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices, of_matrix, of_vector, to_vector

STILL = 1e-2
"""Frequency under which a motion counts as one of the mechanism and not of what rings, Hz."""
STUCK = 1e-6
"""Share of its own speed by which a drive may miss it and still count as moving what it drives."""
SETTLING, SETTLED = 20, 1e-6
"""Steps to find how a prop hangs at most, and the share of the first that the last one is. Pieces a ten-thousandth as
heavy as what they carry leave 1e-7 of it to rounding: less than that is never sure to be reached."""
_RANK = 1e-9
_LOOSE = 1e-7
_SPAN = 0.2
"""Length that weighs turns against shifts, m."""


@dataclass(frozen=True)
class Modes:
    """Ways in which a prop rings about its start pose.

    Attributes:
        frequency: rising, (k,) Hz.
        shape: shift and turn of each body in each, such that the modal mass is 1 kg, (k, B, 6) m and rad.
    """

    frequency: Array
    shape: Array


def frequencies(assembly: Assembly, count: int = 2) -> Array:
    """The lowest frequencies at which a prop rings in its start pose, Hz; fewer than asked where it has no more.

    Args:
        assembly: with joints that give.
        count: how many, rising.

    Example:
        >>> from simprop.assembly.assemble import assemble
        >>> from simprop.rig.load import parse_rig
        >>> prop = assemble(parse_rig('''
        ... rig: 1
        ... name: Mast
        ... bodies:
        ...   ground: {fixed: true}
        ...   mast:
        ...     bends: true
        ...     parts:
        ...       - {pipe: {outside: 21.3 mm, wall: 2.75 mm, of: PVC}, from: 0 0 0 mm, to: 0 0 600 mm}
        ...       - {lump: 0.5 kg, at: 0 0 600 mm}
        ... joints: {foot: {fixed: [ground, mast], at: 0 0 0 mm}}
        ... run: {for: 1 s}
        ... '''))
        >>> round(float(frequencies(prop)[0]), 1)
        3.6
    """
    return modes(assembly, count).frequency


def modes(assembly: Assembly, count: int) -> Modes:
    """The lowest ways in which a prop rings in its start pose; fewer than asked where it has no more.

    Bodies move as their joints let them; a joint that gives is a spring, an axis with a motor and the length of a
    pusher are locked, springs and stops are left out.

    Args:
        assembly: with joints that give.
        count: how many, rising.

    Source: linear vibrations, K x = w^2 M x on the motions that the joints leave free.
    """
    system = _System(assembly)
    free = _free(np.vstack([*system.barred, *system.locked.values()]))
    if not free.shape[1]:
        return Modes(np.zeros(0), np.zeros((0, len(assembly.bodies), 6)))
    root = np.linalg.inv(np.linalg.cholesky(free.T @ system.mass @ free))
    values, vectors = np.linalg.eigh(root @ (free.T @ system.stiffness @ free) @ root.T)
    found = np.sqrt(np.maximum(values, 0.0)) / (2 * np.pi)
    rings = np.flatnonzero(found > STILL)[:count]
    return Modes(found[rings], system.by_body((free @ root.T @ vectors[:, rings]).T))


def sagged(assembly: Assembly, loads: Array) -> Array:
    """How far what gives has gone from the start pose where loads have acted long, motors and pushers locked.

    Turns are finite, and joints keep the directions of the start pose. Along motions that nothing springs back nothing
    moves: there a prop isn't at rest.

    Args:
        assembly: with joints that give.
        loads: force at the centre of mass and moment on each body, (B, 6) N and N*m.

    Returns:
        Shift of the centre of mass and turn of each body, (B, 6) m and rad; zeros where it would hang too far for that
        (turns of about 30 deg), and begins as drawn.

    Source: balance of the springs by Newton's method with the stiffness of the start pose.
    """
    shift, turn = np.zeros((len(assembly.bodies), 3)), np.tile(np.eye(3), (len(assembly.bodies), 1, 1))
    first = 0.0
    for _ in range(SETTLING):
        found = modes(_moved(assembly, shift, turn), 6 * len(assembly.bodies))
        push = np.einsum("kbi,bi->k", found.shape, loads + _sprung(assembly, shift, turn))
        moved = np.einsum("k,kbi->bi", push / (2 * np.pi * found.frequency) ** 2, found.shape)
        shift = shift + moved[:, :3]
        turn = matrices(of_vector(moved[:, 3:])) @ turn
        size = float(np.abs(moved).max(initial=0.0))
        first = first or size
        if size > 2 * first:
            break
        if size <= SETTLED * first:
            return np.hstack([shift, to_vector(of_matrix(turn))])
    return np.zeros((len(assembly.bodies), 6))


def _moved(assembly: Assembly, shift: Array, turn: Array) -> Assembly:
    """A prop as it lies with its bodies shifted and turned from the start pose."""
    bodies = [
        replace(b, com=b.com + s, inertia=r @ b.inertia @ r.T)
        for b, s, r in zip(assembly.bodies, shift, turn, strict=True)
    ]
    joints = []
    for joint in assembly.joints:
        own = turn[joint.first]
        place = bodies[joint.first].com + own @ (joint.point - assembly.bodies[joint.first].com)
        give = joint.give
        if give is not None:
            both = np.kron(np.eye(2), own)
            give = replace(give, stiffness=both @ give.stiffness @ both.T)
        joints.append(replace(joint, point=place, give=give))
    return replace(assembly, bodies=tuple(bodies), joints=tuple(joints))


def _sprung(assembly: Assembly, shift: Array, turn: Array) -> Array:
    """Wrench of all that gives on each body, shifted and turned from the start pose, (B, 6) N and N*m."""
    found = np.zeros((len(assembly.bodies), 6))
    for joint in assembly.joints:
        if joint.give is None:
            continue
        one, two = joint.first, joint.second
        arms = [turn[i] @ (joint.point - assembly.bodies[i].com) for i in (one, two)]
        places = [assembly.bodies[i].com + shift[i] + arm for i, arm in zip((one, two), arms, strict=True)]
        apart = turn[one].T @ (places[1] - places[0])
        against = to_vector(of_matrix(turn[one].T @ turn[two]))
        pull = joint.give.stiffness @ np.concatenate([apart, against])
        force, moment = turn[one] @ pull[:3], turn[one] @ pull[3:]
        found[one] += np.concatenate(
            [force, moment + np.cross(places[1] - assembly.bodies[one].com - shift[one], force)]
        )
        found[two] -= np.concatenate([force, moment + np.cross(arms[1], force)])
    return found


def still_closed(assembly: Assembly) -> tuple[Closure, ...]:
    """What its closing joints bar beyond what the others do, where some of those give and so bar nothing.

    What rigid joints leave for them stays; of what they would bar too, so much as the others no longer do.

    Source: rows that are independent of those before them, by the singular values of what is left of them.
    """
    system = _System(assembly)
    scale = np.ones(system.size)
    scale[[i for i in range(system.size) if i % 6 > 2]] = 1.0 / _SPAN
    closing = {c.joint for c in assembly.closures}
    firm = [j for i, j in enumerate(assembly.joints) if i not in closing and j.give is None]
    basis = _span(np.vstack([np.zeros((0, system.size)), *(system.rows(j) * scale for j in firm)]))
    found = []
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        if joint.give is not None:
            found.append(replace(closure, rows=np.zeros((0, 6)), redundant=np.zeros((0, 6))))
            continue
        apart = system.apart(joint) * scale
        basis = _span(np.vstack([basis, closure.rows @ apart]))
        own = closure.redundant @ apart
        left = own - own @ basis.T @ basis
        u, sigma, _ = np.linalg.svd(left)
        rank = int(np.sum(sigma > _LOOSE))
        rows = np.vstack([closure.rows, u[:, :rank].T @ closure.redundant])
        found.append(Closure(closure.joint, rows, u[:, rank:].T @ closure.redundant))
        basis = _span(np.vstack([basis, own]))
    return tuple(found)


def _span(rows: Array) -> Array:
    """Square unit rows that span the same as some rows."""
    if not len(rows):
        return rows
    _, sigma, v = np.linalg.svd(rows, full_matrices=False)
    return np.asarray(v[sigma > _LOOSE * max(1.0, float(sigma.max()))])


def driven_by(assembly: Assembly, drive: str) -> Array:
    """How all bodies move in the start pose while a motor or pusher goes at 1 rad/s or 1 m/s and the others stand.

    What no drive moves goes where that takes the least energy.

    Args:
        assembly: of rigid bodies.
        drive: name of a motor or pusher.

    Returns:
        Velocity of the centre of mass and angular velocity of each body, (B, 6) m/s and rad/s; zeros where the drive
        is at a dead end.
    """
    system = _System(assembly)
    rows = np.vstack([*system.barred, *system.locked.values()])
    wanted = np.concatenate(
        [
            np.zeros(sum(map(len, system.barred))),
            *(np.full(len(r), float(n == drive)) for n, r in system.locked.items()),
        ]
    )
    root = np.linalg.inv(np.linalg.cholesky(system.mass + 1e-12 * np.eye(len(system.mass)))).T
    scaled = rows @ root
    found, *_ = np.linalg.lstsq(scaled, wanted, rcond=_RANK)
    if float(np.abs(scaled @ found - wanted).max(initial=0.0)) > STUCK:
        return np.zeros((len(assembly.bodies), 6))
    moves: Array = system.by_body((root @ found)[None])[0]
    return moves


def fresh(assembly: Assembly) -> bool:
    """Whether each coupling bars what nothing else does."""
    rows = np.vstack(_System(assembly).barred)
    without = np.vstack(_System(replace(assembly, couplings=())).barred)
    return bool(_free(rows).shape[1] == _free(without).shape[1] - len(assembly.couplings))


class _System:
    """Masses, springs and rows of a prop in its start pose, on six numbers of each body that moves.

    Attributes:
        mass: (n, n).
        stiffness: of joints that give, (n, n).
        barred: what the joints bar, each (k, n).
        locked: what each motor and pusher drives, by its name, (1, n).
    """

    def __init__(self, assembly: Assembly):
        self.bodies = assembly.bodies
        self.moving = {i: 6 * k for k, i in enumerate(i for i, b in enumerate(self.bodies) if not b.fixed)}
        self.size = 6 * len(self.moving)
        self.mass, self.stiffness = np.zeros((self.size, self.size)), np.zeros((self.size, self.size))
        for i, at in self.moving.items():
            body = self.bodies[i]
            self.mass[at : at + 3, at : at + 3] = body.mass * np.eye(3)
            self.mass[at + 3 : at + 6, at + 3 : at + 6] = body.inertia
        self.barred, self.locked = [np.zeros((0, self.size))], {"": np.zeros((0, self.size))}
        self.barred += [self._tied(coupling) for coupling in assembly.couplings]
        driven = {m.joint: name for name, m in assembly.rig.motors.items()}
        for joint in assembly.joints:
            apart = self.apart(joint)
            if joint.give is not None:
                self.stiffness += apart.T @ joint.give.stiffness @ apart
                continue
            self.barred.append(self.rows(joint))
            if joint.name in driven:
                ways = [(f.how, f.way) for f in joint.freedoms if f.how != "ball" and not f.play]
                for how, way in ways[:1]:
                    self.locked[driven[joint.name]] = way[None] @ (apart[:3] if how == "slide" else apart[3:])
        for name, pusher in assembly.rig.pushers.items():
            one, two = (
                assembly.carrier(b, p)
                for b, p in zip(pusher.between, (pusher.start, pusher.end), strict=True)
            )
            ends = [self.bodies[i].placement.world(p) for i, p in ((one, pusher.start), (two, pusher.end))]
            line = (ends[1] - ends[0]) / max(1e-9, float(np.linalg.norm(ends[1] - ends[0])))
            self.locked[name] = line[None] @ (self._motion(two, ends[1]) - self._motion(one, ends[0]))[:3]

    def _motion(self, body: int, point: Array) -> Array:
        """Shift and turn of a body at a point for its six numbers, (6, n)."""
        rows = np.zeros((6, self.size))
        if body in self.moving:
            at, (x, y, z) = self.moving[body], point - self.bodies[body].com
            rows[:, at : at + 6] = np.eye(6)
            rows[:3, at + 3 : at + 6] = [[0.0, z, -y], [-z, 0.0, x], [y, -x, 0.0]]
        return rows

    def _tied(self, coupling: CouplingData) -> Array:
        """What a coupling bars, (1, n)."""
        one, two = (self._motion(body, coupling.tie.point) for body in coupling.bodies)
        apart = one - two
        return np.asarray((coupling.tie.force @ apart[:3] + coupling.tie.moment @ apart[3:])[None])

    def rows(self, joint: JointData) -> Array:
        """What a joint bars, (k, n)."""
        apart = self.apart(joint)
        forces, moments = joint.bars
        return np.vstack([forces @ apart[:3], moments @ apart[3:]])

    def apart(self, joint: JointData) -> Array:
        """Shift and turn of a joint's second body against its first, (6, n)."""
        return self._motion(joint.second, joint.point) - self._motion(joint.first, joint.point)

    def by_body(self, columns: Array) -> Array:
        """Motions (k, n) as (k, B, 6), zeros for what stands still."""
        found = np.zeros((len(columns), len(self.bodies), 6))
        for i, at in self.moving.items():
            found[:, i] = columns[:, at : at + 6]
        return found


def _free(barred: Array) -> Array:
    """Motions that leave all rows at zero, as columns."""
    if not len(barred):
        return np.eye(barred.shape[1])
    _, sigma, v = np.linalg.svd(barred, full_matrices=True)
    rank = int(np.sum(sigma > _RANK * max(1.0, float(sigma.max(initial=0.0)))))
    return np.asarray(v[rank:].T)
