"""An assembled prop in Pinocchio, a rigid-body library by other hands: its accelerations and joint wrenches.

Featherstone's algorithms in joint coordinates (Carpentier et al., The Pinocchio C++ library, SII 2019); loops closed by
its contact dynamics. It shares no code with the engines and none with the loads pass: only the rig's tree, masses
and the recorded state and axis loads go in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly, Branch
from simprop.engine.world import Trajectory
from simprop.geometry.arrays import Array


@dataclass(frozen=True)
class Oracle:
    """What Pinocchio says of one row.

    Attributes:
        acceleration: of each body's centre of mass, (B, 3).
        spin_acceleration: (B, 3).
        force: on the second body of each joint, (J, 3).
        moment: about the joint's point, (J, 3).
    """

    acceleration: Array
    spin_acceleration: Array
    force: Array
    moment: Array


def matrix(rotation: Array) -> Array:
    import pinocchio as pin

    return np.asarray(pin.Quaternion(*rotation[[3, 0, 1, 2]]).matrix())


def _depth_first(tree: Sequence[Branch], parent: int = -1) -> Iterator[Branch]:
    """The tree in the order that Pinocchio's algorithms need: each subtree in one run."""
    for branch in tree:
        if branch.parent == parent:
            yield branch
            yield from _depth_first(tree, branch.body)


