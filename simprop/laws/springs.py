"""Springs between two points and about a pin, with preload, free play and damping.

Linear springs of any text on machine design. The preload of an extension or compression spring comes in over
the first hundredth of its free length instead of at once: a closed coil gives a little before it opens
(assumed, so that a load which hangs just at the preload comes to rest).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

GIVE = 0.01
"""Share of the free length over which a closed coil takes up its preload (assumed)."""


@dataclass(frozen=True)
class LineLaw:
    """A spring between two points.

    Attributes:
        kind: extension (only pulls), compression (only pushes), two_way (fastened at both ends).
        rate: N/m.
        free_length: distance of the points without force, m.
        preload: force at which it begins to give, N: pull of a close-wound extension spring, push of a caged
            compression spring, steady pull of a two-way one.
        slack: free play past the free length before it takes up, m (two-way: to either side).
        damping: N*s/m, while it carries.
    """

    kind: Literal["extension", "compression", "two_way"]
    rate: float
    free_length: float
    preload: float = 0.0
    slack: float = 0.0
    damping: float = 0.0


@dataclass(frozen=True)
class TorsionLaw:
    """A spring about a pin.

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


def tension(law: LineLaw, length: float, rate_of_length: float) -> float:
    """Pull of the spring on its two points, N; negative when it pushes.

    Args:
        law: the spring.
        length: distance of its points, m.
        rate_of_length: m/s, positive when they part.

    Returns:
        extension: max(0, rate * s + preload + damping * s') with s = length - free_length - slack while s >
            0;
        compression: the same mirrored, never above 0; two_way: either sign.

    Example:
        >>> law = LineLaw("extension", rate=200.0, free_length=0.1, preload=5.0)
        >>> round(tension(law, 0.15, 0.0), 9), tension(law, 0.09, 0.0)
        (15.0, 0.0)
    """
    stretch = length - law.free_length
    if law.kind == "two_way":
        if law.slack > 0.0 and -law.slack <= stretch <= law.slack:
            return law.preload
        taken = stretch - law.slack if stretch > 0.0 else stretch + law.slack
        return law.rate * taken + law.preload + law.damping * rate_of_length
    sign = 1.0 if law.kind == "extension" else -1.0
    taken = sign * stretch - law.slack
    if taken <= 0.0:
        return 0.0
    give = GIVE * law.free_length
    preload = law.preload if taken >= give else law.preload * taken / give
    return sign * max(0.0, law.rate * taken + preload + sign * law.damping * rate_of_length)


def torque(law: TorsionLaw, angle: float, rate: float) -> float:
    """Torque of the spring on the joint's second body in the sense of its angle, N*m.

    -rate * (angle - free_angle, less the free play) - preload - damping * rate.

    Args:
        law: the spring.
        angle: of the joint, rad.
        rate: of the angle, rad/s.

    Example:
        >>> round(torque(TorsionLaw(rate=0.5, free_angle=0.2), 0.6, 0.0), 9)
        -0.2
    """
    turned = angle - law.free_angle
    if law.slack > 0.0 and -law.slack <= turned <= law.slack:
        return -law.preload
    taken = turned - law.slack if turned > 0.0 else turned + law.slack
    return -law.rate * taken - law.preload - law.damping * rate
