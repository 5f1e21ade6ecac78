"""Whether rigid will do: how each body would ring as held and loaded, and how far what drives it swings it.

A body is cut into pieces as if it bent, all others stay rigid. Its lowest ways to ring, pushed by its own weight and by
what its motion as a rigid body asks of it, are swung step by step; beside that stands what the same push would bend it
if it followed at once, which is all that a rigid run knows. The ratio of the largest bending of both tells what a rigid
run leaves out. It holds for motions like the recorded one: what bends doesn't act back on the drive here.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import inf, isfinite, pi

import numpy as np
from numpy.typing import NDArray

from simprop.assembly.beams import pieces_of
from simprop.assembly.bending import as_if_bent
from simprop.assembly.modes import Modes, driven_by, modes
from simprop.assembly.types import Assembly
from simprop.catalog.damping import damping_of
from simprop.engine.acting.actuation import Actuation, MotorData
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.recording import Recording

RIGID = 0.10
"""Share by which a body's own swing may change its bending and rigid still does: less than what weights, friction and
stops are known by (assumed), and far less than the factors of safety."""
ABOVE = 10.0
"""A body that rings so many times above the turns a second of what drives it follows a crank: of the second multiple,
the largest overtone of a crank (share about crank over rod), it then makes 4 % more, 1 / (1 - 0.2^2)."""
COUNT, PIECES = 4, 8
"""Ways to ring that are looked at, and pieces of the longest beam: those frequencies within 1.5 %."""
SWINGS, SAMPLES = 6, 40
"""Swings that are followed from a jolt, and steps in one."""
LONGEST = 20_000
"""Most steps that are followed from a jolt."""
NOTHING = 1e-6
"""Root of an elastic energy that counts as none, J^0.5."""


@dataclass(frozen=True)
class Ringing:
    """How a body rings.

    Attributes:
        body: its name.
        frequency: its lowest as held and loaded in the start pose, Hz; inf where it can't ring, being held all over.
        damping: damping ratio of its material.
        ratio: largest bending with its own swing over that without; None where nothing bends it.
        turns: fastest turning drive, 1/s; 0 without one.
        cause: what swings it most, in words; "" where nothing does.
    """

    body: str
    frequency: float
    damping: float
    ratio: float | None
    turns: float
    cause: str

    @property
    def rings(self) -> bool:
        """Whether loads with bending are needed."""
        return self.frequency < ABOVE * self.turns or (
            self.ratio is not None and abs(self.ratio - 1.0) > RIGID
        )


def ringing(recording: Recording, starting: NDArray[np.bool_]) -> tuple[Ringing, ...]:
    """How the bodies of a run would have rung in it that it took as rigid; none where something gives.

    Args:
        recording: a run.
        starting: when any drive starts, (n,).

    Source: modal superposition and step-by-step integration of a linear oscillator, exact for a push that runs straight
        between the steps; any text on structural dynamics.
    """
    track, assembly = recording.track, recording.assembly
    if assembly.gives:
        return ()
    axes = [m.axis for m in recording.laws.motors if assembly.axes[m.axis].motion == "turn"]
    turns = float(np.abs(track.rate[:, axes]).max(initial=0.0)) / (2 * pi)
    gravity = np.array(assembly.rig.run.gravity)
    field = np.tile([*gravity, 0.0, 0.0, 0.0], (len(assembly.bodies), 1))
    seen = {}  # of each body that moves, in its own axes: spin, its rate, and what gravity and motion make felt
    for i, body in enumerate(assembly.bodies):
        if not body.fixed:
            back = matrices(track.rotation[:, i]).transpose(0, 2, 1)
            rows = (track.spin[:, i], track.spin_acceleration[:, i], gravity - track.acceleration[:, i])
            seen[i] = tuple(np.einsum("nij,nj->ni", back, v) for v in rows)
    found = []
    for ring in _rings(assembly):
        push = np.zeros((len(track.time), len(ring.modes.frequency)))
        for i, (spin, gain, felt) in seen.items():
            for k in ring.pieces[i]:
                piece = ring.cut.bodies[k]
                arm = piece.com - assembly.bodies[i].com
                own = felt - np.cross(gain, arm) - np.cross(spin, np.cross(spin, arm))
                turn = -gain @ piece.inertia - np.cross(spin, spin @ piece.inertia)
                push += piece.mass * own @ ring.modes.shape[:, k, :3].T + turn @ ring.modes.shape[:, k, 3:].T
        weight = _pushed(ring, assembly, field)
        ratio, row = _swung(push, ring, track.step, weight)
        found.append(
            ring.told(
                ratio, turns, f"{'a start' if starting[row] else 'the motion'} at {track.time[row]:.3f} s"
            )
        )
    return tuple(found)


def likely(assembly: Assembly, laws: Actuation) -> tuple[Ringing, ...]:
    """The same before anything is run: from the speeds of the drives, their starts, and stops that they run onto.

    A start is taken as the run-up of the drive with all that it moves in the start pose, speed and torque by its
    straight line; a stop as met at the drive's speed without load.

    Args:
        assembly: of rigid bodies.
        laws: all that acts on it.
    """
    jolts = [jolt for number in range(len(laws.motors)) for jolt in _jolts(assembly, laws, number)]
    turning = [m for m in laws.motors if assembly.axes[m.axis].motion == "turn"]
    turns = max((_speed(m) / (2 * pi) for m in turning), default=0.0)
    field = np.tile([*assembly.rig.run.gravity, 0.0, 0.0, 0.0], (len(assembly.bodies), 1))
    found = []
    for ring in _rings(assembly):
        weight = _pushed(ring, assembly, field)
        worst: tuple[float | None, str] = (None, "")
        for jolt in jolts if len(ring.modes.frequency) else ():
            ratio = _jolted(ring, weight, _pushed(ring, assembly, -jolt.way) * jolt.size, jolt)
            if ratio is not None and (worst[0] is None or ratio > worst[0]):
                worst = ratio, jolt.cause
        found.append(ring.told(worst[0], turns, worst[1]))
    return tuple(found)


def _jolted(ring: _Ring, weight: Array, shove: Array, jolt: _Jolt) -> float | None:
    """The ratio of a jolt on top of the weight."""
    step = min(1.0 / float(ring.modes.frequency.max()), jolt.lasting) / SAMPLES
    count = min(LONGEST, int((SWINGS / float(ring.modes.frequency.min()) + jolt.lasting) / step))
    push = np.outer(jolt.pulse(step * np.arange(count, dtype=float)), shove)
    return _swung(np.asarray(weight + push, dtype=float), ring, step, weight)[0]


@dataclass(frozen=True)
class _Jolt:
    """A short push.

    Attributes:
        cause: in words.
        way: how all bodies move as the drive does, (B, 6) m/s and rad/s for 1 of it.
        size: largest acceleration of the drive, rad/s^2.
        pulse: share of that at times since it began, s.
        lasting: about how long, s.
    """

    cause: str
    way: Array
    size: float
    pulse: Callable[[Array], Array]
    lasting: float


@dataclass(frozen=True)
class _Ring:
    """A body as if it bent: the cut prop, its lowest ways to ring, and the pieces of each body in it."""

    body: str
    damping: float
    cut: Assembly
    modes: Modes
    pieces: dict[int, tuple[int, ...]]

    def told(self, ratio: float | None, turns: float, cause: str) -> Ringing:
        """What there is to say of it."""
        cause = "" if ratio is None else cause
        lowest = float(self.modes.frequency[0]) if len(self.modes.frequency) else inf
        return Ringing(self.body, lowest, self.damping, ratio, turns, cause)


def _rings(assembly: Assembly) -> list[_Ring]:
    found = []
    for i, body in enumerate(assembly.bodies):
        beams = [p for p in pieces_of(body) if p.beam is not None]
        if body.fixed or body.scenery or not beams:
            continue
        longest = max(beams, key=lambda p: p.stretch.length)
        cut = as_if_bent(assembly, i, PIECES)
        pieces = {
            k: tuple(j for j, piece in enumerate(cut.bodies) if piece.called == own.name)
            for k, own in enumerate(assembly.bodies)
        }
        found.append(_Ring(body.name, damping_of(longest.shape.material), cut, modes(cut, COUNT), pieces))
    return found


def _pushed(ring: _Ring, assembly: Assembly, way: Array) -> Array:
    """Push on each way to ring, (k,), of accelerations of all bodies as rigid, (B, 6), that their masses feel."""
    push = np.zeros(len(ring.modes.frequency))
    for i, pieces in ring.pieces.items():
        for k in pieces:
            piece = ring.cut.bodies[k]
            own = way[i, :3] + np.cross(way[i, 3:], piece.com - assembly.bodies[i].com)
            push += piece.mass * ring.modes.shape[:, k, :3] @ own
            push += ring.modes.shape[:, k, 3:] @ piece.inertia @ way[i, 3:]
    return push


def _jolts(assembly: Assembly, laws: Actuation, number: int) -> list[_Jolt]:
    """The start of a motor, and the stops that it runs onto where its start pose goes on."""
    motor, speed = laws.motors[number], _speed(laws.motors[number])
    if motor.able is None or not speed > 0.0 or not motor.able.stall > 0.0:
        return []
    way = driven_by(assembly, motor.name)
    turning = zip(assembly.bodies, way, strict=True)
    moving = sum(b.mass * w[:3] @ w[:3] + w[3:] @ b.inertia @ w[3:] for b, w in turning if not b.fixed)
    inertia = float(moving) + motor.reflected_inertia
    lasting = inertia * speed / motor.able.stall
    if not moving > 0.0 or not lasting > 0.0:
        return []
    found = [_Jolt(f"the start of {motor.name}", way, speed / lasting, partial(_fading, lasting), lasting)]
    for (axis, stop), name in zip(laws.stops, assembly.rig.stops, strict=True):
        if stop.pitch is not None:
            continue  # it lets pass where the start pose goes on
        joint, along = assembly.joints[assembly.axes[axis].joint], assembly.axes[axis].way
        apart = way[joint.second] - way[joint.first]
        if assembly.axes[axis].motion == "turn" and (rate := abs(float(along @ apart[3:]))) > 1e-9:
            omega = rate * float(np.sqrt(stop.stiffness / inertia))
            blow = f"the blow on {name}"
            found.append(_Jolt(blow, way, -speed * omega, partial(_bounce, omega), pi / omega))
    return found


def _fading(lasting: float, time: Array) -> Array:
    return np.asarray(np.exp(-time / lasting), dtype=float)


def _bounce(omega: float, time: Array) -> Array:
    return np.where(omega * time < pi, np.sin(np.minimum(omega * time, pi)), 0.0)


def _speed(motor: MotorData) -> float:
    """Its speed without load, rad/s; 0 where that isn't known."""
    return float(motor.able.speed) if motor.able is not None and isfinite(motor.able.speed) else 0.0


