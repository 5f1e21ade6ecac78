"""An assembled prop and its laws as MJCF text, MuJoCo's model format; needs no engine.

How it is laid out:

* A body's frame sits at the point of its tree joint and has the axes of the world at the start.
* A joint that closes a loop: one of its bodies is cut in two halves of half the mass and inertia each. One
  half stays in the tree, the other hangs on the closing joint, and a weld holds the halves together. So every
  joint of the prop is a joint of the model, and whatever acts on its coordinate acts on a real coordinate.
  Balls and fixed joints, which have no coordinate, are closed directly.
* Laws that are straight lines in a coordinate and its rate (DC motors, torsion springs, two-way springs) are
  actuators with an affine bias; Coulomb friction is the joint's friction loss; stops and one-sided springs
  without preload are limits of tendons, made so soft that their force is exactly stiffness times depth plus
  damping times speed, never below zero. A motor that holds a speed up to a largest force is friction
  against a heavy wheel that goes at that speed. Any other law is an actuator that is fed with its force at
  every stage of a step.
"""

from __future__ import annotations

from collections import Counter
from xml.etree import ElementTree as Xml

import numpy as np

from simprop.assembly.types import Assembly, Branch, Closure, JointData
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.rotors import Rotor, rotors
from simprop.engine.mujoco.model_laws import Acting
from simprop.engine.mujoco.plan import IDLE, Plan, principal, row
from simprop.geometry.arrays import Array
from simprop.geometry.freedom import hung

RELAX = 10.0
"""Time constant of the loop closures, in steps: they only take up the integrator's own error."""
BRAKE = 2.0
"""Time constant of dry friction when it sticks, in steps (it brakes with 2 / (impedance * time constant))."""
_HOLD = 0.5
_STIFF = "0.9999 0.9999 0.001"
_SOFT = "1e-4 1e-4 0.001"
_YIELDING = "0.909 0.909 0.001"  # a thousand times softer than _STIFF


