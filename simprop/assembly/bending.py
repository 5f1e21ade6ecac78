"""Which bodies of a prop bend, into how many pieces, and the prop with those pieces in place of the rigid bodies."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from simprop.assembly.beams import bending, pieces_of
from simprop.assembly.coupling import coupled
from simprop.assembly.cutting import cut
from simprop.assembly.modes import frequencies, still_closed
from simprop.assembly.types import Assembly, BodyData, Branch, Give, JointData, Member
from simprop.catalog.damping import damping_of
from simprop.errors import AssemblyError
from simprop.geometry.arrays import Array
from simprop.joints.seam import Seam


@dataclass(frozen=True)
class Wanted:
    """How a body is to bend.

    Attributes:
        elements: along its longest beam; None: as many as are needed.
        damping: damping ratio of its first swing; None: that of its material.
        every: all its beams bend; else only slender ones.
        parts: only those of these parts, by their number; None: of all.
    """

    elements: int | None = None
    damping: float | None = None
    every: bool = True
    parts: frozenset[int] | None = None


LADDER = (2, 3, 4, 5, 6, 8, 10, 12, 16, 20)
"""Numbers of elements that are tried."""
FINE = 32
"""What they are held against."""
CLOSE = (0.003, 0.018, 0.018, 0.018)
"""Largest error of the lowest frequencies, as shares; those far above the first don't count."""
FAR = 25.0
"""How many times the first."""
QUICK, ROUGH = 60.0, 10.0
"""A member that rings above so many Hz follows what a prop does as if at rest, which any cut does exactly: so many
times `CLOSE` will do (assumed: a prop's own jolts last 10 ms and more)."""


def slender(body: BodyData) -> bool:
    """True if a body has a part that is long against its section and of a known stiffness."""
    return any(p.slender for p in pieces_of(body))


def bent(assembly: Assembly, wanted: Mapping[int, Wanted]) -> Assembly:
    """The same prop with some bodies cut into pieces.

    The number of elements is the least with which the body's first two frequencies, as it is held and loaded with all
    other bodies rigid, lie within `CLOSE` of those of a fine cut. Damping goes with stiffness, and gives the first
    frequency the damping ratio of the material of its longest beam, or the stated one.

    Args:
        assembly: with rigid bodies.
        wanted: how each of the bodies, by index, is to bend.

    Raises:
        AssemblyError: where a body has no beam, or stands still.
    """
    ratios = {}
    numbers = {}
    for i, how in wanted.items():
        body = assembly.bodies[i]
        if body.fixed or body.scenery:
            raise AssemblyError(
                f"bodies.{body.name}.bends: it stands still; draw what bends as a body and hold it by a fixed joint"
            )
        rows = bending(body, how.every, how.parts)
        if not rows:
            raise AssemblyError(
                f"bodies.{body.name}.bends: nothing in it can: a pipe, tube, rod or bar of a known stiffness can"
            )
        longest = max(rows, key=lambda piece: piece.stretch.length)
        numbers[i] = how.elements or _enough(assembly, i, how)
        ratio = how.damping if how.damping is not None else damping_of(longest.shape.material)
        found = frequencies(_replaced(assembly, {i: (numbers[i], how, 0.0)}), 1)
        first = float(found[0]) if len(found) else np.inf
        ratios[i] = (ratio, first)
    rates = {i: ratio / (np.pi * first) for i, (ratio, first) in ratios.items()}
    made = _replaced(assembly, {i: (numbers[i], wanted[i], rates[i]) for i in wanted})
    members = tuple(
        replace(m, damping=ratios[i][0], frequency=ratios[i][1])
        for m, i in zip(made.members, sorted(wanted), strict=True)
    )
    return replace(made, members=members)


def as_if_bent(assembly: Assembly, index: int, elements: int) -> Assembly:
    """The same prop with all beams of one body cut, without damping.

    Args:
        assembly: of rigid bodies.
        index: of the body; it has beams.
        elements: along its longest beam.
    """
    return _replaced(assembly, {index: (elements, Wanted(), 0.0)})


