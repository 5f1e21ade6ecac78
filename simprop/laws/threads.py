"""A screw thread that a spindle drives: what friction takes of its torque, and whether its load can turn it back."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, pi, sin, tan

from simprop.laws.friction import thread_friction


@dataclass(frozen=True)
class Mesh:
    """Flanks that slide on each other as an axis drives them.

    Attributes:
        angle: lead angle, rad.
        lever: sliding for each radian of the axis, m.
        level: share of the force that presses.
        reach: travel for each radian, m.

    Source: power screws and worms, any text on machine design (Shigley).
    """

    angle: float
    lever: float
    level: float
    reach: float

    @property
    def slant(self) -> float:
        """Share of the friction that bears with or against the drive."""
        return sin(self.angle)

    def lost(self, mu: float, *, driven: bool = False) -> float:
        """Torque that friction takes for each newton along the screw, N*m.

        Args:
            mu: coefficient of friction.
            driven: the load drives the axis, not the axis the load.
        """
        return thread_friction(mu, 1.0, self.lever, self.level, -self.slant if driven else self.slant)


def screw_mesh(lead: float, diameter: float, starts: int, thread_angle: float) -> Mesh:
    """The flanks of a screw, at its mean diameter: half a pitch less than outside.

    Args:
        lead: travel of its nut for one turn, m.
        diameter: outside the thread, m.
        starts: threads side by side.
        thread_angle: between the two flanks, rad.

    Raises:
        ValueError: where a thread so coarse doesn't fit on it.

    Example:
        >>> mesh = screw_mesh(4e-3, 20e-3, 1, 0.0)
        >>> round(mesh.lost(0.15) + mesh.reach, 6)  # m, torque for 1 N: square thread, mean diameter 18 mm
        0.002008
    """
    mean = diameter - 0.5 * lead / starts
    if mean <= 0.25 * diameter:
        raise ValueError(f"a thread {1e3 * lead / starts:g} mm from crest to crest doesn't fit on it")
    angle = atan(lead / (pi * mean))
    flank = atan(tan(0.5 * thread_angle) * cos(angle))
    return Mesh(angle, 0.5 * mean / cos(angle), cos(flank) * cos(angle), lead / (2 * pi))


def worm_mesh(diameter: float, reach: float, pressure_angle: float) -> Mesh:
    """The flanks of a worm.

    Args:
        diameter: at its pitch line, m.
        reach: way of the wheel's teeth for a radian of the worm, m.
        pressure_angle: square to the thread, rad.

    Example:
        >>> from math import degrees, radians
        >>> round(degrees(worm_mesh(0.02, 0.035 / 30, radians(20)).angle), 2)
        6.65
    """
    angle = atan(2 * reach / diameter)
    return Mesh(angle, 0.5 * diameter / cos(angle), cos(pressure_angle) * cos(angle), reach)
