"""Pulls without a motor: hand or rope, counterweight, gas spring, constant-force spring."""

from __future__ import annotations

from dataclasses import dataclass

from simprop.errors import SimpropError
from simprop.laws.forms import LinePull, Mounting, PullState, Windows, since


def rope(force: float, ramp: float, begun: float) -> float:
    """Pull of a hand on a rope that rises evenly to its full force; a rope never pushes.

    Args:
        force: full pull, N.
        ramp: time to reach it, s; 0 for at once.
        begun: time since the pull began, s; none before.

    Returns:
        N.

    Example:
        >>> rope(20.0, 0.5, 0.25), rope(20.0, 0.5, 2.0), rope(20.0, 0.5, -1.0)
        (10.0, 20.0, 0.0)
    """
    if begun < 0:
        return 0.0
    return max(0.0, force * (1.0 if ramp <= 0 else min(1.0, begun / ramp)))


@dataclass(frozen=True)
class Rope(LinePull):
    """A hand on a rope: N, s to full pull, times at which it pulls (None: always)."""

    force: float
    ramp: float
    windows: Windows | None

    @property
    def rate(self) -> float:
        """None of its own: 0 N/m."""
        return 0.0

    def begin(self, mounting: Mounting) -> PullState:
        return _Pulled(self)


@dataclass
class _Pulled(PullState):
    law: Rope

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        begun = since(self.law.windows, time)
        return 0.0 if begun is None else rope(self.law.force, self.law.ramp, begun)


@dataclass(frozen=True)
class GasSpring(LinePull):
    """A gas strut, which pushes its ends apart.

    Attributes:
        force: when extended, N.
        ratio: force when compressed over that (1.2 to 1.5 for usual struts, from memory).
        longest: distance of its ends when extended, m.
        stroke: m.
        friction: N, against the motion.
        damping: N*s/m, against the motion.
        end_stiffness: of its own ends of stroke, N/m.
    """

    force: float
    ratio: float
    longest: float
    stroke: float
    friction: float = 0.0
    damping: float = 0.0
    end_stiffness: float = 2e5

    @property
    def rate(self) -> float:
        """That of its ends of stroke, N/m."""
        return self.end_stiffness

    def begin(self, mounting: Mounting) -> PullState:
        return _Strut(self, mounting)


@dataclass
class _Strut(PullState):
    law: GasSpring
    mounting: Mounting

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        law, at = self.law, self.mounting
        push = gas_spring(law, length, 0.0)
        return at.damped(rate, step, law.damping) + at.rubbed(rate, step, law.friction) - push


def gas_spring(spring: GasSpring, length: float, rate: float) -> float:
    """Push of a gas strut on its two ends, without friction.

    Gas pushed together at one temperature: ``F = F1 / (1 - (1 - 1 / ratio) s / stroke)`` with s compressed
    from the longest length; damping in addition; beyond either end of the stroke the end's stiffness.

    Args:
        length: distance of its ends, m.
        rate: of that, m/s, positive when they part.

    Returns:
        N, positive when it pushes the ends apart.

    Raises:
        SimpropError: for a ratio below 1.

    Example:
        >>> strut = GasSpring(100.0, 1.25, 0.30, 0.10)
        >>> gas_spring(strut, 0.30, 0.0), round(gas_spring(strut, 0.20, 0.0), 6)
        (100.0, 125.0)
    """
    if spring.ratio < 1:
        raise SimpropError("a gas spring pushes harder when compressed: its ratio is 1 or more")
    pressed = spring.longest - length
    inside = min(max(pressed, 0.0), spring.stroke)
    push = spring.force / (1 - (1 - 1 / spring.ratio) * inside / spring.stroke) - spring.damping * rate
    return push + spring.end_stiffness * (pressed - inside)


@dataclass(frozen=True)
class ConstantForceSpring(LinePull):
    """A rolled strip that pulls with the same force however far it is drawn out.

    Attributes:
        force: N.
        free_length: distance of its ends with the strip wholly rolled up, m.
        take_up: first extension over which the force builds up, m (about 1.25 drum diameters, from memory).
        longest: greatest extension, m: there it is wholly off its drum, and a taut band.
        end_stiffness: of the band and what holds it, N/m (assumed).
    """

    force: float
    free_length: float
    take_up: float
    longest: float
    end_stiffness: float = 2e5

    @property
    def rate(self) -> float:
        """That of its end, or while the force builds up, N/m."""
        return max(self.end_stiffness, self.force / self.take_up)

    def begin(self, mounting: Mounting) -> PullState:
        return _Strip(self)


