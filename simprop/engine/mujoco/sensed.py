"""What the MuJoCo engine recorded, as a `Trajectory`; pure array work."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.actuator import line_tension
from simprop.engine.acting.catches import Catches
from simprop.engine.acting.cords import followed
from simprop.engine.acting.lines import line_ends
from simprop.engine.mujoco.plan import Plan
from simprop.engine.trouble import BODY
from simprop.engine.world import APPLIED, Trajectory
from simprop.geometry.arrays import Array
from simprop.laws import stops
from simprop.laws.dc import DcLine


@dataclass(frozen=True)
class Sensed:
    """Raw rows of a run.

    Attributes:
        rows: sensors at the start of each step, (n, S), laid out by `simprop.engine.mujoco.model_text`.
        brakes: forces of dry friction and of speed drives, (n, F).
        on: which motors are on, (n, M).
        electric: voltage and current of motors about which something is decided once a step, (n, 2, C).
        extra: further load of motors on each axis, decided once a step, (n, A), or None.
        friction_of: axis -> column of `brakes`.
        drive_of: axis -> column of `brakes` of the drive that holds its speed.
        slip_of: column of `brakes` of each coupling that may slip.
    """

    rows: Array
    brakes: Array
    on: Array
    electric: Array
    extra: Array | None
    friction_of: dict[int, int]
    drive_of: dict[int, int]
    slip_of: list[int]


def switched_on(actuation: Actuation, time: Array) -> Array:
    """Which motors are on at each time, (n, M) of 0 and 1.

    Example:
        >>> none = np.zeros(1)
        >>> switched_on(Actuation(none, none, (), (), (), ()), np.arange(3.0)).shape
        (3, 0)
    """
    result = np.ones((len(time), len(actuation.motors)))
    for k, motor in enumerate(actuation.motors):
        if motor.windows is not None:
            within = [(begin <= time) & (time < end) for begin, end in motor.windows]
            result[:, k] = np.any(within, axis=0) if within else 0.0
    return result


def trajectory(
    assembly: Assembly, actuation: Actuation, plan: Plan, step: float, sensed: Sensed
) -> Trajectory:
    """The recorded rows as motion and loads.

    Args:
        assembly: what moved.
        actuation: what acted.
        plan: how the sensors are laid out.
        step: physics step, s.
        sensed: what was recorded.

    Returns:
        Row i at the instant i * step.
    """
    rows, n, count = sensed.rows, len(sensed.rows), len(assembly.bodies)
    still = np.array([b.com for b in assembly.bodies])
    position = np.broadcast_to(still, (n, count, 3)).copy()
    rotation = np.zeros((n, count, 4))
    rotation[..., 3] = 1.0
    velocity, spin, acceleration, turning = (np.zeros((n, count, 3)) for _ in range(4))
    for i, body in enumerate(plan.moving):
        block = rows[:, BODY * i : BODY * (i + 1)]
        position[:, body] = block[:, 0:3]
        rotation[:, body] = block[:, [4, 5, 6, 3]]
        velocity[:, body], spin[:, body] = block[:, 7:10], block[:, 10:13]
        # The engine's linear accelerations are those an accelerometer shows.
        acceleration[:, body] = block[:, 13:16] + np.asarray(assembly.rig.run.gravity)
        turning[:, body] = block[:, 16:19]
    rest = np.split(rows[:, BODY * len(plan.moving) :], np.cumsum(_sizes(assembly, plan)), axis=1)
    coordinate, rate, length, length_rate, forces = rest[:5]
    voltage, current = _electric(actuation, sensed, rate)
    start, end = line_ends(actuation.lines, position, rotation)
    track = Trajectory(
        step=step,
        time=np.arange(n, dtype=np.float64) * step,
        position=position,
        rotation=rotation,
        velocity=velocity,
        spin=spin,
        acceleration=acceleration,
        spin_acceleration=turning,
        coordinate=np.ascontiguousarray(coordinate),
        rate=np.ascontiguousarray(rate),
        applied=_applied(actuation, plan, sensed, (coordinate, rate), forces),
        line_force=_tensions(actuation, plan, (length, length_rate), forces),
        line_start=start,
        line_end=end,
        voltage=voltage,
        current=current,
        slip_force=_slipped(actuation, sensed),
    )
    return followed(assembly, actuation.cords, track)


def _sizes(assembly: Assembly, plan: Plan) -> list[int]:
    axes, lines = len(assembly.axes), len(plan.lines)
    return [axes, axes, lines, lines, len(plan.actuators)]


def _applied(
    actuation: Actuation, plan: Plan, sensed: Sensed, motion: tuple[Array, Array], forces: Array
) -> Array:
    """Axis loads by origin, (n, 5, A)."""
    coordinate, rate = motion
    n, axes = rate.shape
    result = np.zeros((n, len(APPLIED), axes))
    row = {name: result[:, i] for i, name in enumerate(APPLIED)}
    column = {name: i for i, name in enumerate(plan.actuators)}
    for k, name in plan.motors:
        row["motor"][:, actuation.motors[k].axis] += forces[:, column[name]]
    for axis, brake in sensed.drive_of.items():
        row["motor"][:, axis] += sensed.brakes[:, brake]
    if sensed.extra is not None:
        row["motor"] += sensed.extra
    for axis, name in plan.torsion:
        row["spring"][:, axis] += forces[:, column[name]]
    for feed in plan.feeds:
        if feed.row != "line":
            row[feed.row][:, feed.index] += forces[:, column[feed.actuator]]
    _stopped(actuation, coordinate, rate, row["stop"])
    for axis, brake in sensed.friction_of.items():
        row["friction"][:, axis] = sensed.brakes[:, brake]
    row["damping"][:] = -actuation.viscous * rate
    return result


def _slipped(actuation: Actuation, sensed: Sensed) -> Array:
    """Forces of what may slip, (n, S) N."""
    works = np.array([slip.work for slip in actuation.slips])
    return np.asarray(
        -sensed.brakes[:, sensed.slip_of] / works if len(works) else np.zeros((len(sensed.rows), 0))
    )


def _stopped(actuation: Actuation, coordinate: Array, rate: Array, into: Array) -> None:
    """Add the loads of stops, (n, A)."""
    catches = Catches(actuation.stops)
    for k, (axis, law) in enumerate(actuation.stops):
        if k in catches.moving:
            continue
        touched = np.zeros(len(rate), dtype=bool)
        if law.above is not None:
            touched |= coordinate[:, axis] > law.above
        if law.below is not None:
            touched |= coordinate[:, axis] < law.below
        for i in np.flatnonzero(touched):
            into[i, axis] += stops.force(law, float(coordinate[i, axis]), float(rate[i, axis]))
    for n in range(len(rate) if catches.moving else 0):
        catches.follow(coordinate[n].tolist())
        for k in catches.moving:
            axis = actuation.stops[k][0]
            into[n, axis] += stops.force(catches.laws[k], float(coordinate[n, axis]), float(rate[n, axis]))


def _electric(actuation: Actuation, sensed: Sensed, rate: Array) -> tuple[Array, Array]:
    """Voltage and current of each motor and electric pusher, (n, C) each."""
    voltage, current = sensed.electric[:, 0].copy(), sensed.electric[:, 1].copy()
    for k, motor in enumerate(actuation.motors):
        law = motor.law
        if isinstance(law, DcLine) and motor.control is None:
            emf, on = law.speed_constant * motor.sense * rate[:, motor.axis], sensed.on[:, k]
            free = (motor.voltage - emf) / law.resistance
            current[:, k] = np.clip(free, -motor.current_limit, motor.current_limit) * on
            held = np.abs(free) > motor.current_limit
            full = np.where(held, current[:, k] * law.resistance + emf, motor.voltage)
            voltage[:, k] = np.where(on > 0, full, emf)
    return voltage, current


def _tensions(actuation: Actuation, plan: Plan, motion: tuple[Array, Array], forces: Array) -> Array:
    length, rate = motion
    result = np.zeros(length.shape)
    pulls = dict(plan.pulls)
    for k in range(length.shape[1]):
        if k in pulls:
            result[:, k] = -forces[:, plan.actuators.index(pulls[k])]
            continue
        pairs = zip(length[:, k].tolist(), rate[:, k].tolist(), strict=True)
        result[:, k] = [line_tension(actuation, k, s, w) for s, w in pairs]
    return result
