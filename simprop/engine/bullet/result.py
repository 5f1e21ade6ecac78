"""What a chain of links recorded, checked and put into a `Trajectory`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.bullet.links import Link, Tie, carried, gaps, poses
from simprop.engine.track import axis_coordinate, axis_rate, moved, turned
from simprop.engine.trouble import PAST_STOP, likely
from simprop.engine.world import APPLIED, Trajectory
from simprop.errors import EngineError
from simprop.geometry.arrays import Array
from simprop.quantities import show

FASTEST_TURN, FASTEST_SLIDE = 1e4, 1e3
"""Beyond these a joint has run away, rad/s and m/s."""
WIDEST_GAP, WIDEST_SHARE = 1e-3, 0.01
"""A loop may come apart by the smaller of so many metres and so much of the prop's size..."""
WIDEST_TILT = 0.01
"""...and a joint that closes it tilt by so much, rad."""


@dataclass
class Log:
    """Arrays that a run fills, n steps; poses have a row more.

    Attributes:
        coordinate: of every link, (n + 1, L).
        balls: link -> rotation, (n + 1, 4).
        laws: motor, spring, stop and damping force of every axis, (n, 4, A).
        friction: (n, A).
        drive: force of synchronous motors, (n, A).
        line_force, line_start, line_end, voltage, current, touch_force, touch_point: as in `Trajectory`.
    """

    coordinate: Array
    balls: dict[int, Array]
    laws: Array
    friction: Array
    drive: Array
    line_force: Array
    line_start: Array
    line_end: Array
    voltage: Array
    current: Array
    touch_force: Array
    touch_point: Array

    @classmethod
    def empty(cls, assembly: Assembly, actuation: Actuation, links: Sequence[Link], steps: int) -> Log:
        """Room for `steps` steps."""
        axes, lines, motors = len(assembly.axes), len(actuation.lines), actuation.columns
        balls = {i: np.zeros((steps + 1, 4)) for i, k in enumerate(links) if k.kind == "ball"}
        return cls(
            np.zeros((steps + 1, len(links))),
            balls,
            np.zeros((steps, 4, axes)),
            np.zeros((steps, axes)),
            np.zeros((steps, axes)),
            np.zeros((steps, lines)),
            np.zeros((steps, lines, 3)),
            np.zeros((steps, lines, 3)),
            np.full((steps, motors), np.nan),
            np.full((steps, motors), np.nan),
            np.zeros((steps, len(actuation.touches), 3)),
            np.zeros((steps, len(actuation.touches), 3)),
        )


def trajectory(
    assembly: Assembly,
    actuation: Actuation,
    links: Sequence[Link],
    tied: Sequence[Tie],
    *,
    step: float,
    log: Log,
) -> Trajectory:
    """The run of a semi-implicit engine, poses of row i at (i + 1/2) * step.

    Raises:
        EngineError: when a loop came apart or a joint went through its stop.
    """
    steps = len(log.laws)
    time: Array = (np.arange(steps, dtype=np.float64) + 0.5) * np.float64(step)
    _check_finite(assembly, actuation, log, step)
    _check_gaps(assembly, tied, np.abs(gaps(links, tied, log.coordinate, log.balls)), step)
    position, rotation = link_poses(assembly, links, log.coordinate, log.balls)
    velocity, acceleration = moved(step, position, assembly.velocity)
    spin, spin_acceleration = turned(step, rotation, assembly.spin)
    of_axis = {k.axis_index: i for i, k in enumerate(links) if k.axis_index >= 0}
    whole = [
        log.coordinate[:, of_axis[a]] if a in of_axis else axis_coordinate(assembly, a, position, rotation)
        for a in range(len(assembly.axes))
    ]
    coordinate = np.stack(whole, axis=1) if whole else np.zeros((steps + 1, 0))
    first = np.array([axis_rate(assembly, a) for a in range(len(assembly.axes))])
    rate, _ = moved(step, coordinate, first)
    _check_stops(assembly, actuation, coordinate[:steps], time)
    applied = np.zeros((steps, len(APPLIED), len(assembly.axes)))
    motor, spring, stop, damping = np.moveaxis(log.laws, 1, 0)
    rows = {
        "motor": motor + log.drive,
        "spring": spring,
        "stop": stop,
        "friction": log.friction,
        "damping": damping,
    }
    for k, name in enumerate(APPLIED):
        applied[:, k] = rows[name]
    return Trajectory(
        step,
        time,
        position[:steps],
        rotation[:steps],
        velocity,
        spin,
        acceleration,
        spin_acceleration,
        coordinate[:steps],
        rate,
        applied,
        log.line_force,
        log.line_start,
        log.line_end,
        log.voltage,
        log.current,
        log.touch_force,
        log.touch_point,
    )


