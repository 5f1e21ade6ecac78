"""Bending drawn larger than it is."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from simprop.assembly.types import Assembly, Member
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.lines import line_ends
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.geometry.turning import inverse, multiply, of_vector, rotate, to_vector

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

WORLD = -1


def note_of(times: float) -> str:
    """What a picture says of it.

    Example:
        >>> note_of(5.0), note_of(1.0)
        ('bend drawn 5 times', '')
    """
    return "" if times == 1 else f"bend drawn {times:g} times"


def exaggerated(assembly: Assembly, laws: Actuation, track: Trajectory, times: float) -> Trajectory:
    """The motion with what members bend multiplied: how far each piece turns and shifts off the next.

    A member's own frame, off which it bends, goes with the piece by which it is held; of a member in a loop, with the
    piece that a joint holds in all directions, else with the two joints that are farthest apart. What hangs on a member
    follows the piece that carries it, springs and the like follow their ends. In a closed loop all rigid bodies are
    kept true, and so is the place of two joints on each member; what a third joint holds in the loop, or the direction
    in which a second one holds an end, comes off by (times - 1) of the bending there. Joints that give are drawn true.

    Args:
        assembly: what was run.
        laws: all that acted on it.
        track: its motion; its speeds, loads and places of touch are left as they are.
        times: 1 and more.

    Raises:
        RenderError: where nothing bends.
    """
    if not assembly.members:
        raise RenderError("nothing bends in this run, so there is nothing to exaggerate (run with --bend)")
    if times == 1.0:
        return track
    work = _Work(assembly, track, times)
    work.walk()
    start, end = line_ends(laws.lines, work.position, work.rotation)
    return replace(track, position=work.position, rotation=work.rotation, line_start=start, line_end=end)


def carried(track: Trajectory, shown: Trajectory, body: int, points: Array) -> Array:
    """Points (n, 3) m fastened to a body of one motion, where the same body is in another, (n, 3) m."""
    local = rotate(inverse(track.rotation[:, body]), points - track.position[:, body])
    return np.asarray(shown.position[:, body] + rotate(shown.rotation[:, body], local))


@dataclass(frozen=True)
class _Link:
    """A joint between two nodes: fixed bodies are one, the pieces of a member are one."""

    joint: int
    ends: tuple[int, int]


class _Work:
    """The bodies in blocks that no single joint parts, each shown after the one on which it hangs."""

    def __init__(self, assembly: Assembly, track: Trajectory, times: float):
        self.assembly, self.track, self.times = assembly, track, times
        self.position, self.rotation = track.position.copy(), track.rotation.copy()
        self.member = {m.bodies[0]: m for m in assembly.members}
        heads = {i: m.bodies[0] for m in assembly.members for i in m.bodies}
        self.node = [WORLD if b.fixed else heads.get(i, i) for i, b in enumerate(assembly.bodies)]
        ends = [(j, self.node[x.first], self.node[x.second]) for j, x in enumerate(assembly.joints)]
        self.links = [_Link(j, (a, b)) for j, a, b in ends if a != b]
        self.single = {x for x in self.links if x.ends[1] not in _reached(self.links, x.ends[0], {x})}
        mass = dict.fromkeys(self.node, 0.0)
        for n, body in zip(self.node, assembly.bodies, strict=True):
            mass[n] += body.mass
        self.starts = sorted(mass, key=lambda n: (n != WORLD, -mass[n]))

    def walk(self) -> None:
        """Show block after block."""
        seen: set[int] = set()
        for start in self.starts:
            queue: deque[tuple[int, int | None]] = deque([(start, None)] if start not in seen else [])
            while queue:
                node, entry = queue.popleft()
                block = _reached(self.links, node, self.single)
                seen |= block
                self.show(block, entry)
                for link in (x for x in self.links if x in self.single):
                    for a, b in (link.ends, link.ends[::-1]):
                        if a in block and b not in seen:
                            queue.append((b, link.joint))

    def show(self, block: set[int], entry: int | None) -> None:
        """A block that hangs on another by a joint."""
        bodies = [i for i, n in enumerate(self.node) if n in block and n != WORLD]
        if entry is not None:
            joint = self.assembly.joints[entry]
            other = joint.first if self.node[joint.second] in block else joint.second
            shown = replace(self.track, position=self.position.copy(), rotation=self.rotation.copy())
            turn = multiply(shown.rotation[:, other], inverse(self.track.rotation[:, other]))
            for i in bodies:
                self.position[:, i] = carried(self.track, shown, other, self.position[:, i])
                self.rotation[:, i] = multiply(turn, self.rotation[:, i])
        holding = [x.joint for x in self.links if x not in self.single and set(x.ends) <= block]
        for node in sorted(block & set(self.member)):
            self.bend(self.member[node], [*holding, *([] if entry is None else [entry])])

    def bend(self, member: Member, joints: Sequence[int]) -> None:
        """A member about the frame that what holds it gives."""
        own = list(member.bodies)
        held = self.held(member, joints)
        true = [self.where(h) for h in held]
        clamped = len(held) == 1 or held[0][2]
        before = None if clamped else self.chord(own, held)
        self.chain(member, held[0][0])
        if before is not None:
            after = self.chord(own, held)
            turn = multiply(before[0], inverse(after[0]))[:, None]
            off = self.position[:, own] - after[1][:, None]
            self.position[:, own] = before[1][:, None] + rotate(turn, off)
            self.rotation[:, own] = multiply(turn, self.rotation[:, own])
        if len(held) == 2:
            one, two = (t - self.where(h) for t, h in zip(true, held, strict=True))
            chord = held[1][1] - held[0][1]
            at = np.array([self.assembly.bodies[i].com for i in own]) - held[0][1]
            share = np.clip(at @ chord / (chord @ chord), 0.0, 1.0)
            for (piece, _, _), end in zip(held, (0.0, 1.0), strict=True):
                share[own.index(piece)] = end
            share = (share**2 * (3 - 2 * share) if clamped else share)[:, None]
            self.position[:, own] += (1 - share) * one[:, None] + share * two[:, None]

    def chain(self, member: Member, root: int) -> None:
        """Turns and shifts at each seam multiplied, outwards from one piece, which stays.

        Shifts are taken in axes half-way between the pieces, so that the length of the middle line is kept.
        """
        coms = [body.com for body in self.assembly.bodies]
        turn = {i: self.rotation[:, i].copy() for i in member.bodies}
        place = {i: self.position[:, i].copy() for i in member.bodies}
        seams = [self.assembly.joints[j] for j in member.seams]
        seen, queue = {root}, deque([root])
        while queue:
            i = queue.popleft()
            for seam in (s for s in seams if i in (s.first, s.second)):
                j = seam.first + seam.second - i
                if j in seen:
                    continue
                bend = to_vector(multiply(inverse(turn[i]), turn[j]))
                one, two = seam.point - coms[i], seam.point - coms[j]
                there = rotate(inverse(turn[i]), place[j] + rotate(turn[j], two) - place[i])
                gone = rotate(of_vector((self.times - 1) * bend / 2), self.times * (there - one))
                other = multiply(self.rotation[:, i], of_vector(self.times * bend))
                at = self.position[:, i] + rotate(self.rotation[:, i], one + gone)
                self.rotation[:, j], self.position[:, j] = other, at - rotate(other, two)
                seen.add(j)
                queue.append(j)

    def chord(self, own: Sequence[int], held: Sequence[tuple[int, Array, bool]]) -> tuple[Array, Array]:
        """The frame of a member between two places that hold it: rotation (n, 4) and middle (n, 3) m."""
        one, two = self.where(held[0]), self.where(held[1])
        mean = _mean(self.rotation[:, own])
        return _onto(mean, rotate(mean, held[1][1] - held[0][1]), two - one), (one + two) / 2

    def held(self, member: Member, joints: Sequence[int]) -> list[tuple[int, Array, bool]]:
        """One or two places that hold a member: piece, point in the start pose, (3,) m, and if its direction too."""
        found: list[tuple[int, Array, bool]] = []
        for j in joints:
            joint = self.assembly.joints[j]
            for i in (joint.first, joint.second):
                if i in member.bodies:
                    found.append((i, joint.point, len(joint.bars[1]) == 3))
        if not found:
            heavy = max(member.bodies, key=lambda i: self.assembly.bodies[i].mass)
            return [(heavy, self.assembly.bodies[heavy].com, True)]
        fast = [h for h in found if h[2]] or found
        pairs = [
            (float(np.linalg.norm(a[1] - b[1])), i, k)
            for i, a in enumerate(fast)
            for k, b in enumerate(found)
            if a[0] != b[0]
        ]
        far, one, two = max(pairs, default=(0.0, 0, 0))
        return [fast[one], found[two]] if far > 1e-6 else [fast[0]]

    def where(self, held: tuple[int, Array, bool]) -> Array:
        """A place that holds, as shown, (n, 3) m."""
        body, point, _ = held
        return self.position[:, body] + rotate(self.rotation[:, body], point - self.assembly.bodies[body].com)


def _reached(links: Sequence[_Link], start: int, but: set[_Link]) -> set[int]:
    """Nodes that hang together with one by links, some left out."""
    found, queue = {start}, deque([start])
    while queue:
        node = queue.popleft()
        for link in links:
            if node in link.ends and link not in but:
                other = sum(link.ends) - node
                if other not in found:
                    found.add(other)
                    queue.append(other)
    return found


def _mean(turn: Array) -> Array:
    """Mean of rotations that differ little, (n, k, 4) to (n, 4)."""
    sign = np.where(np.sum(turn * turn[:, :1], axis=-1, keepdims=True) < 0, -1.0, 1.0)
    mean = (sign * turn).sum(axis=1)
    return np.asarray(mean / np.linalg.norm(mean, axis=-1, keepdims=True))


def _onto(turn: Array, line: Array, wanted: Array) -> Array:
    """Rotations (n, 4) turned on by the least that takes directions `line` to `wanted`, (n, 3) of any length."""
    a, b = (v / np.linalg.norm(v, axis=-1, keepdims=True) for v in (line, wanted))
    half = np.concatenate([np.cross(a, b), 1 + np.sum(a * b, axis=-1, keepdims=True)], axis=-1)
    return multiply(half / np.linalg.norm(half, axis=-1, keepdims=True), turn)
