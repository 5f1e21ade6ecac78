"""End stops: springy, with a loss while in contact, never pulling; and what a material stands for.

The force at a rigid stop is no physical number (it doubles each time the step is halved), so every stop has a
stiffness. Where the rig states none, that of a pad: k = E A / t with the patch, thickness and modulus of
`PADS`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor, inf, sqrt

from simprop.errors import UnknownNameError


@dataclass(frozen=True)
class StopLaw:
    """A stop to one or both sides of a joint's coordinate (m, or rad for a pin).

    Attributes:
        below: where the lower stop begins, or None.
        above: where the upper stop begins, or None.
        stiffness: N/m or N*m/rad.
        damping: N*s/m or N*m*s/rad, in contact only.
        pitch: of a ratchet, which lets pass what goes away from its bound and catches every so many rad or m; 0 of a
            one-way clutch, which catches anywhere; None: it stays where it is.
    """

    below: float | None
    above: float | None
    stiffness: float
    damping: float
    pitch: float | None = None


@dataclass(frozen=True)
class Pad:
    """What a stop of some material is assumed to be.

    Attributes:
        area: of the contact patch, m^2.
        thickness: that gives, m.
        modulus: Pa.
        loss: damping ratio of the moving part on the pad.
    """

    area: float
    thickness: float
    modulus: float
    loss: float


PADS: dict[str, Pad] = {
    # A 10 x 10 mm buffer of about 60 Shore A.
    "rubber": Pad(area=1e-4, thickness=0.010, modulus=4e6, loss=0.15),
    # Softwood across the grain, about a twentieth of the modulus along it.
    "wood": Pad(area=1e-4, thickness=0.018, modulus=0.5e9, loss=0.10),
    # Rigid PVC; the real contact is a spot of 5 x 5 mm.
    "plastic": Pad(area=2.5e-5, thickness=0.010, modulus=2.8e9, loss=0.08),
    # Bare metal meets in spots of about 1 mm^2 and the bracket behind them gives.
    "steel": Pad(area=1e-6, thickness=0.010, modulus=200e9, loss=0.03),
}
"""Stops by material: every number assumed, the moduli from memory of common tables."""


def force(law: StopLaw, coordinate: float, rate: float, step: float = 0.0) -> float:
    """Force of the stop along the coordinate, N (N*m for a pin): 0 in the free range.

    In contact -(k * depth + c * depth rate), and never towards the stop. Damping begins with a jump: over a step that
    begins or ends the contact it counts by the share of the step in which there is contact, or a blow would depend on
    where in a step it falls.

    Args:
        coordinate: of the joint, m or rad.
        rate: m/s or rad/s.
        step: around now, s; 0: at this instant.

    Example:
        >>> law = StopLaw(below=None, above=0.1, stiffness=1000.0, damping=10.0)
        >>> force(law, 0.05, 1.0), round(force(law, 0.102, 0.0), 9), force(law, 0.102, -1.0)
        (0.0, -2.0, 0.0)
        >>> round(force(law, 0.1, 1.0, step=0.002), 9)  # half of the step
        -5.0
    """
    total = 0.0
    for bound, side in ((law.above, 1.0), (law.below, -1.0)):
        if bound is not None:
            depth = side * (coordinate - bound)
            if depth <= -0.5 * step * abs(rate):
                continue  # out of reach for the whole step
            damping = share_beyond(depth, side * rate, step) * law.damping
            total -= side * max(0.0, law.stiffness * max(0.0, depth) + damping * side * rate)
    return total


def behind(law: StopLaw, coordinate: float) -> StopLaw:
    """A ratchet or one-way clutch once a coordinate has been reached; the same where that is no further than before.

    Args:
        law: with a pitch.
        coordinate: m or rad.

    Example:
        >>> pawl = StopLaw(0.0, None, 1000.0, 1.0, pitch=0.5)
        >>> behind(pawl, 0.4) is pawl, behind(pawl, 1.3).below
        (True, 1.0)
        >>> behind(StopLaw(None, 0.0, 1000.0, 1.0, pitch=0.0), -0.2).above
        -0.2
    """
    old = law.below if law.below is not None else law.above
    if law.pitch is None or old is None:
        return law
    side = 1.0 if law.below is not None else -1.0
    gone = side * (coordinate - old)
    if law.pitch > 0.0:
        gone = law.pitch * floor(gone / law.pitch)
    if gone <= 0.0:
        return law
    if law.below is not None:
        return replace(law, below=old + gone)
    return replace(law, above=old - gone)


def within_reach(law: StopLaw, coordinate: float, rate: float, step: float) -> bool:
    """Whether a stop is met within half a step of now, so that `force` may be other than 0.

    Args:
        coordinate: of the joint, m or rad.
        rate: m/s or rad/s.
        step: s.

    Example:
        >>> law = StopLaw(below=None, above=0.1, stiffness=1000.0, damping=10.0)
        >>> within_reach(law, 0.0995, 1.0, 0.002), within_reach(law, 0.0985, 1.0, 0.002)
        (True, False)
    """
    nearest = max(
        -inf if law.above is None else coordinate - law.above,
        -inf if law.below is None else law.below - coordinate,
    )
    return nearest > -0.5 * step * abs(rate)


def share_beyond(depth: float, rate: float, step: float) -> float:
    """Share of a step around now in which something is past an edge.

    Args:
        depth: past the edge now, m or rad.
        rate: of the depth, m/s or rad/s.
        step: s; 0: now alone.

    Example:
        >>> share_beyond(0.0, 1.0, 0.002), share_beyond(0.1, 1.0, 0.002), share_beyond(0.1, 1.0, 0.0)
        (0.5, 1.0, 1.0)
    """
    way = abs(rate) * step
    return min(1.0, max(0.0, 0.5 + depth / way)) if way > 0.0 else float(depth > 0.0)


def pad_of(material: str) -> Pad:
    """The pad of a material.

    Args:
        material: rubber, wood, plastic or steel.

    Raises:
        UnknownNameError: for another material than rubber, wood, plastic or steel.

    Example:
        >>> pad_of("rubber").modulus > 0.0
        True
    """
    if material not in PADS:
        raise UnknownNameError("stop material", material, PADS)
    return PADS[material]


def pad_slide(material: str, mass: float) -> tuple[float, float]:
    """Assumed stiffness and damping of a slide's stop.

    k = E A / t and c = 2 * loss * sqrt(k * mass) with the values of `PADS`.

    Args:
        material: rubber, wood, plastic or steel.
        mass: that runs onto the stop, kg.

    Returns:
        (stiffness, N/m; damping, N*s/m), both assumed.

    Raises:
        UnknownNameError: for another material.

    Example:
        >>> k, c = pad_slide("rubber", mass=1.0)
        >>> round(k), round(c)
        (40000, 60)
    """
    pad = pad_of(material)
    stiffness = pad.modulus * pad.area / pad.thickness
    return stiffness, 2.0 * pad.loss * sqrt(stiffness * mass)


def pad_pin(material: str, arm: float, inertia: float) -> tuple[float, float]:
    """Assumed stiffness and damping of a pin's stop whose pad sits at `arm` from the axis.

    k = r^2 E A / t and c = 2 * loss * sqrt(k * inertia).

    Args:
        material: rubber, wood, plastic or steel.
        arm: distance of the pad from the axis, m.
        inertia: about the axis, that runs onto the stop, kg*m^2.

    Returns:
        (stiffness, N*m/rad; damping, N*m*s/rad), both assumed.

    Raises:
        UnknownNameError: for another material.

    Example:
        >>> k, c = pad_pin("rubber", arm=0.1, inertia=0.01)
        >>> round(k), round(c, 2)
        (400, 0.6)
    """
    pad = pad_of(material)
    stiffness = arm * arm * pad.modulus * pad.area / pad.thickness
    return stiffness, 2.0 * pad.loss * sqrt(stiffness * inertia)
