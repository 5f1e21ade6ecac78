"""A stroke of an air cylinder alone, stepped by itself: what the simulated ones are held to."""

import math
from dataclasses import dataclass

import numpy as np

from simprop.laws.chambers import advance
from simprop.laws.pneumatic import ATMOSPHERE, Air, Cylinder, force

Array = np.ndarray


@dataclass(frozen=True)
class Stroke:
    """A stroke from one end.

    Attributes:
        time: (n,) s.
        extension: (n,) m.
        rate: (n,) m/s.
        cap: pressure, (n,) Pa.
        rod: pressure, (n,) Pa.
        arrives: when the piston meets the far end, s; inf if it doesn't.
        slam_speed: then, m/s; NaN if it doesn't.
        slam_force: peak on the end cap, N: ``v sqrt(k m)`` on top of the push; NaN if it doesn't arrive.
    """

    time: Array
    extension: Array
    rate: Array
    cap: Array
    rod: Array
    arrives: float
    slam_speed: float
    slam_force: float


def stroke(
    cylinder: Cylinder, mass: float, load: float = 0.0, *, vented: bool = False, longest: float = 5.0
) -> Stroke:
    """One outward stroke of a cylinder that carries a mass, up to the far end.

    Before it, a five-port valve holds the rod in with full pressure around the rod. After a long rest both
    sides may be `vented`: then nothing holds the first stroke back and it jumps.

    Args:
        cylinder: the cylinder.
        mass: that moves with the rod, kg.
        load: force against the outward motion, N.
        vented: both sides start at atmospheric pressure.
        longest: give up after, s.

    Example:
        >>> box = Cylinder(0.025, 0.010, 0.1, 7e5, 1e-8, 1e-8)
        >>> out = stroke(box, 2.0, 20.0)
        >>> out.arrives < 1 and out.slam_speed > 0.1
        True
    """
    air, x, v = Air(ATMOSPHERE, ATMOSPHERE if vented else cylinder.supply), 0.0, 0.0
    step = 1e-4
    rows = []
    arrives = slam_speed = slam_force = math.nan
    for i in range(math.ceil(longest / step)):
        rows.append((i * step, x, v, air.cap, air.rod))
        if x >= cylinder.stroke:
            arrives, slam_speed = i * step, v
            push = max(0.0, force(cylinder, air) - load)
            slam_force = push + math.sqrt(push**2 + v**2 * cylinder.end_stiffness * mass)
            break
        push = force(cylinder, air) - load
        free = v + step * push / mass
        held = step * cylinder.friction / mass
        v = 0.0 if abs(free) <= held else free - math.copysign(held, free)
        air = advance(cylinder, air, 1, (x, v), step)
        x += step * v
        if x < 0:
            x, v = 0.0, max(0.0, v)
    time, extension, rate, cap, rod = np.array(rows).T
    return Stroke(
        time, extension, rate, cap, rod, math.inf if math.isnan(arrives) else arrives, slam_speed, slam_force
    )
