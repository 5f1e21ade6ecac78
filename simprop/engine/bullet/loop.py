"""The loop of the PyBullet engine: laws in, one step, state out; as little Python a step as possible."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.actuator import Actuator, line_tension
from simprop.engine.bullet.holds import Gear, Hold, rate_indices
from simprop.engine.bullet.outside import (
    Frames,
    LineProbe,
    Quat,
    TurnProbe,
    Vec,
    back,
    beside,
    closing_turn,
    compose,
    turn,
)
from simprop.engine.bullet.result import Log, check_rates
from simprop.engine.bullet.touch import Gripped, Touched
from simprop.engine.contact.gripping import TRIES
from simprop.engine.world import Progress
from simprop.geometry.arrays import Array
from simprop.laws.forms import Mounted

if TYPE_CHECKING:
    from simprop.engine.bullet.world import World

_CHECK = 64
"""Steps between looks at the joint speeds."""


def step_through(world: World, steps: int, progress: Progress | None) -> Log:  # noqa: C901, PLR0912, PLR0915 (one inner loop)
    """Take `steps` steps and record them.

    Args:
        world: as built, not yet stepped.
        steps: how many.
        progress: called now and then with the number done.

    Raises:
        EngineError: when a joint runs away.
    """
    from simprop.engine.bullet.direct import Direct

    p, c, h, prop = world.p, world.client, world.step, world.prop
    assembly, actuation, links, start = world.assembly, world.actuation, world.links, world.start
    actuator = Actuator(actuation)
    motor, spring, stop, damping = actuator.motor, actuator.spring, actuator.stop, actuator.damping
    log = Log.empty(assembly, actuation, links, steps)
    acted = _acted(actuation)
    outer = _Outer(world, acted)
    first = rate_indices(links)
    holds = _holds(world, first)
    touched = None
    if actuation.touches:
        touched = Touched(assembly, actuation, world.of_body, start=len(outer.pushes), step=h)
    direct = Direct(
        links,
        [(m.mass, m.centre, m.tensor()) for m in world.inertials],
        assembly.rig.run.gravity,
        step=h,
        tied=world.tied,
        correction=world.correction,
        gears=[Gear(first[twin], first[driven], ratio) for twin, driven, ratio in world.gears],
        holds=[hold for _, _, hold in holds],
        pushes=[*outer.pushes, *(touched.pushes if touched is not None else ())],
        twists=outer.twists,
    )
    outer.direct = direct
    driving = {axis: m for m, (axis, is_drive, _) in enumerate(holds) if is_drive}
    for m, (axis, is_drive, _) in enumerate(holds):
        direct.limit[m] = 0.0 if is_drive else actuation.friction[axis]
    gripped = None
    if actuation.rubbing:
        braked = {axis: m for m, (axis, is_drive, _) in enumerate(holds) if not is_drive}
        gripped = Gripped(assembly, actuation, world, braked)
        for m, most in gripped.start.items():
            direct.limit[m] = most
        rates_of = {axis: hold.rate for axis, _, hold in holds}
        rubbing = [(a, rates_of[a]) for a in actuation.rubbing if rates_of[a] >= 0]

    moving = [i for i, k in enumerate(links) if k.kind in ("turn", "slide")]
    moving_links, firsts = [links[i] for i in moving], [first[i] for i in moving]
    simple = direct.rates == len(moving) == len(links)
    balls = [_Ball(world, i, log) for i in log.balls]
    coordinates, rates = np.zeros((steps + 1, len(links))), np.zeros((steps + 1, direct.rates))
    held, turns = np.zeros((steps, len(holds))), np.zeros((len(balls), 4))
    coordinates[0], rates[0, firsts] = start.coordinate, start.rate[moving]
    for k, ball in enumerate(balls):
        turns[k] = start.balls[ball.link]
        rates[0, first[ball.link] :][:3] = start.ball_rates[ball.link]

    slot = {i: k for k, i in enumerate(moving)}
    inner = [(a, slot[i], first[i]) for a, i in world.of_axis.items() if a in acted]
    where, rate = [0.0] * len(assembly.axes), [0.0] * len(assembly.axes)
    given, slipping = np.zeros(direct.rates), np.zeros(len(assembly.axes))
    drives: dict[int, tuple[float, float]] = {}
    reaction: dict[int, float] = {}
    places, speeds = start.coordinate[moving].tolist(), start.rate[moving].tolist()
    before = speeds
    laws: list[tuple[float, ...]] = []
    columns = actuation.columns
    report = max(1, steps // 200)

    for n in range(steps):
        for axis, k, _ in inner:
            where[axis], rate[axis] = places[k], 1.5 * speeds[k] - 0.5 * before[k]
        if outer.bodies:
            outer.measure(where, rate)
        if actuator.stepper is not None:
            begin = list(rate)  # what is held to a speed counts from the speeds at the start of the step
            for axis, k, _ in inner:
                begin[axis] = speeds[k]
            actuator.decide((n + 0.5) * h, where, begin, lines=outer.straight(), reaction=reaction, step=h)
        actuator.evaluate((n + 0.5) * h, where, rate, h)
        if actuator.held != drives:
            for axis, m in driving.items():
                direct.target[m], direct.limit[m] = actuator.held.get(axis, (0.0, 0.0))
            drives = dict(actuator.held)
        for axis, _, r in inner:
            given[r] = motor[axis] + spring[axis] + stop[axis] + damping[axis]
        if outer.bodies:
            outer.apply(n, log, actuator)
        if touched is not None:
            touched.act(n, direct, log, (coordinates[n], turns, rates[n]))
        loads = direct.loads(coordinates[n], turns, rates[n], rates[max(0, n - 1)], given).tolist()
        if gripped is not None and n == 0:
            # Friction that goes with the load has no step before the first: that one is tried until it agrees.
            for _ in range(TRIES):
                gripped.update(direct, coordinates[0], turns, (rates[0], rates[0], direct.expected), slipping)
                loads = direct.loads(coordinates[0], turns, rates[0], rates[0], given).tolist()
        if moving:
            turning = loads if simple else [loads[i] for i in firsts]
            p.setJointMotorControlArray(prop, moving, p.TORQUE_CONTROL, forces=turning, physicsClientId=c)
        for ball in balls:
            ball.push(loads[first[ball.link] :][:3])

        p.stepSimulation(physicsClientId=c)

        before = speeds
        state = p.getJointStates(prop, moving, physicsClientId=c) if moving else ()
        places, speeds = [s[0] for s in state], [s[1] for s in state]
        if simple:
            coordinates[n + 1], rates[n + 1] = places, speeds
        else:
            coordinates[n + 1, moving], rates[n + 1, firsts] = places, speeds
        old = turns.copy() if gripped is not None else turns
        for k, ball in enumerate(balls):
            turns[k], rates[n + 1, first[ball.link] :][:3] = ball.read()
            log.balls[ball.link][n + 1] = turns[k]
        if gripped is not None:
            for axis, r in rubbing:
                slipping[axis] = rates[n + 1, r]
            gripped.update(
                direct, coordinates[n], old, (rates[max(0, n - 1)], rates[n], rates[n + 1]), slipping
            )
        if acted:
            laws.append((*motor, *spring, *stop, *damping))
        if holds:
            held[n] = direct.held
            if drives:
                reaction = {axis: float(direct.held[driving[axis]]) for axis in drives}
        if columns:
            log.current[n], log.voltage[n] = actuator.current, actuator.voltage
        if n % _CHECK == 0 or n == steps - 1:
            check_rates(assembly, actuation, moving_links, speeds, time=(n + 1) * h, step=h)
        if progress is not None and (n + 1) % report == 0:
            progress(n + 1)
    log.coordinate[:] = coordinates
    if acted:
        log.laws[:] = np.array(laws).reshape(log.laws.shape)
    for m, (axis, is_drive, _) in enumerate(holds):
        (log.drive if is_drive else log.friction)[:, axis] += held[:, m]
    return log


def _acted(actuation: Actuation) -> set[int]:
    """Axes whose coordinate or rate some law needs."""
    axes = {m.axis for m in actuation.motors} | {a for a, _ in actuation.torsion}
    axes |= {a for a, _ in actuation.stops}
    return axes | {a for a, c in enumerate(actuation.viscous) if c > 0.0}


def _holds(world: World, first: Sequence[int]) -> list[tuple[int, bool, Hold]]:
    """Rows of friction and of drives: the axis, whether it is a drive, and the row."""
    assembly, actuation = world.assembly, world.actuation
    driven = {m.axis for m in actuation.motors if m.holds_speed}
    found = []
    for axis in range(len(assembly.axes)):
        rubs = actuation.friction[axis] > 0.0 or axis in actuation.rubbing
        if not rubs and axis not in driven:
            continue
        moves = beside(assembly, axis, world.of_axis) if axis not in driven else axis
        rate = first[world.of_axis[moves]] if moves in world.of_axis else -1
        data = assembly.axes[axis] if rate >= 0 else closing_turn(assembly, axis)
        joint = assembly.joints[data.joint]
        ends = world.of_body.get(joint.first, -1), world.of_body.get(joint.second, -1)
        hold = Hold(rate, *ends, data.way)
        found += [(axis, drives, hold) for drives, there in ((True, axis in driven), (False, rubs)) if there]
    return found


class _Ball:
    """Reads and pushes one ball joint, which PyBullet counts in the principal axes of its link."""

    def __init__(self, world: World, link: int, log: Log):
        self.world, self.link = world, link
        self._out = _quat(world.inertials[link].axes)
        self._in = back(self._out)
        log.balls[link][0] = world.start.balls[link]

    def read(self) -> tuple[Quat, Vec]:
        """Rotation and rate in the link's own axes."""
        w = self.world
        inside, rate = w.p.getJointStateMultiDof(w.prop, self.link, physicsClientId=w.client)[:2]
        return compose(compose(self._out, inside), self._in), turn(self._out, rate)

    def push(self, moment: Sequence[float]) -> None:
        """Put a moment in the link's own axes on it."""
        w = self.world
        x, y, z = moment
        inside = turn(self._in, (x, y, z))
        w.p.setJointMotorControlMultiDof(
            w.prop, self.link, w.p.TORQUE_CONTROL, force=inside, physicsClientId=w.client
        )