def _enough(assembly: Assembly, index: int, how: Wanted) -> int:
    """The least number of elements that is fine enough."""
    exact = frequencies(_replaced(assembly, {index: (FINE, how, 0.0)}), len(CLOSE))
    loose = ROUGH if len(exact) and exact[0] > QUICK else 1.0
    for count in LADDER:
        found = frequencies(_replaced(assembly, {index: (count, how, 0.0)}), len(CLOSE))
        wrong = [abs(f / e - 1) for f, e in zip(found, exact, strict=False) if e <= FAR * exact[0]]
        if len(found) == len(exact) and all(w <= c * loose for w, c in zip(wrong, CLOSE, strict=False)):
            return count
    return LADDER[-1]


def _replaced(assembly: Assembly, how: Mapping[int, tuple[int, Wanted, float]]) -> Assembly:
    """Bodies cut into pieces: elements, which beams, and damping over stiffness, s, by index."""
    places: dict[int, list[Array]] = {i: [] for i in how}
    for joint in assembly.joints:
        for i in (joint.first, joint.second):
            if i in places:
                places[i].append(joint.point - assembly.bodies[i].com)
    bodies: list[BodyData] = []
    index: dict[int, list[int]] = {}
    seams: list[JointData] = []
    members = []
    for i, body in enumerate(assembly.bodies):
        if i not in how:
            index[i] = [len(bodies)]
            bodies.append(body)
            continue
        count, own_way, rate = how[i]
        made = cut(body, np.array(places[i]).reshape(-1, 3), count, own_way.every, own_way.parts)
        index[i] = list(range(len(bodies), len(bodies) + len(made.pieces)))
        own = []
        for k, (a, b, at, stiffness) in enumerate(made.seams):
            own.append(len(assembly.joints) + len(seams))
            kind = Seam.model_construct(kind="seam", between=(made.pieces[a].name, made.pieces[b].name))
            name = f"{body.name}:{k + 1}"
            give = Give(stiffness, rate * stiffness)
            seams.append(JointData(name, kind, index[i][a], index[i][b], at, np.zeros(3), (), give))
        bodies += made.pieces
        members.append(Member(body, tuple(index[i]), tuple(own), 0.0, 0.0))
    start = [(i, b.com) for i, b in enumerate(assembly.bodies)]
    velocity = np.array(
        [
            assembly.velocity[i] + np.cross(assembly.spin[i], bodies[k].com - com)
            for i, com in start
            for k in index[i]
        ]
    ).reshape(-1, 3)
    spin = np.array([assembly.spin[i] for i, _ in start for _ in index[i]]).reshape(-1, 3)
    made_ = replace(
        assembly,
        bodies=tuple(bodies),
        velocity=velocity,
        spin=spin,
        members=tuple(members),
        joints=(),
    )
    names = [b.name for b in assembly.bodies]

    def on(i: int, point: Array) -> int:
        return made_.nearest(names[i], point)

    joints = tuple(
        replace(j, first=on(j.first, j.point), second=on(j.second, j.point)) for j in assembly.joints
    )
    joints = (*joints, *seams)
    couplings, slips = coupled(assembly.rig, bodies, joints, assembly.axes)
    whole = replace(
        made_, joints=joints, tree=_tree(assembly, bodies, joints), couplings=couplings, slips=slips
    )
    return replace(whole, closures=still_closed(whole))


def _tree(assembly: Assembly, bodies: Sequence[BodyData], joints: Sequence[JointData]) -> tuple[Branch, ...]:
    """The spanning tree, by the joints of the rigid prop's tree and the seams."""
    old = {b.joint for b in assembly.tree}
    links: dict[int, list[tuple[int, int, bool]]] = {}
    for k, joint in enumerate(joints):
        if k in old or joint.give is not None:
            one, two = (-1 if bodies[i].fixed else i for i in (joint.first, joint.second))
            links.setdefault(one, []).append((two, k, True))
            links.setdefault(two, []).append((one, k, False))
    found: list[Branch] = []
    seen = {-1}
    heaviest = sorted((i for i, b in enumerate(bodies) if not b.fixed), key=lambda i: -bodies[i].mass)
    for start in (-1, *heaviest):
        if start >= 0:
            if start in seen:
                continue
            found.append(Branch(start, -1, None, True))
        queue = deque([start])
        seen.add(start)
        while queue:
            node = queue.popleft()
            for other, joint_, forward in links.get(node, ()):
                if other not in seen:
                    seen.add(other)
                    found.append(Branch(other, node, joint_, forward))
                    queue.append(other)
    return tuple(found)
