"""Every law that acts on an assembled prop, as data, and its evaluation at one instant.

Engines use `evaluate` (or map the same data to native elements): they know nothing of motors or springs themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

from simprop.assembly.types import Array
from simprop.laws.dc import DcLine
from simprop.laws.springs import LineLaw, TorsionLaw
from simprop.laws.stops import StopLaw
from simprop.laws.synchronous import SynchronousLaw


@dataclass(frozen=True)
class MotorData:
    """A motor on an axis.

    Attributes:
        name: as in the rig.
        axis: index into `Assembly.axes`.
        law: the motor's law, at the output shaft.
        voltage: of the supply, V; NaN where the law needs none.
        current_limit: of the supply, A; inf where none is stated.
        sense: +1, or -1 when the rig says `reverse`.
        windows: when it is on, s; None: always.
        reflected_inertia: gear_ratio^2 * rotor inertia, kg*m^2 about the axis.
        gear_ratio: motor turns for one turn of the output.
    """

    name: str
    axis: int
    law: DcLine | SynchronousLaw | float
    voltage: float
    current_limit: float
    sense: float
    windows: tuple[tuple[float, float], ...] | None
    reflected_inertia: float
    gear_ratio: float


@dataclass(frozen=True)
class LineData:
    """A spring between two points: bodies by index, points in their body frames."""

    name: str
    first: int
    second: int
    first_point: Array
    second_point: Array
    law: LineLaw


@dataclass(frozen=True)
class Actuation:
    """All that acts on a prop besides gravity and contact.

    Attributes:
        friction: Coulomb friction of each axis (force or torque, never negative), (A,).
        viscous: viscous friction of each axis, (A,).
        torsion: springs about pins, each with the axis it acts on.
        stops: end stops, each with the axis it acts on.
        motors: motors.
        lines: springs between points.
    """

    friction: Array
    viscous: Array
    torsion: tuple[tuple[int, TorsionLaw], ...]
    stops: tuple[tuple[int, StopLaw], ...]
    motors: tuple[MotorData, ...]
    lines: tuple[LineData, ...]