class _Writer:
    """Builds the text; used once."""

    def __init__(self, assembly: Assembly, actuation: Actuation, step: float):
        self.a, self.laws, self.step = assembly, actuation, step
        self.root = Xml.Element("mujoco")
        self.world = Xml.Element("worldbody")
        self.equalities, self.sensors = Xml.Element("equality"), Xml.Element("sensor")
        self.element: dict[int, Xml.Element] = {-1: self.world}
        self.origin: dict[int, Array] = {-1: np.zeros(3)}
        self.closures: list[int] = []
        self.cut = {
            closure.joint: self._to_cut(assembly.joints[closure.joint]) for closure in assembly.closures
        }
        self.pieces = Counter(body for body in self.cut.values() if body is not None)
        self.rotors = rotors(assembly, actuation.motors)
        self.brakes = actuation.friction.copy()
        for axis in actuation.rubbing:
            self.brakes[axis] = max(self.brakes[axis], IDLE)

    def _node(self, body: int) -> int:
        return -1 if self.a.bodies[body].fixed else body

    def _to_cut(self, joint: JointData) -> int | None:
        """Which body of a closing joint is cut in two; None for joints without a coordinate."""
        if all(freedom.how == "ball" for freedom in joint.freedoms):
            return None
        return joint.first if self.a.bodies[joint.second].fixed else joint.second

    def write(self) -> Plan:
        for branch in self.a.tree:
            self._branch(branch)
        for closure in self.a.closures:
            self._close(closure.joint)
            if _contradicts(self.a, closure):
                self.equalities[-1].set("solimp", _YIELDING)
        for k, rotor in enumerate(self.rotors.riding):
            self._rotor(k, rotor)
        for k, coupling in enumerate(self.a.couplings):
            first, second = coupling.axes
            self._geared(f"q{second}", f"q{first}", coupling.ratio, f"tie{k}")
        acting = Acting(self.a, self.laws, self.element, self.origin)
        acting.write()
        moving = tuple(branch.body for branch in self.a.tree)
        names = tuple(actuator.attrib["name"] for actuator in acting.actuators)
        self._sense(moving, acting.lines, names)
        self._options()
        for part in (self.world, acting.tendons, self.equalities, acting.actuators, self.sensors):
            self.root.append(part)
        return Plan(
            Xml.tostring(self.root, encoding="unicode"),
            tuple(acting.limits),
            tuple(acting.feeds),
            acting.fed,
            acting.holds,
            acting.motors,
            acting.torsion,
            acting.lines,
            tuple(acting.pulls),
            tuple(self.closures),
            moving,
            names,
            tuple((f"spin{k}", r) for k, r in enumerate(self.rotors.riding)),
        )

    def _options(self) -> None:
        Xml.SubElement(
            self.root,
            "compiler",
            {"angle": "radian", "inertiafromgeom": "false", "balanceinertia": "false", "autolimits": "false"},
        )
        option = Xml.SubElement(
            self.root,
            "option",
            {
                "timestep": repr(self.step),
                "gravity": row(self.a.rig.run.gravity),
                "integrator": "RK4",
                "solver": "Newton",
                "tolerance": "1e-10",
                "iterations": "100",
            },
        )
        flags = {"contact": "disable", "autoreset": "disable", "refsafe": "disable"}
        Xml.SubElement(option, "flag", flags)
        default = Xml.SubElement(self.root, "default")
        brake = {
            "solreffriction": row([BRAKE / _HOLD * self.step, 1.0]),
            "solimpfriction": f"{_HOLD} {_HOLD} 0.001",
        }
        Xml.SubElement(default, "joint", brake)
        Xml.SubElement(default, "tendon", brake | {"solimplimit": _SOFT, "solreflimit": "-1 -1"})
        Xml.SubElement(default, "equality", {"solref": row([RELAX * self.step, 1.0]), "solimp": _STIFF})

    def _hang(self, name: str, parent: int, origin: Array, index: int) -> Xml.Element:
        """A body, or a piece of one that is cut, with its frame at `origin`."""
        body, share = self.a.bodies[index], 1.0 / (1 + self.pieces[index])
        at = {"name": name, "pos": row(origin - self.origin[parent])}
        element = Xml.SubElement(self.element[parent], "body", at)
        moments, turn = principal(self.rotors.bare[index] * share)
        Xml.SubElement(
            element,
            "inertial",
            {
                "pos": row(body.com - origin),
                "mass": repr(body.mass * share),
                "diaginertia": row(moments),
                "quat": row(turn),
            },
        )
        return element

    def _branch(self, branch: Branch) -> None:
        body = self.a.bodies[branch.body]
        joint = None if branch.joint is None else self.a.joints[branch.joint]
        origin = body.com if joint is None else joint.point
        element = self._hang(f"b{branch.body}", branch.parent, origin, branch.body)
        self.element[branch.body], self.origin[branch.body] = element, origin
        if branch.joint is None:
            Xml.SubElement(element, "freejoint", {"name": f"free{branch.body}"})
        else:
            self._joints(element, branch.joint, branch.forward)

    def _joints(self, element: Xml.Element, index: int, forward: bool) -> None:
        """The motions of a joint; coordinates count that of its second body against its first."""
        for freedom in hung(self.a.joints[index].freedoms, forward):
            if freedom.how == "ball":
                Xml.SubElement(element, "joint", {"name": f"ball{index}", "type": "ball"})
                continue
            kind = {"type": "slide" if freedom.how == "slide" else "hinge", "axis": row(freedom.way)}
            k = freedom.axis
            if k >= 0:
                kind = {
                    "name": f"q{k}",
                    **kind,
                    "frictionloss": repr(float(self.brakes[k])),
                    "damping": repr(float(self.laws.viscous[k])),
                    "armature": repr(float(self.rotors.armature[k])),
                }
            Xml.SubElement(element, "joint", kind)

    def _close(self, index: int) -> None:
        joint, cut = self.a.joints[index], self.cut[index]
        first, second = self._node(joint.first), self._node(joint.second)
        if cut is None:
            one, other = (first, second) if first >= 0 else (second, first)
            ends = {"body1": f"b{one}"} | ({"body2": f"b{other}"} if other >= 0 else {})
            if joint.freedoms:
                Xml.SubElement(
                    self.equalities, "connect", ends | {"anchor": row(joint.point - self.origin[one])}
                )
            else:
                self._weld(
                    f"b{one}",
                    self.origin[one],
                    None if other < 0 else f"b{other}",
                    self.origin[other],
                    joint.point,
                )
        else:
            on = first if cut == second else second
            half = self._hang(f"half{index}", on, joint.point, cut)
            self._joints(half, index, forward=cut == second)
            self._weld(f"b{cut}", self.origin[cut], f"half{index}", joint.point, joint.point)
        self.closures.append(index)

    def _weld(self, one: str, one_origin: Array, two: str | None, two_origin: Array, at: Array) -> None:
        ends = {"body1": one} | ({} if two is None else {"body2": two})
        place = {
            "relpose": row([*(at - one_origin), 1.0, 0.0, 0.0, 0.0]),
            "anchor": row(at - two_origin),
        }
        Xml.SubElement(self.equalities, "weld", ends | place)

    def _rotor(self, k: int, rotor: Rotor) -> None:
        """A rotor that turns in a moving body, geared to the driven joint."""
        joint = self.a.joints[self.a.axes[rotor.axis].joint]
        at = {"name": f"rotor{k}", "pos": row(joint.point - self.origin[rotor.carrier])}
        element = Xml.SubElement(self.element[rotor.carrier], "body", at)
        moments, turn = principal(rotor.tensor)
        Xml.SubElement(
            element,
            "inertial",
            {"pos": "0 0 0", "mass": "1e-9", "diaginertia": row(moments), "quat": row(turn)},
        )
        Xml.SubElement(element, "joint", {"name": f"spin{k}", "type": "hinge", "axis": row(rotor.way)})
        self._geared(f"spin{k}", f"q{rotor.axis}", rotor.ratio, f"rotor{k}")

    def _geared(self, driven: str, by: str, ratio: float, name: str) -> None:
        """One joint turns `ratio` times as far as another."""
        gear = {"name": name, "joint1": driven, "joint2": by, "polycoef": row([0.0, ratio, 0.0, 0.0, 0.0])}
        Xml.SubElement(self.equalities, "joint", gear)
        self.closures.append(-1)

    def _sense(self, moving: tuple[int, ...], lines: tuple[str, ...], actuators: tuple[str, ...]) -> None:
        """Sensors: 19 numbers a moving body, coordinates, rates, lengths, their rates, actuator forces."""
        for body in moving:
            for kind, frame in (
                ("framepos", "body"),
                ("framequat", "xbody"),
                ("framelinvel", "body"),
                ("frameangvel", "xbody"),
                ("framelinacc", "body"),
                ("frameangacc", "xbody"),
            ):
                Xml.SubElement(self.sensors, kind, {"objtype": frame, "objname": f"b{body}"})
        for kind in ("jointpos", "jointvel"):
            for k in range(len(self.a.axes)):
                Xml.SubElement(self.sensors, kind, {"joint": f"q{k}"})
        for kind in ("tendonpos", "tendonvel"):
            for name in lines:
                Xml.SubElement(self.sensors, kind, {"tendon": name})
        for name in actuators:
            Xml.SubElement(self.sensors, "actuatorfrc", {"actuator": name})


