"""Peaks of everything that carries load over a run - joints, motors, springs, stops, contacts - and its audit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from simprop.engine.acting.actuation import MotorData
from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.loads.energy import Energy, energy
from simprop.loads.newton_euler import Wrenches, wrenches
from simprop.recording import Band, Recording

Kind = Literal["force", "moment"]


@dataclass(frozen=True)
class Peak:
    """The largest value of one quantity over a run.

    Attributes:
        key: ``joint.NAME.force``, ``joint.NAME.moment``, ``motor.NAME.load``, ``spring.NAME.load``,
            ``pusher.NAME.load``, ``pull.NAME.load``, ``stop.NAME.load``, ``contact.NAME.force`` or
            ``member.NAME.moment``; also the key of its band.
        name: of what carries it.
        kind: force (N) or moment (N*m).
        value: SI, never negative.
        time: when, s.
        angle: coordinate of the first motor's joint then, rad (or m); None without a motor.
        row: index of the physics step.
        band: numerical band, or None when only one step was run.
        range: of a joint that shares its load with others in a way that rigid bodies don't determine: the peak if all
            were equally stiff, and if this one took all that it can, the lesser first; None where nothing is shared.
    """

    key: str
    name: str
    kind: Kind
    value: float
    time: float
    angle: float | None
    row: int
    band: Band | None
    range: tuple[float, float] | None = None

    @property
    def sort(self) -> str:
        """What carries it: joint, motor, spring, pusher, pull, stop, contact or member."""
        return self.key.partition(".")[0]


Pair = tuple[Peak | None, Peak | None]
"""Peak force and peak moment of one thing; None where it can't carry that."""


@dataclass(frozen=True)
class MotorLoad:
    """What a motor gives at its worst, beside what it can give.

    Attributes:
        name: of the motor.
        peak: largest load it gave on its axis, with when.
        able: what it can give at standstill from its supply with the wire (stall or pull-out; of a pulsed motor in
            a pulse), N*m or N; None for a constant torque.
        current: largest current, A; None where the law knows none.
        current_able: what the supply can give, A; None when unlimited or not known.
        difference: largest difference between the load its law applied and the load recovered from the motion, as
            a share of the peak; None where the mechanism doesn't determine it.
        pulsed: switched on and off quickly (PWM): the supply's limit then acts on the mean of its current.
    """

    name: str
    peak: Peak
    able: float | None
    current: float | None
    current_able: float | None
    difference: float | None
    pulsed: bool = False


@dataclass(frozen=True)
class JointLoads:
    """Loads of a whole run.

    Attributes:
        recording: what they were computed from.
        wrenches: every joint at every step.
        joints: peak force and peak moment that each joint bears, highest force first: without what acts along or about
            its free axes (motors, springs, stops, friction).
        motors: peaks of the motors.
        lines: peak load in each spring, pusher and pull (rope, gas strut, weight): its ends must carry it too.
        stops: peak load in each stop.
        contacts: peak force in each contact.
        members: peak of the moment in each member that bends, the largest of any of its cross-sections.
        energy: audit of the run's energy.
        lasting: they are those of every night; False with a steady wind on top, at some instants of the run.
    """

    recording: Recording
    wrenches: Wrenches
    joints: tuple[tuple[Peak, Peak], ...]
    motors: tuple[MotorLoad, ...]
    lines: tuple[Peak, ...]
    stops: tuple[Peak, ...]
    contacts: tuple[Peak, ...]
    energy: Energy
    lasting: bool = True
    members: tuple[Peak, ...] = ()

    @property
    def ranked(self) -> tuple[Pair, ...]:
        """Everything that carries load, highest force first, and after the forces what carries a moment alone."""
        alone = (*self.lines, *self.stops, *self.contacts)
        pairs: list[Pair] = [*self.joints, *((p, None) if p.kind == "force" else (None, p) for p in alone)]
        return tuple(sorted(pairs, key=lambda pair: tuple(-p.value if p else 1.0 for p in pair)))

    @property
    def worst(self) -> Peak | None:
        """The highest peak force of anything, or None where nothing carries any."""
        return self.ranked[0][0] if self.ranked else None

    @property
    def worst_joint(self) -> Peak | None:
        """The highest peak force of any joint, or None without joints."""
        return self.joints[0][0] if self.joints else None

    def history(self, peak: Peak) -> Array:
        """Size of the load at each step, (n,) in the unit of its peak.

        Args:
            peak: one of these loads'.
        """
        found = _histories(self.recording, self.wrenches)
        return next(size for key, _, size in found if key == peak.key)

    def with_bands(self, bands: Mapping[str, Band]) -> JointLoads:
        """The same loads with numerical bands put to their peaks."""

        def put(peaks: tuple[Peak, ...]) -> tuple[Peak, ...]:
            return tuple(replace(p, band=bands.get(p.key)) for p in peaks)

        return replace(
            self,
            recording=replace(self.recording, bands=bands),
            joints=tuple((put((f,))[0], put((m,))[0]) for f, m in self.joints),
            motors=tuple(replace(m, peak=put((m.peak,))[0]) for m in self.motors),
            lines=put(self.lines),
            stops=put(self.stops),
            contacts=put(self.contacts),
            members=put(self.members),
        )


