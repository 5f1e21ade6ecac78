"""Peaks of joints, motors and stops over a run, and the audit of the run."""

from __future__ import annotations

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
        key: ``joint.NAME.force``, ``joint.NAME.moment``, ``motor.NAME.load``, ``stop.NAME.load`` or
            ``contact.NAME.force``; also the key of its band.
        name: of the joint, motor, stop or contact.
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
        stops: peak load in each stop.
        contacts: peak force in each contact.
        energy: audit of the run's energy.
    """

    recording: Recording
    wrenches: Wrenches
    joints: tuple[tuple[Peak, Peak], ...]
    motors: tuple[MotorLoad, ...]
    stops: tuple[Peak, ...]
    contacts: tuple[Peak, ...]
    energy: Energy

    @property
    def worst(self) -> Peak | None:
        """The highest peak force of any joint, or None without joints."""
        return self.joints[0][0] if self.joints else None


def joint_loads(recording: Recording) -> JointLoads:
    """Wrenches and peaks of every joint, motor and stop, over every physics step of a recording.

    Source: Newton-Euler equations over the recorded motion (`simprop.loads.newton_euler`).
    """
    laws = recording.laws
    found = wrenches(recording.assembly, recording.track, laws)
    angle = _angle(recording)

    def peak(key: str, name: str, kind: Kind, values: Array) -> Peak:
        row = int(np.argmax(values))
        where = None if angle is None else float(angle[row])
        return Peak(
            key,
            name,
            kind,
            float(values[row]),
            float(recording.track.time[row]),
            where,
            row,
            recording.bands.get(key),
        )

    joints = []
    for j, joint in enumerate(recording.assembly.joints):
        pair = []
        what: tuple[Kind, Kind] = ("force", "moment")
        for which, (sort, size) in enumerate(zip(what, _bearing(recording, found, j), strict=True)):
            top = peak(f"joint.{joint.name}.{sort}", joint.name, sort, size)
            if j in found.shares:
                of = found.shares[j]
                ends = [float(v[which].max()) for v in (of.equal, of.alone)]
                top = replace(top, range=(min(top.value, *ends), max(top.value, *ends)))
            pair.append(top)
        joints.append((pair[0], pair[1]))
    joints.sort(key=lambda pair: (-pair[0].value, pair[0].name))
    motors = []
    for k, motor in enumerate(laws.motors):
        given = motor.at_shaft(found.applied[:, k])
        top = peak(f"motor.{motor.name}.load", motor.name, "moment", given)
        motors.append(_motor(recording, motor, k, top, found))
    stops = []
    names = list(recording.assembly.rig.stops)
    for (axis, _), name in zip(laws.stops, names, strict=True):
        load = np.abs(recording.track.applied[:, APPLIED.index("stop"), axis])
        kind: Kind = "moment" if recording.assembly.axes[axis].motion == "turn" else "force"
        stops.append(peak(f"stop.{name}.load", name, kind, load))
    contacts = tuple(
        peak(
            f"contact.{t.name}.force",
            t.name,
            "force",
            np.linalg.norm(recording.track.touch_force[:, k], axis=1),
        )
        for k, t in enumerate(laws.touches)
        if t.joint < 0
    )
    audit = energy(recording)
    return JointLoads(recording, found, tuple(joints), tuple(motors), tuple(stops), contacts, audit)


def _bearing(recording: Recording, found: Wrenches, j: int) -> tuple[Array, Array]:
    """Size of the force and of the moment that a joint bears at each step, (n,) each, without its free axes' loads."""
    assembly, force, moment = recording.assembly, found.force[:, j].copy(), found.moment[:, j].copy()
    turn = matrices(recording.track.rotation[:, assembly.joints[j].first])
    for axis in assembly.axes:
        if axis.joint == j:
            way, whole = turn @ axis.way, moment if axis.motion == "turn" else force
            whole -= np.einsum("ni,ni->n", whole, way)[:, None] * way
    return np.linalg.norm(force, axis=1), np.linalg.norm(moment, axis=1)


def all_peaks(loads: JointLoads) -> list[Peak]:
    """Every reported peak, in one list."""
    return [p for pair in loads.joints for p in pair] + [
        *(m.peak for m in loads.motors),
        *loads.stops,
        *loads.contacts,
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
