"""The loop of the PyBullet engine: laws in, one step, state out; as little Python a step as possible."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.assembly.types import Array
from simprop.engine.actuation import Actuation
from simprop.engine.actuator import Actuator, line_tension
from simprop.engine.mobility import effective_mass
from simprop.engine.outside import Frames, LineProbe, Quat, TurnProbe, Vec, back, compose, turn
from simprop.engine.result import Log, check_rates, link_poses
from simprop.engine.straight import Fed
from simprop.engine.world import Progress
from simprop.errors import EngineError
from simprop.laws.friction import coulomb
from simprop.laws.synchronous import SynchronousLaw

if TYPE_CHECKING:
    from simprop.engine.bullet import World

_CHECK = 64
"""Steps between looks at the joint speeds."""
_REFRESH = 50
"""Steps between new effective masses for explicit friction (they matter only while it sticks)."""


def step_through(world: World, steps: int, progress: Progress | None) -> Log:
    """Take `steps` steps and record them.

    Args:
        world: as built, not yet stepped.
        steps: how many.
        progress: called now and then with the number done.

    Raises:
        EngineError: when a joint runs away.
    """
    from simprop.engine.bias import as_chain, lag

    p, c, h, prop = world.p, world.client, world.step, world.prop
    assembly, actuation, links, start = world.assembly, world.actuation, world.links, world.start
    friction = [float(f) for f in actuation.friction]
    actuator = Actuator(actuation)
    motor, spring, stop, damping = actuator.motor, actuator.spring, actuator.stop, actuator.damping
    log = Log.empty(assembly, actuation, links, steps)
    moving = [i for i, k in enumerate(links) if k.kind in ("turn", "slide")]
    moving_links = [links[i] for i in moving]
    slot = {i: k for k, i in enumerate(moving)}
    balls = [_Ball(world, i, log) for i in log.balls]

    masses, centres = [m.mass for m in world.inertials], [m.centre for m in world.inertials]
    chain = as_chain(links, masses, centres, [m.tensor() for m in world.inertials])
    firsts = [int(chain.first[i]) for i in moving]
    simple = chain.rates == len(moving)
    coordinates = np.zeros((steps + 1, len(links)))
    rates = np.zeros((steps + 1, chain.rates))
    turns = np.zeros((len(balls), 4))
    coordinates[0] = start.coordinate
    rates[0, firsts] = start.rate[moving]
    for k, ball in enumerate(balls):
        turns[k] = start.balls[ball.link]
        rates[0, chain.first[ball.link] :][:3] = start.ball_rates[ball.link]

    acted = _acted(actuation)
    inner = [(a, slot[i]) for a, i in world.of_axis.items() if a in acted]
    speeds = {m.axis for m in actuation.motors if isinstance(m.law, SynchronousLaw)}
    speeds |= {m.axis for m in actuation.steered if m.control.gear is not None}
    held = [(a, slot[i]) for a, i in world.of_axis.items() if friction[a] > 0.0 or a in speeds]
    outer = _Outer(world, acted)
    where, rate = [0.0] * len(assembly.axes), [0.0] * len(assembly.axes)
    drives: dict[int, tuple[float, float]] = {}
    braked, mobile = list(outer.braked), dict[int, float]()
    brake: dict[int, float] = {}
    felt: dict[int, float] = {}
    state: Sequence[Any] = list(zip(start.coordinate[moving], start.rate[moving], strict=True))
    before = [s[1] for s in state]
    report = max(1, steps // 200)

    for n in range(steps):
        for axis, k in inner:
            where[axis], now = state[k][0], state[k][1]
            rate[axis] = 1.5 * now - 0.5 * before[k]
        if outer.bodies:
            outer.measure(where, rate)
        if actuator.stepper is not None:
            actuator.decide((n + 0.5) * h, where, rate, lines=outer.straight(), felt=felt, step=h)
        actuator.evaluate((n + 0.5) * h, where, rate)
        if actuator.drives != drives:
            _switch(world, drives, actuator.drives)
            if actuator.drives.keys() != drives.keys():
                braked = [a for a in actuator.drives if friction[a] > 0.0] + outer.braked
                brake, mobile = {}, {}
            drives = dict(actuator.drives)
        if braked:
            if not mobile or (n % _REFRESH == 0 and _sticks(braked, friction, rate, mobile, h)):
                mobile = _mobility(world, braked, coordinates[n : n + 1], turns)
            brake = {a: coulomb(friction[a], rate[a], h, mobile[a]) for a in braked}
        extra = lag(chain, coordinates[n], turns, rates[n], rates[max(0, n - 1)]).tolist()
        loads = extra if simple else [extra[i] for i in firsts]
        for axis, k in inner:
            loads[k] += motor[axis] + spring[axis] + stop[axis] + damping[axis] + brake.get(axis, 0.0)
        if moving:
            p.setJointMotorControlArray(prop, moving, p.TORQUE_CONTROL, forces=loads, physicsClientId=c)
        for ball in balls:
            ball.push(extra[chain.first[ball.link] :][:3])
        if outer.bodies:
            outer.apply(n, log, actuator, brake)

        p.stepSimulation(physicsClientId=c)

        before = [s[1] for s in state]
        state = p.getJointStates(prop, moving, physicsClientId=c) if moving else ()
        coordinates[n + 1, moving] = [s[0] for s in state]
        if simple:
            rates[n + 1] = [s[1] for s in state]
        else:
            rates[n + 1, firsts] = [s[1] for s in state]
        for k, ball in enumerate(balls):
            turns[k], rates[n + 1, chain.first[ball.link] :][:3] = ball.read()
            log.balls[ball.link][n + 1] = turns[k]
        if acted:
            log.laws[n] = (motor, spring, stop, damping)
        for axis, value in brake.items():
            log.friction[n, axis] = value
        for axis, k in held:
            (log.drive if axis in drives else log.friction)[n, axis] += state[k][3]
            felt[axis] = state[k][3] if axis in drives else 0.0
        if log.current.size:
            log.current[n], log.voltage[n] = actuator.current, actuator.voltage
        if n % _CHECK == 0 or n == steps - 1:
            check_rates(assembly, moving_links, [s[1] for s in state], (n + 1) * h)
        if progress is not None and (n + 1) % report == 0:
            progress(n + 1)
    log.coordinate[:] = coordinates
    return log


def _acted(actuation: Actuation) -> set[int]:
    """Axes whose coordinate or rate some law needs."""
    axes = {m.axis for m in actuation.motors} | {a for a, _ in actuation.torsion}
    axes |= {a for a, _ in actuation.stops}
    return axes | {a for a, c in enumerate(actuation.viscous) if c > 0.0}


def _switch(world: World, old: dict[int, tuple[float, float]], new: dict[int, tuple[float, float]]) -> None:
    """Give the one speed motor of a joint to its drive, or back to its friction."""
    for axis in {*old, *new}:
        if axis not in world.of_axis:
            name = world.assembly.joints[world.assembly.axes[axis].joint].name
            raise EngineError(f"joint {name!r} is driven at a speed but closes a loop; use --engine mujoco")
        if axis in new:
            world.speed_motor(axis, *new[axis])
        else:
            world.speed_motor(axis, 0.0, float(world.actuation.friction[axis]))


def _sticks(
    axes: Sequence[int],
    friction: Sequence[float],
    rate: Sequence[float],
    mobile: dict[int, float],
    step: float,
) -> bool:
    """True if some axis is so slow that its friction depends on its effective mass."""
    return any(abs(rate[a]) * mobile[a] < 10.0 * friction[a] * step for a in axes)


def _mobility(world: World, axes: Sequence[int], coordinate: Array, turns: Array) -> dict[int, float]:
    balls = [i for i, k in enumerate(world.links) if k.kind == "ball"]
    rows = {i: turns[k : k + 1] for k, i in enumerate(balls)}
    position, rotation = link_poses(world.assembly, world.links, coordinate, rows)
    found = effective_mass(world.assembly, world.actuation, position[0], rotation[0], axes)
    return dict(zip(axes, found, strict=True))


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
        self.braked = [a for a in closing if actuation.friction[a] > 0.0]
        self.turns = [TurnProbe(assembly, a, world.step) for a in closing if a in acted or a in self.braked]
        self.lines = [LineProbe(assembly, line, world.step) for line in actuation.lines]
        ends = {b for t in self.turns for b in (t.first, t.second)}
        ends |= {b for line in self.lines for b in (line.first, line.second)}
        self.bodies = sorted(b for b in ends if b in world.of_body)
        self._links = [world.of_body[b] for b in self.bodies]
        self._axes = [back(_quat(world.inertials[i].axes)) for i in self._links]
        still = (0.0, 0.0, 0.0, 1.0)
        self.frames: dict[int, Any] = {b: (tuple(assembly.bodies[b].com.tolist()), still) for b in ends}
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
        return {k: (m[3], m[4]) for k, m in enumerate(self._measured) if isinstance(lines[k].law, Fed)}

    def apply(self, n: int, log: Log, actuator: Actuator, brake: dict[int, float]) -> None:
        """Put the forces on the bodies and record the springs."""
        for k, (one, two, (x, y, z), length, rate) in enumerate(self._measured):
            fed = isinstance(self.actuation.lines[k].law, Fed)
            pull = actuator.pull(k) if fed else line_tension(self.actuation, k, length, rate)
            log.line_force[n, k], log.line_start[n, k], log.line_end[n, k] = pull, one, two
            if pull != 0.0:
                self._push(self.lines[k].first, (pull * x, pull * y, pull * z), one)
                self._push(self.lines[k].second, (-pull * x, -pull * y, -pull * z), two)
        for probe, (x, y, z) in zip(self.turns, self._directions, strict=True):
            a = probe.axis
            total = actuator.motor[a] + actuator.spring[a] + actuator.stop[a] + actuator.damping[a]
            total += brake.get(a, 0.0)
            self._twist(probe.second, (total * x, total * y, total * z))
            self._twist(probe.first, (-total * x, -total * y, -total * z))

    def _push(self, body: int, force: Any, point: Any) -> None:
        w = self.world
        if body in w.of_body:
            link = w.of_body[body]
            w.p.applyExternalForce(w.prop, link, force, point, w.p.WORLD_FRAME, physicsClientId=w.client)

    def _twist(self, body: int, torque: Any) -> None:
        w = self.world
        if body in w.of_body:
            link = w.of_body[body]
            w.p.applyExternalTorque(w.prop, link, torque, w.p.WORLD_FRAME, physicsClientId=w.client)


def _quat(values: Array) -> Quat:
    x, y, z, w = (float(v) for v in values)
    return x, y, z, w
