"""The laws of a prop as elements of its MJCF text: actuators, tendons and their limits, wheels that hold speeds."""

from __future__ import annotations

import math
from dataclasses import replace
from xml.etree import ElementTree as Xml

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.engine.acting.lines import LineData
from simprop.engine.mujoco.plan import GOAL, IDLE, Feed, Limit, native, row
from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.laws.forms import Mounted, PlainLoad
from simprop.laws.springs import LineLaw
from simprop.laws.stops import StopLaw

_FAR = 1e9


class Acting:
    """Writes the laws once the bodies stand; the attributes are those of `simprop.engine.mujoco.plan.Plan`.

    Args:
        assembly: what moves.
        laws: what acts on it.
        element: body -> its element; -1 for the world.
        origin: body -> where its frame is at the start, (3,) m.
    """

    def __init__(
        self, assembly: Assembly, laws: Actuation, element: dict[int, Xml.Element], origin: dict[int, Array]
    ):
        self.a, self.laws, self.element, self.origin = assembly, laws, element, origin
        self.tendons, self.actuators = Xml.Element("tendon"), Xml.Element("actuator")
        self.limits: list[Limit] = []
        self.feeds: list[Feed] = []
        self.pulls: list[tuple[int, str]] = []

    def write(self) -> None:
        """Write all of them."""
        self.motors = tuple(
            (k, self._native_motor(k, m)) for k, m in enumerate(self.laws.motors) if native(m)
        )
        for k, slip in enumerate(self.laws.slips):  # before the drives, whose rows of friction come last
            first, second = slip.axes
            self._fixed_tendon(f"slip{k}", second, {"frictionloss": repr(slip.static)})
            Xml.SubElement(self.tendons[-1], "joint", {"joint": f"q{first}", "coef": repr(-slip.ratio)})
        held = sorted({m.axis for m in self.laws.motors if m.holds_speed})
        self.holds = tuple((axis, self._hold(axis)) for axis in held)
        self.torsion = tuple(
            (axis, self._actuator(f"torsion{k}", {"joint": f"q{axis}"}, 0.0, law.affine))
            for k, (axis, law) in enumerate(self.laws.torsion)
            if law.affine is not None
        )
        for k, (axis, stop) in enumerate(self.laws.stops):
            tendon = self._fixed_tendon(f"stop{k}", axis, {"limited": "true", "range": row(within(stop))})
            self.limits.append(Limit(tendon, stop.stiffness, stop.damping))
        self.lines = tuple(self._line(k, line) for k, line in enumerate(self.laws.lines))
        self.fed = self._feed()

    def _feed(self) -> Actuation:
        """Actuators for the laws without a native counterpart, and those laws."""
        laws = self.laws
        other = tuple(m for m in laws.motors if not native(m) and isinstance(m.law, PlainLoad))
        slack = tuple(item for item in laws.torsion if item[1].affine is None)
        for kind, axes in (("motor", {m.axis for m in other}), ("spring", {axis for axis, _ in slack})):
            for axis in sorted(axes):
                name = self._actuator(f"{kind}-{axis}", {"joint": f"q{axis}"}, 1.0, (0.0, 0.0, 0.0))
                self.feeds.append(Feed(name, "motor" if kind == "motor" else "spring", axis))
        nothing = np.zeros(len(self.a.axes))
        return replace(laws, friction=nothing, viscous=nothing, torsion=slack, stops=(), motors=other)

    def _fixed_tendon(self, name: str, axis: int, what: dict[str, str]) -> str:
        tendon = Xml.SubElement(self.tendons, "fixed", {"name": name} | what)
        Xml.SubElement(tendon, "joint", {"joint": f"q{axis}", "coef": "1"})
        return name

    def _actuator(self, name: str, on: dict[str, str], gain: float, bias: tuple[float, float, float]) -> str:
        Xml.SubElement(
            self.actuators,
            "general",
            {"name": name} | on | {"gainprm": repr(gain), "biastype": "affine", "biasprm": row(bias)},
        )
        return name

    def _native_motor(self, k: int, motor: MotorData) -> str:
        law, on = motor.law, {"joint": f"q{motor.axis}"}
        if not isinstance(law, DcLine):
            return self._actuator(f"motor{k}", on, 1.0, (0.0, 0.0, 0.0))
        gain = law.torque_constant / law.resistance
        if math.isfinite(motor.current_limit) and motor.control is None:
            most = law.torque_constant * motor.current_limit
            on |= {"forcelimited": "true", "forcerange": row([-most, most])}
        return self._actuator(f"motor{k}", on, gain, (0.0, 0.0, -gain * law.speed_constant))

    def _hold(self, axis: int) -> str:
        """A heavy wheel that goes at the speed to hold, and friction between it and the axis."""
        wheel = Xml.SubElement(self.element[-1], "body", {"name": f"goal{axis}"})
        Xml.SubElement(wheel, "inertial", {"pos": "0 0 0", "mass": "1", "diaginertia": row([GOAL] * 3)})
        Xml.SubElement(wheel, "joint", {"name": f"goal{axis}", "type": "hinge"})
        name = self._fixed_tendon(f"drive{axis}", axis, {"frictionloss": repr(IDLE)})
        Xml.SubElement(self.tendons[-1], "joint", {"joint": f"goal{axis}", "coef": "-1"})
        return name

    def _line(self, k: int, line: LineData) -> str:
        name, law = f"line{k}", line.law
        limit: dict[str, str] = {}
        if isinstance(law, LineLaw) and law.idle is not None:
            limit = {"limited": "true", "range": row([max(law.idle[0], -_FAR), min(law.idle[1], _FAR)])}
            self.limits.append(Limit(name, law.rate, law.damping))
        tendon = Xml.SubElement(self.tendons, "spatial", {"name": name} | limit)
        for end, body, point in ((0, line.first, line.first_point), (1, line.second, line.second_point)):
            node = -1 if self.a.bodies[body].fixed else body
            place = {
                "name": f"end{k}.{end}",
                "pos": row(self.a.bodies[body].com + point - self.origin[node]),
            }
            Xml.SubElement(self.element[node], "site", place)
            Xml.SubElement(tendon, "site", {"site": place["name"]})
        if isinstance(law, Mounted):
            self.pulls.append((k, self._actuator(name, {"tendon": name}, 1.0, (0.0, 0.0, 0.0))))
        elif law.affine is not None:
            self._actuator(name, {"tendon": name}, 0.0, law.affine)
        elif not limit:
            self._actuator(name, {"tendon": name}, 1.0, (0.0, 0.0, 0.0))
            self.feeds.append(Feed(name, "line", k))
        return name


def within(stop: StopLaw) -> list[float]:
    """Range of a tendon that stands for a stop."""
    return [-_FAR if stop.below is None else stop.below, _FAR if stop.above is None else stop.above]