def link_poses(
    assembly: Assembly, links: Sequence[Link], coordinate: Array, balls: dict[int, Array]
) -> tuple[Array, Array]:
    """Centres of mass (n, B, 3) m and rotations (n, B, 4) of all bodies, those that stand still included."""
    origin, turn = poses(links, coordinate, balls)
    position = np.empty((len(coordinate), len(assembly.bodies), 3))
    position[:] = [body.com for body in assembly.bodies]
    rotation = np.zeros((len(coordinate), len(assembly.bodies), 4))
    rotation[..., 3] = 1.0
    for i, link in enumerate(links):
        if link.body >= 0:
            position[:, link.body] = carried(links, i, assembly.bodies[link.body].com, origin, turn)
            rotation[:, link.body] = turn[:, i]
    return position, rotation


def check_rates(
    assembly: Assembly,
    actuation: Actuation,
    links: Sequence[Link],
    rates: Sequence[float],
    *,
    time: float,
    step: float,
) -> None:
    """Stop on a joint speed that isn't a number or has run away.

    Args:
        assembly: what moves.
        actuation: what acts on it.
        links: that turn or slide.
        rates: of those links, rad/s or m/s.
        time: s.
        step: s.

    Raises:
        EngineError: with the time and the joint.
    """
    for link, rate in zip(links, rates, strict=True):
        fastest = FASTEST_TURN if link.kind == "turn" else FASTEST_SLIDE
        if not abs(rate) <= fastest and link.rotor is None:
            speed = f"{rate:.3g} {'rad/s' if link.kind == 'turn' else 'm/s'}"
            raise EngineError(
                f"the motion runs away at {time:.4g} s, first at {_named(assembly, link)} ({speed}); "
                + likely(assembly, actuation, step)
            )


def _named(assembly: Assembly, link: Link) -> str:
    if link.axis_index >= 0:
        return f"joint {assembly.joints[assembly.axes[link.axis_index].joint].name!r}"
    return f"body {assembly.bodies[link.body].name!r}" if link.body >= 0 else "a loop"


def _check_finite(assembly: Assembly, actuation: Actuation, log: Log, step: float) -> None:
    everything = np.concatenate([log.coordinate, *log.balls.values()], axis=1)
    good = np.isfinite(everything).all(axis=1)
    if not good.all():
        when = int(np.argmin(good)) * step
        raise EngineError(
            f"the motion is no longer a number at {when:.4g} s; " + likely(assembly, actuation, step)
        )


def _check_gaps(assembly: Assembly, tied: Sequence[Tie], apart: Array, step: float) -> None:
    if not apart.shape[1]:
        return
    places = np.array([j.point for j in assembly.joints])
    widest = min(WIDEST_GAP, WIDEST_SHARE * float(np.linalg.norm(np.ptp(places, axis=0))))
    rows = [(tie, bool(row[:3].any())) for tie in tied for row in tie.rows]
    most = np.array([widest if slides else WIDEST_TILT for _, slides in rows])
    bad = (apart > most).any(axis=1)
    if bad.any():
        when = int(np.argmax(bad))
        k = int(np.argmax(apart[when] / most))
        tie, slides = rows[k]
        kind = "length" if slides else "angle"
        raise EngineError(
            f"the loop through joint {assembly.joints[tie.joint].name!r} is {show(apart[when, k], kind, 2)} apart at "
            f"{when * step:.4g} s ({show(most[k], kind, 2)} is let pass); likely cause: a step of {step:.3g} s that "
            "is too coarse for its speed, or a pose in which the loop locks"
        )


def _check_stops(assembly: Assembly, actuation: Actuation, coordinate: Array, time: Array) -> None:
    for axis, law in actuation.stops:
        if law.pitch is not None:
            continue  # it goes along
        turns = assembly.axes[axis].motion == "turn"
        deepest = PAST_STOP["turn" if turns else "slide"]
        above = np.inf if law.above is None else law.above
        below = -np.inf if law.below is None else law.below
        depth = np.maximum(coordinate[:, axis] - above, below - coordinate[:, axis])
        if (depth > deepest).any():
            row = int(np.argmax(depth > deepest))
            name = assembly.joints[assembly.axes[axis].joint].name
            far = show(deepest, "angle" if turns else "length")
            stiffness = show(law.stiffness, "turning_stiffness" if turns else "stiffness")
            raise EngineError(
                f"joint {name!r} is more than {far} past its stop at {time[row]:.4g} s; likely cause: a stop of "
                f"{stiffness} is too soft for what runs onto it"
            )
