"""Loads on the cross-sections of a member that bends: cut where it is cut, from the balance of the piece there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simprop.assembly.types import Member as Bending
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.joints import JointLoads
from simprop.rules.stress import SectionLoads
from simprop.strength.members.cuts import BodyHistory, Member, made_of
from simprop.strength.members.outer import Outer, outer_loads
from simprop.strength.members.pieces import grounded, links, nearest_piece, pieces


class WholeHistory(BodyHistory):
    """A member that bends, with the places and names of its unstrained body; see `BodyHistory`.

    A cut lies in one of its pieces, and its loads are those of that piece: seams, joints, weight and inertia.
    """

    def __init__(self, loads: JointLoads, member: Bending):
        track = loads.recording.track
        own = set(member.seams)
        self.loads, self.data, self.index = loads, member.whole, member.bodies[0]
        self.pieces = tuple(BodyHistory(loads, i) for i in member.bodies)
        root = self.pieces[0]
        self.turn = matrices(track.rotation[:, self.index])
        self.centre = root.centre + self.turn @ (member.whole.com - root.data.com)
        self.found = pieces(self.data)
        self.floor = grounded(self.data, self.found, [])
        self.links = links(self.found, self.floor.keys())
        self.members = made_of(self.index, self.data, self.found)
        self.outer = tuple(
            self._moved(load, piece)
            for piece, i in zip(self.pieces, member.bodies, strict=True)
            for load in outer_loads(loads, i)
            if load.kind != "joint" or load.index not in own
        )
        self._owner = [nearest_piece(self.found, o.point) for o in self.outer]

    def _moved(self, load: Outer, piece: BodyHistory) -> Outer:
        return replace(load, point=load.point + piece.data.com - self.data.com)

    def cut(self, member: Member, place: float, after: bool = True) -> SectionLoads | None:
        """See `BodyHistory.cut`."""
        at = self.data.com + member.start + place * member.along
        best: tuple[float, BodyHistory, Member, float] | None = None
        for piece in self.pieces:
            for own in piece.members:
                if piece.data.shapes[own.shape].name != self.data.shapes[member.shape].name:
                    continue
                if abs(float(own.along @ member.along)) < 1 - 1e-6:
                    continue
                far = at - piece.data.com - own.start
                local = float(far @ own.along)
                inside = min(max(local, 0.0), own.length)
                off = float(np.linalg.norm(far - inside * own.along))
                # at a boundary the cut belongs to the piece on the side that is asked for
                off += 1e-9 * (inside >= own.length - 1e-9 if after else inside <= 1e-9)
                if best is None or off < best[0]:
                    best = (off, piece, own, inside)
        return None if best is None else best[1].cut(best[2], best[3], after)

    def moments(self, member: Member, place: float, after: bool, row: int) -> Array | None:
        """See `BodyHistory.moments`."""
        loads = self.cut(member, place, after)
        if loads is None:
            return None
        both = (loads.moment_u, loads.moment_v)
        return np.array([*(m[row] for m in both), *(m.mean() for m in both)])


def histories(loads: JointLoads) -> list[BodyHistory]:
    """The history of every body of the rig that has parts, in its order: of one that bends as a whole."""
    assembly = loads.recording.assembly
    found: list[BodyHistory] = []
    whole = {member.bodies[0]: member for member in assembly.members}
    for index, body in enumerate(assembly.bodies):
        if index in whole:
            found.append(WholeHistory(loads, whole[index]))
        elif body.shapes and not body.scenery and body.member is None:
            found.append(BodyHistory(loads, index))
    return found
