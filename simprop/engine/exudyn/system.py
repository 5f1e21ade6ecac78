"""A prop as bodies, joints and connectors of the engine."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.assembly.types import Assembly, CouplingData
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.actuator import line_tension
from simprop.engine.acting.rotors import rotors
from simprop.engine.exudyn.axes import AxisLoads
from simprop.engine.exudyn.native import Element
from simprop.engine.exudyn.rows import barred
from simprop.engine.exudyn.touch import EULER, Touched
from simprop.engine.track import axis_rate
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import square
from simprop.geometry.turning import of_vector

if TYPE_CHECKING:
    from simprop.engine.exudyn.blown import Blown
    from simprop.engine.exudyn.corded import Corded
    from simprop.engine.exudyn.slips import Slips

LEAST = 1e-9
"""Inertia that every body has at least over its mass, m^2: a point mass and a thin rod have none about some axis."""


class System:
    """The engine's own model of a prop.

    Args:
        exu: the engine, and its items.
        assembly: the prop.
        actuation: what acts on it.
        loads: what acts on each coordinate, by its index.
        step: physics step, s.
        hung: how far each body hangs off its start pose when it begins, (B, 6) m and rad.

    Attributes:
        mbs: the engine's system.
        moving: bodies in the order of their coordinates.
        axes: axis -> its element, whose connector tells its coordinate and rate.
        lines: element of each line.
        touched: what touches, or None.
        corded: cords, or None.
        blown: strips and the air, or None.
        joints: joint -> constraint.
        bars: joint -> what it bars.
        sensors: joint -> sensors of its force and moment in those axes.
        ties: constraint of each coupling.
        slips: couplings that may slip, or None.
    """

    def __init__(
        self,
        exu: Any,
        assembly: Assembly,
        actuation: Actuation,
        loads: dict[int, AxisLoads],
        step: float,
        hung: Array,
    ):
        self.exu, self.assembly, self.actuation, self.loads, self.step = exu, assembly, actuation, loads, step
        self._hung = hung
        self.container = exu.SystemContainer()
        self.mbs = self.container.AddSystem()
        self.ground = self.mbs.AddObject(exu.ObjectGround())
        self.moving = tuple(i for i, b in enumerate(assembly.bodies) if not b.fixed)
        self._rotors = rotors(assembly, actuation.motors)
        self.nodes: dict[int, Any] = {}
        self.bodies: dict[int, Any] = {}
        for i in self.moving:
            self._body(i)
        self.joints: dict[int, Any] = {}
        self.bars = barred(assembly)
        for j, bars in self.bars.items():
            joint = assembly.joints[j]
            ends = [self._marker(b, joint.point, bars.frame) for b in (joint.first, joint.second)]
            self.joints[j] = self.mbs.AddObject(
                exu.GenericJoint(markerNumbers=ends, constrainedAxes=list(bars.rows))
            )
        kind = exu.OutputVariableType
        self.sensors = {
            j: [
                self.mbs.AddSensor(
                    exu.SensorObject(objectNumber=item, outputVariableType=told, storeInternal=True)
                )
                for told in (kind.ForceLocal, kind.TorqueLocal)
            ]
            for j, item in self.joints.items()
        }
        for joint in assembly.joints:
            if joint.give is not None:
                ends = [self._marker(b, joint.point, np.eye(3)) for b in (joint.first, joint.second)]
                self.mbs.AddObject(
                    exu.RigidBodySpringDamper(
                        markerNumbers=ends,
                        stiffness=joint.give.stiffness.tolist(),
                        damping=joint.give.damping.tolist(),
                        useIntrinsicFormulation=False,
                    )
                )
        self._origin = self.mbs.AddMarker(
            exu.MarkerNodeCoordinate(nodeNumber=self.mbs.AddNode(exu.NodePointGround()), coordinate=0)
        )
        self.axes = {axis: self._axis(axis, loads[axis].load) for axis in loads}
        self._turning_rotors()
        self.ties = [self._tie(coupling) for coupling in assembly.couplings]
        self.lines = [self._line(k) for k in range(len(actuation.lines))]
        self.touched = Touched(assembly, actuation, step) if actuation.touches else None
        if self.touched is not None and self.touched.bodies:
            self._touching(self.touched)
        self.corded = self._cords()
        self.slips = self._slips()
        self.blown = self._air()

    def _slips(self) -> Slips | None:
        """Put in what may slip."""
        if not self.actuation.slips:
            return None
        from simprop.engine.exudyn.slips import Slips

        tied = {axis for slip in self.actuation.slips for axis in slip.axes}
        markers = {axis: self._coordinate(axis) for axis in sorted(tied)}
        for axis in tied - self.axes.keys():  # told with the others
            self.axes[axis] = self._axis(axis, _nothing)
        return Slips(self.exu, self.mbs, markers, self.assembly, self.actuation, self.step)

    def _air(self) -> Blown | None:
        """Put the strips and the air in."""
        if not self.actuation.outside.rows:
            return None
        from simprop.engine.exudyn.blown import Blown

        blown = Blown(self.assembly, self.actuation)

        def push(mbs: Any, t: float, item: int, places: Any, speeds: Any) -> Any:
            return blown.at(np.asarray(places))

        def changed(mbs: Any, t: float, item: int, places: Any, speeds: Any, *of: float) -> Any:
            return np.zeros((len(places), len(places)))

        if blown.bodies:
            self._generic(blown.bodies, push, changed)
        return blown

    def _cords(self) -> Corded | None:
        """Put the cords in."""
        if not self.actuation.cords:
            return None
        from simprop.engine.exudyn.corded import Corded

        corded = Corded(self.assembly, self.actuation)

        def push(mbs: Any, t: float, item: int, places: Any, speeds: Any) -> Any:
            return corded.at(np.asarray(places), np.asarray(speeds))

        def changed(
            mbs: Any, t: float, item: int, places: Any, speeds: Any, of_place: float, of_speed: float
        ) -> Any:
            return corded.slope(np.asarray(places), np.asarray(speeds), of_place, of_speed)

        if corded.bodies:
            self._generic(corded.bodies, push, changed)
        return corded

    def _tie(self, coupling: CouplingData) -> Any:
        """Tie the rates of two axes."""
        first, second = (self._coordinate(axis) for axis in coupling.axes)
        return self.mbs.AddObject(
            self.exu.CoordinateConstraint(
                markerNumbers=[second, first], factor1=float(coupling.ratio), velocityLevel=True
            )
        )

    def _touching(self, touched: Touched) -> None:

        def push(mbs: Any, t: float, item: int, places: Any, speeds: Any) -> Any:
            return touched.at(np.asarray(places), np.asarray(speeds), t - touched.began)

        def changed(
            mbs: Any, t: float, item: int, places: Any, speeds: Any, of_place: float, of_speed: float
        ) -> Any:
            where, pace = np.asarray(places), np.asarray(speeds)
            return touched.slope(where, pace, t - touched.began, of_place, of_speed)

        self._generic(touched.bodies, push, changed)

    def _generic(
        self, bodies: tuple[int, ...], push: Callable[..., Any], changed: Callable[..., Any]
    ) -> None:
        """Generalised forces of bodies, with their slopes."""
        count = EULER * len(bodies)
        self.mbs.AddObject(
            self.exu.ObjectGenericODE2(
                nodeNumbers=[self.nodes[b] for b in bodies],
                massMatrix=np.zeros((count, count)),
                forceUserFunction=push,
                jacobianUserFunction=changed,
            )
        )

    def _local(self, body: int, point: Array) -> list[float]:
        if self.assembly.bodies[body].fixed:
            return [float(v) for v in point]
        return [float(v) for v in point - self.assembly.bodies[body].com]

    def _number(self, body: int) -> Any:
        return self.bodies.get(body, self.ground)

    def _marker(self, body: int, point: Array, frame: Array) -> Any:
        place = self.exu.HT(rotation=frame.tolist(), translation=self._local(body, point))
        return self.mbs.AddMarker(self.exu.MarkerBodyRigid(bodyNumber=self._number(body), localHT=place))

    def _add_body(self, at: int, mass: float, inertia: Array, velocity: Array, spin: Array) -> Any:
        """A body that begins where a body of the prop does."""
        exu, mbs = self.exu, self.mbs
        centre, hung = self.assembly.bodies[at].com, self._hung[at]
        x, y, z, w = of_vector(hung[3:])
        node = mbs.AddNode(
            exu.NodeRigidBodyEP(
                referenceCoordinates=[*map(float, centre), 1.0, 0.0, 0.0, 0.0],
                initialCoordinates=[*map(float, hung[:3]), *map(float, (w - 1.0, x, y, z))],
                initialVelocities=[*map(float, velocity), 0.0, *(float(v) / 2 for v in spin)],
            )
        )
        i = inertia
        body = mbs.AddObject(
            exu.ObjectRigidBody(
                nodeNumber=node,
                mass=float(mass),
                inertia=[float(v) for v in (i[0, 0], i[1, 1], i[2, 2], i[1, 2], i[0, 2], i[0, 1])],
            )
        )
        return node, body

    def _body(self, i: int) -> None:
        body, exu = self.assembly.bodies[i], self.exu
        mass = body.mass
        inertia = self._rotors.bare[i] + LEAST * mass * np.eye(3)
        for axis, armature in enumerate(self._rotors.armature):
            data = self.assembly.axes[axis]
            joint = self.assembly.joints[data.joint]
            if armature and joint.second == i and data.motion == "turn":
                inertia += armature * np.outer(data.way, data.way)
        node, number = self._add_body(i, mass, inertia, self.assembly.velocity[i], self.assembly.spin[i])
        self.nodes[i], self.bodies[i] = node, number
        pull = np.asarray(self.assembly.rig.run.gravity, dtype=float)
        marker = self.mbs.AddMarker(exu.MarkerBodyPosition(bodyNumber=number, localPosition=[0.0, 0.0, 0.0]))
        self.mbs.AddLoad(exu.Force(markerNumber=marker, loadVector=(mass * pull).tolist()))

    def _coordinate(self, axis: int) -> Any:
        """Marker of the coordinate of an axis."""
        data, exu, mbs = self.assembly.axes[axis], self.exu, self.mbs
        joint = self.assembly.joints[data.joint]
        common = {
            "bodyNumbers": [self._number(joint.first), self._number(joint.second)],
            "localPosition0": self._local(joint.first, joint.point),
            "localPosition1": self._local(joint.second, joint.point),
            "axis0": [float(v) for v in data.way],
        }
        if data.motion == "slide":
            return mbs.AddMarker(exu.MarkerBodiesRelativeTranslationCoordinate(**common))
        memory = mbs.AddNode(exu.NodeGenericData(initialCoordinates=[0.0], numberOfDataCoordinates=1))
        return mbs.AddMarker(exu.MarkerBodiesRelativeRotationCoordinate(nodeNumber=memory, **common))

    def _axis(self, axis: int, law: Callable[[float, float, float], float]) -> Element:
        exu, mbs, along = self.exu, self.mbs, self._coordinate(axis)

        def against(mbs: Any, t: float, item: int, at: float, rate: float, *rest: float) -> float:
            return -law(t, at, rate)

        load = mbs.AddLoad(exu.LoadCoordinate(markerNumber=along, load=0.0))

        def constant(mbs: Any, value: float) -> None:
            mbs.SetLoadParameter(load, "load", value)

        connector = mbs.AddObject(exu.CoordinateSpringDamper(markerNumbers=[self._origin, along]))
        return Element(connector, constant, against)

    def _turning_rotors(self) -> None:
        """Rotors that turn in a moving body, as bodies geared to their axis; and those that a slide carries along."""
        exu, mbs = self.exu, self.mbs
        for rotor in self._rotors.riding:
            carrier = self.assembly.bodies[rotor.carrier]
            rate = axis_rate(self.assembly, rotor.axis)
            spin = self.assembly.spin[rotor.carrier] + rotor.ratio * rate * rotor.way
            _, number = self._add_body(
                rotor.carrier, 1e-9 * carrier.mass, rotor.tensor, self.assembly.velocity[rotor.carrier], spin
            )
            frame = np.array([rotor.way, *square(rotor.way)]).T
            here = exu.HT(rotation=frame.tolist(), translation=[0.0, 0.0, 0.0])
            ends = [
                mbs.AddMarker(exu.MarkerBodyRigid(bodyNumber=b, localHT=here))
                for b in (self.bodies[rotor.carrier], number)
            ]
            mbs.AddObject(exu.GenericJoint(markerNumbers=ends, constrainedAxes=[1, 1, 1, 0, 1, 1]))
            memory = mbs.AddNode(exu.NodeGenericData(initialCoordinates=[0.0], numberOfDataCoordinates=1))
            turned = mbs.AddMarker(
                exu.MarkerBodiesRelativeRotationCoordinate(
                    bodyNumbers=[self.bodies[rotor.carrier], number],
                    nodeNumber=memory,
                    axis0=[float(v) for v in rotor.way],
                )
            )
            mbs.AddObject(
                exu.CoordinateConstraint(
                    markerNumbers=[turned, self._coordinate(rotor.axis)], factor1=float(rotor.ratio)
                )
            )
        for k, armature in enumerate(self._rotors.armature):
            if armature and self.assembly.axes[k].motion == "slide":
                rate = axis_rate(self.assembly, k)
                node = mbs.AddNode(exu.Node1D(referenceCoordinates=[0.0], initialVelocities=[rate]))
                mbs.AddObject(exu.Mass1D(nodeNumber=node, mass=float(armature)))
                wheel = mbs.AddMarker(exu.MarkerNodeCoordinate(nodeNumber=node, coordinate=0))
                mbs.AddObject(exu.CoordinateConstraint(markerNumbers=[wheel, self._coordinate(k)]))

    def _line(self, k: int) -> Element:
        line, exu, mbs, bodies = self.actuation.lines[k], self.exu, self.mbs, self.assembly.bodies
        ends = []
        for body, point in ((line.first, line.first_point), (line.second, line.second_point)):
            local = self._local(body, point + bodies[body].com)
            ends.append(
                mbs.AddMarker(exu.MarkerBodyPosition(bodyNumber=self._number(body), localPosition=local))
            )
        apart = bodies[line.second].com + line.second_point - bodies[line.first].com - line.first_point
        start = float(np.linalg.norm(apart))
        actuation, step = self.actuation, self.step

        def pull(mbs: Any, t: float, item: int, longer: float, rate: float, *rest: float) -> float:
            return line_tension(actuation, k, start + longer, rate, step)

        connector = mbs.AddObject(
            exu.SpringDamper(markerNumbers=ends, referenceLength=start, stiffness=0.0, damping=0.0, force=0.0)
        )

        def constant(mbs: Any, value: float) -> None:
            mbs.SetObjectParameter(connector, "force", -value)

        return Element(connector, constant, pull, reference=start)


def _nothing(time: float, at: float, rate: float) -> float:
    """Load of an axis on which no law acts."""
    return 0.0