def joint_loads(recording: Recording) -> JointLoads:
    """Wrenches and peaks of everything that carries load, over every physics step of a recording.

    Source: Newton-Euler equations over the recorded motion (`simprop.loads.newton_euler`).
    """
    laws = recording.laws
    found = wrenches(recording.assembly, recording.track, laws)
    angle = _angle(recording)

    peaks = {}
    for key, kind, size in _histories(recording, found):
        row = int(np.argmax(size))
        where = None if angle is None else float(angle[row])
        name, time = key.partition(".")[2].rpartition(".")[0], float(recording.track.time[row])
        peaks[key] = Peak(key, name, kind, float(size[row]), time, where, row, recording.bands.get(key))
    pairs = []
    for j, joint in enumerate(recording.assembly.joints):
        if j in recording.assembly.seams:
            continue
        pair = [peaks[f"joint.{joint.name}.{kind}"] for kind in ("force", "moment")]
        if j in found.shares:
            of = found.shares[j]
            for which, top in enumerate(pair):
                ends = [float(v[which].max()) for v in (of.equal, of.alone)]
                pair[which] = replace(top, range=(min(top.value, *ends), max(top.value, *ends)))
        pairs.append((pair[0], pair[1]))
    pairs.sort(key=lambda pair: (-pair[0].value, pair[0].name))
    motors = tuple(
        _motor(recording, m, k, peaks[f"motor.{m.name}.load"], found) for k, m in enumerate(laws.motors)
    )
    lines, stops, contacts, members = (
        tuple(p for p in peaks.values() if p.sort in sorts)
        for sorts in (("spring", "pusher", "pull"), ("stop",), ("contact",), ("member",))
    )
    audit = energy(recording)
    return JointLoads(recording, found, tuple(pairs), motors, lines, stops, contacts, audit, members=members)


def _bearing(recording: Recording, found: Wrenches, j: int) -> tuple[Array, Array]:
    """Size of the force and of the moment that a joint bears at each step, (n,) each, without its free axes' loads."""
    assembly, force, moment = recording.assembly, found.force[:, j].copy(), found.moment[:, j].copy()
    turn = matrices(recording.track.rotation[:, assembly.joints[j].first])
    for axis in assembly.axes:
        if axis.joint == j:
            way, whole = turn @ axis.way, moment if axis.motion == "turn" else force
            whole -= np.einsum("ni,ni->n", whole, way)[:, None] * way
    return np.linalg.norm(force, axis=1), np.linalg.norm(moment, axis=1)


def _histories(recording: Recording, found: Wrenches) -> Iterator[tuple[str, Kind, Array]]:
    """Key of the peak, kind and size at each step, (n,), of every load that has a peak."""
    assembly, laws, track = recording.assembly, recording.laws, recording.track
    kinds: tuple[Kind, Kind] = ("force", "moment")
    for j, joint in enumerate(assembly.joints):
        if j in assembly.seams:
            continue
        for kind, size in zip(kinds, _bearing(recording, found, j), strict=True):
            yield f"joint.{joint.name}.{kind}", kind, size
    for member in assembly.members:
        across = np.linalg.norm(found.moment[:, member.seams], axis=2).max(axis=1)
        yield f"member.{member.whole.name}.moment", "moment", across
    for k, motor in enumerate(laws.motors):
        yield f"motor.{motor.name}.load", "moment", motor.at_shaft(found.applied[:, k])
    for k, (name, sort) in enumerate(assembly.rig.lines):
        yield f"{sort}.{name}.load", "force", np.abs(track.line_force[:, k])
    turning = [name for name, spring in assembly.rig.springs.items() if spring.about() is not None]
    for (axis, spring), name in zip(laws.torsion, turning, strict=True):
        angle, rate = track.coordinate[:, axis], track.rate[:, axis]
        torque = [spring.torque(a, r) for a, r in zip(angle.tolist(), rate.tolist(), strict=True)]
        yield f"spring.{name}.load", "moment", np.abs(torque)
    for (axis, _), name in zip(laws.stops, assembly.rig.stops, strict=True):
        turns = assembly.axes[axis].motion == "turn"
        yield f"stop.{name}.load", kinds[turns], np.abs(track.applied[:, APPLIED.index("stop"), axis])
    for k, touch in enumerate(laws.touches):
        if touch.joint < 0:
            yield f"contact.{touch.name}.force", "force", np.linalg.norm(track.touch_force[:, k], axis=1)


def all_peaks(loads: JointLoads) -> list[Peak]:
    """Every reported peak, in one list."""
    return [p for pair in loads.joints for p in pair] + [
        *(m.peak for m in loads.motors),
        *loads.lines,
        *loads.stops,
        *loads.contacts,
        *loads.members,
    ]


def _angle(recording: Recording) -> Array | None:
    motors = recording.laws.motors
    return np.asarray(recording.track.coordinate[:, motors[0].axis]) if motors else None


def _motor(recording: Recording, motor: MotorData, k: int, top: Peak, found: Wrenches) -> MotorLoad:
    track = recording.track
    current = track.current[:, k]
    known = np.isfinite(current)
    largest = float(np.abs(current[known]).max()) if known.any() else None
    pulsed = motor.control is not None and motor.control.pulses is not None
    can = None if motor.able is None else motor.able.pulse if pulsed else motor.able.stall
    able = can if can is not None and np.isfinite(can) else None
    limit = motor.current_limit if np.isfinite(motor.current_limit) else None
    difference = None
    if np.isfinite(found.recovered[:, k]).all() and top.value > 0:
        difference = float(np.abs(found.recovered[:, k] - found.applied[:, k]).max() / top.value)
    return MotorLoad(motor.name, top, able, largest, limit, difference, pulsed)
