"""Joints as an undirected graph: which span the prop as a tree, and which close loops."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence

from simprop.assembly.types import Branch
from simprop.joints.kinds import LAST
from simprop.rig.model import Rig

WORLD = -1


def acting_joints(rig: Rig) -> set[str]:
    """Names of the joints on which a motor, spring, stop or friction acts."""
    names = {m.joint for m in rig.motors.values() if m.joint is not None}
    names |= {about[0] for s in rig.springs.values() if (about := s.about()) is not None}
    names |= {s.joint for s in rig.stops.values()}
    for name, joint in rig.joints.items():
        if any(loss.friction or loss.viscous or loss.grip for loss in joint.losses):
            names.add(name)
    return names


def span(
    rig: Rig, nodes: Mapping[str, int], order: Sequence[str], masses: Sequence[float]
) -> tuple[list[Branch], list[int]]:
    """Spanning tree of the prop.

    Each kind of joint has its place in the order (sliding joints come first). Joints on which something acts should be
    in the tree, so that their coordinate is at hand; of the rest, those near the motor are taken first, which leaves
    the far ends (the wrist of a rod) to close the loops.

    Args:
        nodes: index of each body, `WORLD` for those that stand still.
        order: names of the joints, as indices count them.
        masses: of each body, kg; a group that hangs on nothing floats by its heaviest body.

    Returns:
        The branches, parents before children, and the indices of the closing joints.
    """
    acting, driven = acting_joints(rig), {m.joint for m in rig.motors.values()}
    hops = _hops(rig, nodes)

    def weight(name: str) -> tuple[int, int, str]:
        joint = rig.joints[name]
        first = joint.order
        if first < LAST and name in acting:
            first = min(first, 1)
        if first < LAST and name in driven:
            first = 0
        return first, min(hops.get(nodes[b], 10**6) for b in joint.between), name

    group = {n: n for n in {WORLD, *nodes.values()}}

    def root(n: int) -> int:
        while group[n] != n:
            n = group[n]
        return n

    kept: list[int] = []
    closing: list[int] = []
    for name in sorted(order, key=weight):
        a, b = (root(nodes[body]) for body in rig.joints[name].between)
        index = order.index(name)
        if a == b:
            closing.append(index)
        else:
            group[a] = b
            kept.append(index)
    return _oriented(rig, nodes, order, kept, masses), sorted(closing)


def _hops(rig: Rig, nodes: Mapping[str, int]) -> dict[int, int]:
    """Joints between each body and the nearest driven body, not counting through the world."""
    links: dict[int, set[int]] = {}
    for joint in rig.joints.values():
        a, b = (nodes[body] for body in joint.between)
        links.setdefault(a, set()).add(b)
        links.setdefault(b, set()).add(a)
    driven = [rig.joints[m.joint] for m in rig.motors.values() if m.joint in rig.joints]
    starts = {nodes[b] for j in driven for b in j.between} - {WORLD} or {WORLD}
    hops = dict.fromkeys(starts, 0)
    queue = deque(sorted(starts))
    while queue:
        node = queue.popleft()
        for other in sorted(links.get(node, ())):
            if other not in hops and other != WORLD:
                hops[other] = hops[node] + 1
                queue.append(other)
    return hops


def _oriented(
    rig: Rig, nodes: Mapping[str, int], order: Sequence[str], kept: Sequence[int], masses: Sequence[float]
) -> list[Branch]:
    links: dict[int, list[tuple[int, int, bool]]] = {}
    for index in kept:
        a, b = (nodes[body] for body in rig.joints[order[index]].between)
        links.setdefault(a, []).append((b, index, True))
        links.setdefault(b, []).append((a, index, False))
    moving = [n for n in nodes.values() if n != WORLD]
    seen = {WORLD}
    tree: list[Branch] = []

    def walk(start: int) -> None:
        queue = deque([start])
        while queue:
            node = queue.popleft()
            for other, index, forward in sorted(links.get(node, []), key=lambda link: link[0]):
                if other not in seen:
                    seen.add(other)
                    tree.append(Branch(other, node, index, forward))
                    queue.append(other)

    walk(WORLD)
    for node in sorted(moving, key=lambda n: -masses[n]):
        if node not in seen:
            seen.add(node)
            tree.append(Branch(node, WORLD, None, True))
            walk(node)
    return tree
