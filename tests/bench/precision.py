"""Error against wall time: the package on its engines, mujoco alone as commonly set up, Pinocchio with scipy."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from math import atan2, pi, radians

import numpy as np

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import actuate
from simprop.engine.choose import engine as choose
from simprop.geometry.arrays import Array
from simprop.laws.forms import Steady
from simprop.rig.load import parse_rig
from tests.rigs import fourbar
from tests.validation.chains import windows
from tests.validation.linkages import slider_crank

SLIDER = slider_crank(
    50,
    200,
    0,
    90,
    parts="""\
  crank: {parts: [{slender: 0.1 kg, from: o, to: a}]}
  rod: {parts: [{slender: 0.1 kg, from: a, to: w}]}
  block: {parts: [{lump: 0.3 kg, at: w}]}""",
    rest="run: {for: 1 s, gravity: 9.81 m/s^2, start_speeds: {o: 20 rad/s}}",
)


@dataclass(frozen=True)
class Problem:
    """A rig, how long it runs, which joint's angle is compared, and what it must be (None: from Pinocchio at 1e-11).

    `skip` names methods that can't run it, with why.
    """

    name: str
    text: str
    duration: float
    joint: str
    angle: float | None
    skip: Mapping[str, str] = field(default_factory=dict)


PROBLEMS = (
    # Whole turns are left out: the reference is a place on the circle.
    Problem(
        "A02, N = 2, 10 s",
        windows(2, "10 s"),
        10.0,
        "G0",
        atan2(0.3284581115408, 0.9445185381786),
        {"Pinocchio + scipy DOP853": "loses the branch where all links are in line"},
    ),
    Problem("four-bar, 0.2 s", fourbar(run="for: 0.2 s"), 0.2, "O2", radians(139.8889888728 - 40)),
    Problem("slider-crank, 1 s", SLIDER, 1.0, "o", None),
)


def _axis(assembly: Assembly, joint: str) -> int:
    index = [j.name for j in assembly.joints].index(joint)
    return next(k for k, a in enumerate(assembly.axes) if a.joint == index)


def _interpolated(at: float, times: Array, values: Array) -> float:
    rows = slice(-4, None)
    t, v = times[rows], values[rows]
    weights = [np.prod([(at - t[j]) / (t[i] - t[j]) for j in range(4) if j != i]) for i in range(4)]
    return float(np.dot(weights, v))


def ours(engine: str) -> Callable[[Problem, Assembly, float], float]:
    """The package on an engine: the angle at the end."""

    def run(problem: Problem, assembly: Assembly, step: float) -> float:
        steps = round(problem.duration / step) + 2
        track = choose(engine).run(assembly, actuate(assembly), step, steps)
        return _interpolated(
            problem.duration, track.time, track.coordinate[:, _axis(assembly, problem.joint)]
        )

    return run


def mujoco_alone(problem: Problem, assembly: Assembly, step: float) -> float:
    """mj_step on the same model, closures as usually advised: stiff impedance, time constant of two steps."""
    import mujoco

    from simprop.engine.mujoco import model_text as mjcf
    from simprop.engine.mujoco.engine import _Run

    made = mjcf.plan(assembly, actuate(assembly), step)
    model = mujoco.MjModel.from_xml_string(made.text)
    model.eq_solref[:, 0] = 2 * step
    data = mujoco.MjData(model)
    run = _Run(mujoco, assembly, actuate(assembly), step)
    data.qvel[:], data.ctrl[:] = (
        run.data.qvel,
        [m.law.steady for m in actuate(assembly).motors if isinstance(m.law, Steady)],
    )
    for _ in range(round(problem.duration / step)):
        mujoco.mj_step(model, data)
    return float(data.qpos[model.joint(f"q{_axis(assembly, problem.joint)}").qposadr[0]])


def pinocchio_scipy(problem: Problem, assembly: Assembly, tolerance: float) -> float:
    """Pinocchio's mass matrix and Jacobians, loops closed by points in the plane, scipy's DOP853."""
    import pinocchio as pin
    from scipy.integrate import solve_ivp

    model = pin.Model()
    model.gravity.linear = np.array(assembly.rig.run.gravity)
    index, origin = {-1: 0}, {-1: np.zeros(3)}

    def grow(parent: int) -> None:
        for branch in assembly.tree:
            if branch.parent != parent or branch.joint is None:
                continue
            joint, body = assembly.joints[branch.joint], assembly.bodies[branch.body]
            axis = joint.axis if branch.forward else -joint.axis
            kind = (
                pin.JointModelRevoluteUnaligned
                if joint.kind.kind == "pin"
                else pin.JointModelPrismaticUnaligned
            )
            place = pin.SE3(np.eye(3), joint.point - origin[parent])
            added = model.addJoint(index[parent], kind(axis), place, body.name)
            inertia = pin.Inertia(body.mass, body.com - joint.point, body.inertia)
            model.appendBodyToJoint(added, inertia, pin.SE3.Identity())
            index[branch.body], origin[branch.body] = added, joint.point
            grow(branch.body)

    grow(-1)
    data, nv = model.createData(), model.nv
    columns = {b.joint: model.joints[index[b.body]].idx_v for b in assembly.tree}
    ends = []
    for closure in assembly.closures:
        joint = assembly.joints[closure.joint]
        nodes = [-1 if assembly.bodies[b].fixed else b for b in (joint.first, joint.second)]
        ends.append([(index[n], pin.SE3(np.eye(3), joint.point - origin[n])) for n in nodes])
    torque, start = np.zeros(nv), np.zeros(nv)
    for k, axis in enumerate(assembly.axes):
        if axis.joint in columns:
            joint = assembly.joints[axis.joint]
            relative = assembly.spin[joint.second] - assembly.spin[joint.first]
            moved = assembly.velocity[joint.second] - assembly.velocity[joint.first]
            start[columns[axis.joint]] = (relative if axis.motion == "turn" else moved) @ joint.axis
            torque[columns[axis.joint]] = sum(
                m.sense * m.law.steady
                for m in actuate(assembly).motors
                if m.axis == k and isinstance(m.law, Steady)
            )

    def rates(_: float, state: Array) -> Array:
        q, v = state[:nv], state[nv:]
        pin.computeAllTerms(model, data, q, v)
        pin.forwardKinematics(model, data, q, v, np.zeros(nv))
        rows, drift = np.zeros((2 * len(ends), nv)), np.zeros(2 * len(ends))
        for i, pair in enumerate(ends):
            for (node, place), sign in zip(pair, (1.0, -1.0), strict=True):
                if node == 0:
                    continue
                turn = data.oMi[node].rotation
                jacobian = place.inverse().toActionMatrix() @ pin.getJointJacobian(
                    model, data, node, pin.LOCAL
                )
                speed, change = place.actInv(data.v[node]), place.actInv(data.a[node])
                rows[2 * i : 2 * i + 2] += sign * (turn @ jacobian[:3])[[0, 2]]
                bent = turn @ (change.linear + np.cross(speed.angular, speed.linear))
                drift[2 * i : 2 * i + 2] += sign * bent[[0, 2]]
        mass = np.triu(data.M) + np.triu(data.M, 1).T
        whole = np.block([[mass, rows.T], [rows, np.zeros((len(rows), len(rows)))]])
        solved = np.linalg.lstsq(whole, np.concatenate([torque - data.nle, -drift]), rcond=1e-12)[0]
        return np.concatenate([v, solved[:nv]])

    found = solve_ivp(
        rates,
        (0.0, problem.duration),
        np.concatenate([np.zeros(nv), start]),
        "DOP853",
        rtol=tolerance,
        atol=tolerance,
    )
    column = columns[[j.name for j in assembly.joints].index(problem.joint)]
    return float(found.y[column, -1])


METHODS: tuple[tuple[str, Callable[[Problem, Assembly, float], float], tuple[float, ...]], ...] = (
    ("simprop on mujoco", ours("mujoco"), (4e-3, 2e-3, 1e-3, 5e-4)),
    ("simprop on bullet", ours("bullet"), (1e-3, 5e-4, 2.5e-4)),
    ("simprop on exudyn", ours("exudyn"), (1e-3, 5e-4, 2.5e-4)),
    ("mujoco alone, advised settings", mujoco_alone, (2e-3, 1e-3, 5e-4, 2.5e-4)),
    ("Pinocchio + scipy DOP853", pinocchio_scipy, (1e-6, 1e-9)),
)


def table() -> Iterator[str]:
    """The work-precision table, a line at a time; loads are not in it."""
    yield "| Problem | Method | Step or tolerance | Wall time | Error of the angle |"
    yield "|---|---|---|---|---|"
    for problem in PROBLEMS:
        assembly = assemble(parse_rig(problem.text))
        truth = problem.angle
        if truth is None:
            truth = pinocchio_scipy(problem, assembly, 1e-11)
        for name, method, settings in METHODS:
            if name in problem.skip:
                yield f"| {problem.name} | {name} | | not run | {problem.skip[name]} |"
                continue
            for setting in settings:
                start = time.perf_counter()
                try:
                    angle = method(problem, assembly, setting)
                except Exception as error:
                    yield f"| {problem.name} | {name} | {setting:g} | failed | {type(error).__name__} |"
                    continue
                wall = time.perf_counter() - start
                error = abs((angle - truth + pi) % (2 * pi) - pi)
                yield f"| {problem.name} | {name} | {setting:g} | {wall * 1e3:.0f} ms | {error:.1e} rad |"