class _Outer:
    """What acts between bodies rather than on joints of the chain: springs between points, closing joints."""

    def __init__(self, world: World, acted: set[int]):
        assembly, actuation = world.assembly, world.actuation
        self.world, self.actuation = world, actuation
        closing = [a for a in range(len(assembly.axes)) if a not in world.of_axis]
        self.turns = [TurnProbe(assembly, a, world.step) for a in closing if a in acted]
        self.lines = [LineProbe(assembly, line, world.step) for line in actuation.lines]
        ends = {b for t in self.turns for b in (t.first, t.second)}
        ends |= {b for line in self.lines for b in (line.first, line.second)}
        self.bodies = sorted(b for b in ends if b in world.of_body)
        self._links = [world.of_body[b] for b in self.bodies]
        self._axes = [back(_quat(world.inertials[i].axes)) for i in self._links]
        still = (0.0, 0.0, 0.0, 1.0)
        self.frames: dict[int, Any] = {b: (tuple(assembly.bodies[b].com.tolist()), still) for b in ends}
        self.direct: Any = None
        self.pushes = [
            world.of_body[b] for line in self.lines for b in (line.first, line.second) if b in world.of_body
        ]
        self.twists = [
            world.of_body[b] for t in self.turns for b in (t.first, t.second) if b in world.of_body
        ]
        self._measured: list[Any] = []
        self._directions: list[Any] = []

    def measure(self, where: list[float], rate: list[float]) -> None:
        """Read the bodies; put angles and rates of closing joints in their places."""
        w = self.world
        states = w.p.getLinkStates(w.prop, self._links, computeForwardKinematics=1, physicsClientId=w.client)
        for body, axes, state in zip(self.bodies, self._axes, states, strict=True):
            self.frames[body] = state[0], compose(state[1], axes)
        frames: Frames = self.frames
        self._measured = [probe.measure(frames) for probe in self.lines]
        self._directions = []
        for probe in self.turns:
            where[probe.axis], rate[probe.axis], direction = probe.measure(frames)
            self._directions.append(direction)

    def straight(self) -> dict[int, tuple[float, float]]:
        """Length and its rate of each straight drive, by its line."""
        lines = self.actuation.lines
        return {k: (m[3], m[4]) for k, m in enumerate(self._measured) if isinstance(lines[k].law, Mounted)}

    def apply(self, n: int, log: Log, actuator: Actuator) -> None:
        """Hand the forces to the solver and record the springs."""
        of_body, push, twist, m = self.world.of_body, self.direct.push, self.direct.twist, 0
        for k, (one, two, (x, y, z), length, rate) in enumerate(self._measured):
            fed = isinstance(self.actuation.lines[k].law, Mounted)
            pull = actuator.pull(k) if fed else line_tension(self.actuation, k, length, rate, self.world.step)
            log.line_force[n, k], log.line_start[n, k], log.line_end[n, k] = pull, one, two
            if self.lines[k].first in of_body:
                push[m] = (*one, pull * x, pull * y, pull * z)
                m += 1
            if self.lines[k].second in of_body:
                push[m] = (*two, -pull * x, -pull * y, -pull * z)
                m += 1
        m = 0
        for probe, (x, y, z) in zip(self.turns, self._directions, strict=True):
            a = probe.axis
            total = actuator.motor[a] + actuator.spring[a] + actuator.stop[a] + actuator.damping[a]
            for body, sign in ((probe.first, -total), (probe.second, total)):
                if body in of_body:
                    twist[m] = (sign * x, sign * y, sign * z)
                    m += 1


def _quat(values: Array) -> Quat:
    x, y, z, w = (float(v) for v in values)
    return x, y, z, w