def _swung(push: Array, ring: _Ring, step: float, rest: Array) -> tuple[float | None, int]:
    """Largest bending with the swing over that without, by the root of the elastic energy, and its row.

    None where nothing bends it.

    Args:
        push: on each way to ring, (n, k).
        step: between rows, s.
        rest: push before the first row, (k,).
    """
    still, swung = np.zeros(len(push)), np.zeros(len(push))
    for j, frequency in enumerate(ring.modes.frequency):
        omega = 2 * pi * float(frequency)
        still += (push[:, j] / omega) ** 2
        swung += (rest[j] / omega + _swing(push[:, j] - rest[j], omega, ring.damping, step) * omega) ** 2
    most = float(np.sqrt(still.max(initial=0.0)))
    return (float(np.sqrt(swung.max())) / most if most > NOTHING else None), int(np.argmax(swung))


def _swing(push: Array, omega: float, damping: float, step: float) -> Array:
    """Deflection of an oscillator from rest, (n,): x'' + 2 z w x' + w^2 x = push, which runs straight between rows.

    As the imaginary part of y' = p y + push, y = 0 at first, over the damped frequency, with the pole p; exact.
    """
    pole = omega * complex(-damping, np.sqrt(1.0 - damping**2))
    turn = np.exp(pole * step)
    late = (turn - 1.0 - pole * step) / (pole**2 * step)  # what a push that rises to 1 over a step adds
    early = (turn - 1.0) / pole - late
    given = late * push
    given[1:] += early * push[:-1]
    count = len(push)
    size = 2 ** int(np.ceil(np.log2(2 * count)))
    kernel = np.exp(pole * step * np.arange(count))
    found = np.fft.ifft(np.fft.fft(given, size) * np.fft.fft(kernel, size))[:count]
    return np.asarray(found.imag / pole.imag)