class Twin:
    """The prop's model in Pinocchio."""

    def __init__(self, assembly: Assembly):
        import pinocchio as pin

        self.pin, self.a = pin, assembly
        self.model = pin.Model()
        self.model.gravity.linear = np.array(assembly.rig.run.gravity)
        self.joint_of = {-1: 0}
        self.origin = {-1: np.zeros(3)}
        for branch in _depth_first(assembly.tree):
            joint = None if branch.joint is None else assembly.joints[branch.joint]
            body = assembly.bodies[branch.body]
            origin = body.com if joint is None else joint.point
            # A free body's coordinates count from the world's origin.
            place = pin.SE3(np.eye(3), np.zeros(3) if joint is None else origin - self.origin[branch.parent])
            sign = 1.0 if branch.forward else -1.0
            kind: Any
            if joint is None:
                kind = pin.JointModelFreeFlyer()
            elif joint.kind.kind == "ball":
                kind = pin.JointModelSpherical()
            elif joint.kind.kind == "pin":
                kind = pin.JointModelRevoluteUnaligned(sign * joint.axis)
            else:
                assert joint.kind.kind == "slider", "no other kinds in the oracle"
                kind = pin.JointModelPrismaticUnaligned(sign * joint.axis)
            index = self.model.addJoint(self.joint_of[branch.parent], kind, place, f"body{branch.body}")
            inertia = pin.Inertia(body.mass, body.com - origin, body.inertia)
            self.model.appendBodyToJoint(index, inertia, pin.SE3.Identity())
            self.joint_of[branch.body], self.origin[branch.body] = index, origin
        self.loops, self.loop_data = pin.StdVec_RigidConstraintModel(), pin.StdVec_RigidConstraintData()
        self.loops.extend([self._loop(c.joint) for c in assembly.closures])
        self.loop_data.extend([loop.createData() for loop in self.loops])
        self.data = self.model.createData()
        pin.initConstraintDynamics(self.model, self.data, self.loops, self.loop_data)

    def _node(self, body: int) -> int:
        return -1 if self.a.bodies[body].fixed else body

    def _loop(self, index: int) -> Any:
        joint = self.a.joints[index]
        assert joint.kind.kind == "ball", "no other closures in the oracle"
        ends = []
        for body in (joint.first, joint.second):
            node = self._node(body)
            ends += [self.joint_of[node], self.pin.SE3(np.eye(3), joint.point - self.origin[node])]
        return self.pin.RigidConstraintModel(
            self.pin.ContactType.CONTACT_3D, self.model, *ends, self.pin.ReferenceFrame.LOCAL
        )

    def state(self, track: Trajectory, row: int) -> tuple[Array, Array, Array]:
        """Coordinates, rates and axis loads of a row, as Pinocchio counts them."""
        q, v, tau = self.pin.neutral(self.model), np.zeros(self.model.nv), np.zeros(self.model.nv)
        axis = {a.joint: k for k, a in enumerate(self.a.axes)}
        for branch in self.a.tree:
            joint = self.model.joints[self.joint_of[branch.body]]
            turn = matrix(track.rotation[row, branch.body])
            if branch.joint is None:
                q[joint.idx_q : joint.idx_q + 3] = track.position[row, branch.body]
                q[joint.idx_q + 3 : joint.idx_q + 7] = track.rotation[row, branch.body]
                v[joint.idx_v : joint.idx_v + 3] = turn.T @ track.velocity[row, branch.body]
                v[joint.idx_v + 3 : joint.idx_v + 6] = turn.T @ track.spin[row, branch.body]
            elif self.a.joints[branch.joint].kind.kind == "ball":
                held = np.eye(3) if branch.parent < 0 else matrix(track.rotation[row, branch.parent])
                spin = track.spin[row, branch.body] - (
                    0 if branch.parent < 0 else track.spin[row, branch.parent]
                )
                q[joint.idx_q : joint.idx_q + 4] = self.pin.Quaternion(held.T @ turn).coeffs()
                v[joint.idx_v : joint.idx_v + 3] = turn.T @ spin
            else:
                k = axis[branch.joint]
                q[joint.idx_q], v[joint.idx_v] = track.coordinate[row, k], track.rate[row, k]
                tau[joint.idx_v] = track.applied[row, :, k].sum()
        return q, v, tau

    def ask(self, track: Trajectory, row: int) -> Oracle:
        """Accelerations from the state and the axis loads, and the wrenches that go with them."""
        pin, model, data = self.pin, self.model, self.data
        q, v, tau = self.state(track, row)
        settings = pin.ProximalSettings(1e-14, 1e-12, 100)
        acc = pin.constraintDynamics(model, data, q, v, tau, self.loops, self.loop_data, settings)
        outside = pin.StdVec_Force()
        outside.extend([pin.Force.Zero() for _ in range(model.njoints)])
        closing = {}
        for closure, loop, found in zip(self.a.closures, self.loops, self.loop_data, strict=True):
            # The force on the first joint's side, in its own frame at the contact; the other side feels its opposite.
            pull = found.contact_force
            outside[loop.joint1_id] += loop.joint1_placement.act(pull)
            world = data.oMi[loop.joint1_id].rotation @ pull.linear
            other = data.oMi[loop.joint2_id].act(loop.joint2_placement)
            force = pin.Force(other.rotation.T @ -world, np.zeros(3))
            outside[loop.joint2_id] += loop.joint2_placement.act(force)
            closing[closure.joint] = -world
        pin.rnea(model, data, q, v, acc, outside)
        return self._gather(track, row, (q, v, acc), closing)

    def _gather(
        self, track: Trajectory, row: int, motion: tuple[Array, Array, Array], closing: dict[int, Array]
    ) -> Oracle:
        pin, data = self.pin, self.data
        bodies, joints = len(self.a.bodies), len(self.a.joints)
        result = Oracle(*(np.zeros((n, 3)) for n in (bodies, bodies, joints, joints)))
        wrench = [pin.Force(f) for f in data.f]
        pin.forwardKinematics(self.model, data, *motion)
        for branch in self.a.tree:
            index = self.joint_of[branch.body]
            place, speed, change = data.oMi[index], data.v[index], data.a[index]
            spin, alpha = place.rotation @ speed.angular, place.rotation @ change.angular
            arm = place.rotation @ (self.a.bodies[branch.body].com - self.origin[branch.body])
            point = place.rotation @ (change.linear + np.cross(speed.angular, speed.linear))
            result.spin_acceleration[branch.body] = alpha
            result.acceleration[branch.body] = (
                point + np.cross(alpha, arm) + np.cross(spin, np.cross(spin, arm))
            )
            if branch.joint is not None:
                sign = 1.0 if branch.forward else -1.0
                force = place.rotation @ wrench[index].linear
                moment = place.rotation @ wrench[index].angular
                # Loads count about the joint's point on its first body; on a slide that is not the child's own.
                joint = self.a.joints[branch.joint]
                held = track.position[row, joint.first] + matrix(track.rotation[row, joint.first]) @ (
                    joint.point - self.a.bodies[joint.first].com
                )
                moment = moment + np.cross(place.translation - held, force)
                result.force[branch.joint], result.moment[branch.joint] = sign * force, sign * moment
        for joint, force in closing.items():
            result.force[joint] = force
        return result
