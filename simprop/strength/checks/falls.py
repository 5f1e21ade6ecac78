"""What would come down if the joints that share a load let go, and by which part of the load they are judged.

Rigid bodies leave open how such joints share. By their stiffness they share as `simprop.loads.elastic` says, which
rests on how things are drawn: a loose screw or a pin with play leaves more to the others. Where what hangs on them
could come down on somebody, each of their fasteners must therefore bear all that it can ever get; elsewhere it is
judged by its share.

What hangs on a joint is all that is held to something still only through the joints that share with it: those that lie
in one loop of the joint graph with it and share a load too. Springs, ropes and struts hold nothing here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.loads.joints import JointLoads
from simprop.rig.site import Stand
from simprop.rules.falling import HARD, HEAD, falls_on_people
from simprop.strength.checks.ground import footprint

WORLD = -1


@dataclass(frozen=True)
class Fall:
    """What would come loose.

    Attributes:
        bodies: their names.
        mass: together, kg.
        height: the highest that their centre of mass comes over the ground in the run, m.
        feared: it could come down on somebody.
    """

    bodies: tuple[str, ...]
    mass: float
    height: float
    feared: bool

    @property
    def words(self) -> str:
        """What hangs there, what that means, and what its fastener is judged by."""
        if not self.bodies:
            return "nothing comes loose there: each fastener is judged by its share"
        what = f"{', '.join(self.bodies)} ({self.mass:.2g} kg, up to {self.height:.3g} m up) hangs there"
        if self.feared:
            return f"{what} and could come down on somebody: each fastener must bear all that it can get"
        return (
            f"{what}, under {HEAD:g} m or less than {HARD:g} J of fall: each fastener is judged by its share"
        )


def fall_of(loads: JointLoads, j: int) -> Fall:
    """What would come loose if a joint and those that share a load with it let go.

    Args:
        j: index of the joint.
    """
    assembly, track = loads.recording.assembly, loads.recording.track
    rig = assembly.rig
    loose = [i for i in hanging(assembly, j, loads.wrenches.shared) if assembly.bodies[i].mass > 0]
    if not loose:
        return Fall((), 0.0, 0.0, False)
    masses = np.array([assembly.bodies[i].mass for i in loose])
    _, level = footprint(assembly, rig.stand or Stand())
    height = float((track.position[:, loose, 2] @ masses / masses.sum()).max()) - level
    beneath = rig.visitors is not None and rig.visitors.overhead
    gravity = max(0.0, -float(rig.run.gravity[2]))
    feared = falls_on_people(float(masses.sum()), height, gravity, beneath)
    names = dict.fromkeys(assembly.bodies[i].called for i in loose)
    return Fall(tuple(names), float(masses.sum()), height, feared)


def hanging(assembly: Assembly, j: int, shared: tuple[str, ...]) -> list[int]:
    """Indices of the bodies that nothing still holds once a joint and those that share with it are gone.

    Args:
        j: index of the joint.
        shared: what each joint shares, in words ("" for nothing).
    """
    ring = loop_of(assembly, j)
    gone = {j, *(k for k in ring if shared[k])}
    held = _reached(assembly, set())
    return sorted(held - _reached(assembly, gone))


def loop_of(assembly: Assembly, j: int) -> set[int]:
    """Joints that lie in a loop with this one: those of all loops that share a joint, grown together.

    Args:
        j: index of the joint.
    """
    up = {branch.body: branch for branch in assembly.tree}
    loops: list[set[int]] = []
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        ring = {closure.joint}
        for body in (joint.first, joint.second):
            while body in up:
                branch = up[body]
                ring ^= {branch.joint} if branch.joint is not None else set()
                body = branch.parent
        touching = [one for one in loops if one & ring]
        loops = [one for one in loops if not one & ring] + [ring.union(*touching)]
    return next((one for one in loops if j in one), {j})


def _reached(assembly: Assembly, gone: set[int]) -> set[int]:
    """Bodies that joints hold to something still, without some of them."""
    beside: dict[int, set[int]] = {}
    for k, joint in enumerate(assembly.joints):
        if k not in gone:
            one, two = (WORLD if assembly.bodies[i].fixed else i for i in (joint.first, joint.second))
            beside.setdefault(one, set()).add(two)
            beside.setdefault(two, set()).add(one)
    found, ahead = {WORLD}, [WORLD]
    while ahead:
        fresh = beside.get(ahead.pop(), set()) - found
        found |= fresh
        ahead += fresh
    return found - {WORLD}