def _contradicts(assembly: Assembly, closure: Closure) -> bool:
    """Whether a closure has rows too many that only agree to the integrator's error.

    Those of a planar loop agree exactly. Elsewhere (Bricard's loop) the error of a row too many is a force, the
    larger the more rigid the closure.
    """
    joint = assembly.joints[closure.joint]
    if joint.kind.play is not None and not len(closure.rows):
        return False
    planar = len(closure.rows) == 2 and not np.abs(closure.rows[:, 3:]).max(initial=0.0) > 1e-9
    planar = planar and not np.abs(closure.rows[:, :3] @ joint.axis).max(initial=0.0) > 1e-9
    return len(closure.redundant) > 0 and not planar


def plan(assembly: Assembly, actuation: Actuation, step: float) -> Plan:
    """MJCF text of a prop at its start pose.

    Args:
        assembly: what moves.
        actuation: every law that acts on it.
        step: physics step, s; the time constants of closures and dry friction go with it.

    Returns:
        The text and the names by which to find things in the compiled model.

    Example:
        >>> from simprop.assembly.assemble import assemble
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig('''
        ... rig: 1
        ... name: Pendulum
        ... bodies:
        ...   post: {fixed: true}
        ...   bob: {parts: [{lump: 1 kg, at: 1000 0 0 mm}]}
        ... joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
        ... run: {for: 1 s}
        ... ''')
        >>> none = np.zeros(1)
        >>> made = plan(assemble(rig), Actuation(none, none, (), (), (), ()), 1e-3)
        >>> made.moving, made.text.count('type="hinge"')
        ((1,), 1)
    """
    return _Writer(assembly, actuation, step).write()