@dataclass
class _Strip(PullState):
    law: ConstantForceSpring

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        return constant_force(self.law, length)


def constant_force(spring: ConstantForceSpring, length: float) -> float:
    """Pull of the strip, N: rises over `take_up`, then stays, up to its end; none when slack.

    Args:
        length: distance of its ends, m.

    Example:
        >>> strip = ConstantForceSpring(30.0, 0.05, 0.02, 0.5)
        >>> round(constant_force(strip, 0.06), 9), constant_force(strip, 0.3), constant_force(strip, 0.04)
        (15.0, 30.0, 0.0)
        >>> round(constant_force(strip, 0.551), 6)
        230.0
    """
    drawn = length - spring.free_length
    if drawn <= 0:
        return 0.0
    return spring.force * min(1.0, drawn / spring.take_up) + spring.end_stiffness * max(
        0.0, drawn - spring.longest
    )


@dataclass(frozen=True)
class Counterweight(LinePull):
    """A weight on a rope over a pulley; its own motion counts, so a jerk slackens or tightens the rope.

    Attributes:
        mass: kg.
        rope_length: from the pulley to the weight plus from the pulley to the prop, m.
        stiffness: of the rope, N/m.
        damping: of the rope, N*s/m.
        gravity: m/s^2.
    """

    mass: float
    rope_length: float
    stiffness: float
    damping: float
    gravity: float = 9.80665

    @property
    def rate(self) -> float:
        """Of its rope, N/m."""
        return self.stiffness

    def begin(self, mounting: Mounting) -> PullState:
        return _Weight(self, hang(self, mounting.length))


@dataclass
class _Weight(PullState):
    law: Counterweight
    hanging: Hanging

    def tension(self, time: float, length: float, rate: float, step: float, volts: float | None) -> float:
        pull = counterweight_tension(self.law, self.hanging, length, rate)
        self.hanging = counterweight_step(self.law, self.hanging, pull, step)
        return pull


@dataclass(frozen=True)
class Hanging:
    """Where the counterweight is.

    Attributes:
        drop: distance below the pulley, m.
        rate: of that, m/s.
    """

    drop: float
    rate: float


def counterweight_tension(weight: Counterweight, hanging: Hanging, length: float, rate: float) -> float:
    """Pull of the rope, N, never below 0.

    Args:
        length: from the pulley to the prop, m.
        rate: of that, m/s.

    Example:
        >>> weight = Counterweight(2.0, 1.0, 1e4, 50.0)
        >>> round(counterweight_tension(weight, hang(weight, 0.4), 0.4, 0.0), 4)
        19.6133
    """
    stretch = length + hanging.drop - weight.rope_length
    if stretch <= 0:
        return 0.0
    return max(0.0, weight.stiffness * stretch + weight.damping * (rate + hanging.rate))


def hang(weight: Counterweight, length: float) -> Hanging:
    """The weight at rest with the rope's end held at a distance from the pulley.

    Args:
        length: from the pulley to the prop, m.

    Example:
        >>> round(hang(Counterweight(2.0, 1.0, 1e4, 50.0), 0.4).drop, 5)
        0.60196
    """
    return Hanging(weight.rope_length - length + weight.mass * weight.gravity / weight.stiffness, 0.0)


def counterweight_step(weight: Counterweight, hanging: Hanging, tension: float, step: float) -> Hanging:
    """Where the weight is one step later under the pull of the rope (semi-implicit).

    Stable while ``step < 2 / sqrt(stiffness / mass)``; good to 1 % for a tenth of that.

    Args:
        tension: of the rope, N.
        step: s.

    Example:
        >>> counterweight_step(Counterweight(2.0, 1.0, 1e4, 50.0), Hanging(0.6, 0.0), 0.0, 1e-3).rate
        0.00980665
    """
    rate = hanging.rate + step * (weight.gravity - tension / weight.mass)
    return Hanging(hanging.drop + step * rate, rate)
