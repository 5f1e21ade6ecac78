"""Springs between two points and about a pin, with preload, free play and damping.

Linear springs of any text on machine design. The preload of an extension or compression spring comes in over
the first hundredth of its free length instead of at once: a closed coil gives a little before it opens
(assumed, so that a load which hangs just at the preload comes to rest).
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import inf

GIVE = 0.01
"""Share of the free length over which a closed coil takes up its preload (assumed)."""
Affine = tuple[float, float, float]
"""A constant, a factor on the coordinate and one on its rate."""


class LineLaw(ABC):
    """What acts between two points by their distance and its rate.

    Attributes:
        rate: stiffness where it is greatest, N/m: it decides how fine the step must be.
        damping: N*s/m, while it carries.
    """

    rate: float
    damping: float = 0.0

    @property
    def affine(self) -> Affine | None:
        """Its push as a constant, a factor on the distance and one on its rate; None where it isn't that everywhere."""
        return None

    @property
    def idle(self) -> tuple[float, float] | None:
        """Distances between which it does nothing, m, and beyond them is linear; None where it isn't that."""
        return None

    def near(self, length: float) -> Affine | None:
        """Its push likewise as it is about a distance, m; None where it isn't straight there."""
        if self.idle is not None and self.idle[0] < length < self.idle[1]:
            return 0.0, 0.0, 0.0
        return self.affine

    @abstractmethod
    def tension(self, length: float, rate_of_length: float) -> float:
        """Pull on its two points, N, negative when it pushes, at a distance, m, and its rate, m/s."""


class AxisLaw(ABC):
    """What acts about a pin by its angle and rate.

    Attributes:
        rate: stiffness where it is greatest, N*m/rad.
        damping: N*m*s/rad.
    """

    rate: float
    damping: float = 0.0

    @property
    def affine(self) -> Affine | None:
        """Its torque as a constant, a factor on the angle and one on the rate; None where it isn't that everywhere."""
        return None

    @abstractmethod
    def torque(self, angle: float, rate: float) -> float:
        """Torque on the joint's second body in the sense of its angle, N*m, at an angle (rad) and its rate (rad/s)."""


@dataclass(frozen=True)
class Coil(LineLaw):
    """A coil spring.

    Attributes:
        rate: N/m.
        free_length: distance of the points without force, m.
        preload: force at which it begins to give, N: pull of a close-wound extension spring, push of a caged
            compression spring, steady pull of a two-way one.
        slack: free play past the free length before it takes up, m (two-way: to either side).
        damping: N*s/m, while it carries.
    """

    rate: float
    free_length: float
    preload: float = 0.0
    slack: float = 0.0
    damping: float = 0.0


class OneSided(Coil):
    """A coil that carries to one side of its free length only."""

    SIDE: float

    @property
    def idle(self) -> tuple[float, float] | None:
        taut = self.free_length + self.SIDE * self.slack
        if self.preload:
            return None
        return (-inf, taut) if self.SIDE > 0 else (taut, inf)

    def near(self, length: float) -> Affine | None:
        taken, side = self.SIDE * (length - self.free_length) - self.slack, self.SIDE
        if taken <= 0.0:
            return 0.0, 0.0, 0.0
        if self.preload and taken < GIVE * self.free_length:
            return None
        rest = self.rate * (self.free_length + side * self.slack) - side * self.preload
        return rest, -self.rate, -self.damping

    def tension(self, length: float, rate_of_length: float) -> float:
        """max(0, rate * s + preload + damping * s') with s = length - free_length - slack while s > 0.

        For a compression spring the same mirrored, never above 0.

        Args:
            length: distance of its points, m.
            rate_of_length: m/s, positive when they part.

        Example:
            >>> law = Extension(rate=200.0, free_length=0.1, preload=5.0)
            >>> round(law.tension(0.15, 0.0), 9), law.tension(0.09, 0.0)
            (15.0, 0.0)
        """
        side = self.SIDE
        taken = side * (length - self.free_length) - self.slack
        if taken <= 0.0:
            return 0.0
        give = GIVE * self.free_length
        preload = self.preload if taken >= give else self.preload * taken / give
        return side * max(0.0, self.rate * taken + preload + side * self.damping * rate_of_length)


class Extension(OneSided):
    """Only pulls."""

    SIDE = 1.0


class Compression(OneSided):
    """Only pushes."""

    SIDE = -1.0


class TwoWay(Coil):
    """Fastened at both ends: pulls and pushes."""

    @property
    def affine(self) -> Affine | None:
        if self.slack:
            return None
        return self.rate * self.free_length - self.preload, -self.rate, -self.damping

    def tension(self, length: float, rate_of_length: float) -> float:
        """rate * s + preload + damping * s' with s = length - free_length, less the free play.

        Args:
            length: distance of its points, m.
            rate_of_length: m/s, positive when they part.

        Example:
            >>> round(TwoWay(rate=100.0, free_length=0.2, slack=0.01).tension(0.16, 0.0), 9)
            -3.0
        """
        stretch = length - self.free_length
        if self.slack > 0.0 and -self.slack <= stretch <= self.slack:
            return self.preload
        taken = stretch - self.slack if stretch > 0.0 else stretch + self.slack
        return self.rate * taken + self.preload + self.damping * rate_of_length


@dataclass(frozen=True)
class Torsion(AxisLaw):
    """A coil spring about a pin.

    Attributes:
        rate: N*m/rad.
        free_angle: joint angle without torque, rad from the start pose.
        preload: torque against the positive sense, N*m.
        slack: free play to either side of the free angle, rad.
        damping: N*m*s/rad, outside the free play.
    """

    rate: float
    free_angle: float = 0.0
    preload: float = 0.0
    slack: float = 0.0
    damping: float = 0.0

    @property
    def affine(self) -> Affine | None:
        return None if self.slack else (self.rate * self.free_angle - self.preload, -self.rate, -self.damping)

    def torque(self, angle: float, rate: float) -> float:
        """-rate * (angle - free_angle, less the free play) - preload - damping * rate.

        Args:
            angle: of the joint, rad.
            rate: of the angle, rad/s.

        Example:
            >>> round(Torsion(rate=0.5, free_angle=0.2).torque(0.6, 0.0), 9)
            -0.2
        """
        turned = angle - self.free_angle
        if self.slack > 0.0 and -self.slack <= turned <= self.slack:
            return -self.preload
        taken = turned - self.slack if turned > 0.0 else turned + self.slack
        return -self.rate * taken - self.preload - self.damping * rate
