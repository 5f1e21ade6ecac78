"""Props stepped by MuJoCo; the only file that imports it.

Classical fourth-order Runge-Kutta in joint coordinates. The tree's joints are exact. Loops are closed by
constraints of the engine that are made practically rigid: it softens a constraint by (1 - d)/d, with d at
most 0.9999, times the inverse inertia it sees; that inverse inertia is scaled down here by `RIGID`. The
constraint includes the centripetal terms, so its time constant has to take up only the error of the
integrator itself; the short one often advised (two steps) makes the recorded accelerations wrong by parts
in a thousand at any step. Measured on a four-bar at 50 rad/s and 1 ms: pin forces to 1e-5, angle to 7e-6 deg,
and both fall with the fourth power of the step.

A row is recorded at the start of its step, when accelerations, constraint forces and sensors belong together.
"""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.actuator import Actuator, line_tension
from simprop.engine.acting.catches import Catches
from simprop.engine.contact.gripping import TRIES
from simprop.engine.mujoco.blown import Blown
from simprop.engine.mujoco.corded import Corded
from simprop.engine.mujoco.deciding import Deciding, Terminal, decides
from simprop.engine.mujoco.model_laws import within
from simprop.engine.mujoco.model_text import plan
from simprop.engine.mujoco.sensed import Sensed, switched_on, trajectory
from simprop.engine.mujoco.touch import Gripped, Touched, constraint_rows
from simprop.engine.trouble import Looked, check
from simprop.engine.world import Progress, Trajectory
from simprop.errors import EngineError, EngineMissingError, signal_behind
from simprop.geometry.arrays import Array
from simprop.laws.dc import DcLine
from simprop.laws.forms import PlainLoad

RIGID = 1e-6
"""Scale of the inverse inertias that set the softness of closures and of sticking friction."""
_WEAK = 1e6
"""The same for limits that stand for springs, the other way: their force is then the law's alone."""
OLDEST = (3, 7)
"""First mujoco whose constraints know centripetal terms: older ones let fast loops come apart."""
_SLIGHT = 1e-3
"""Share of an axis's inverse inertia that its couplings see at least."""
_LOOK = 200
_one_at_a_time = threading.RLock()


def _mujoco() -> Any:
    try:
        import mujoco
    except ImportError as error:
        if (stopped := signal_behind(error)) is not None:
            raise stopped from None
        message = f"the mujoco engine isn't installed here ({error}); pip install mujoco"
        raise EngineMissingError(message) from None
    if tuple(int(part) for part in mujoco.__version__.split(".")[:2]) < OLDEST:
        oldest = ".".join(map(str, OLDEST))
        raise EngineMissingError(f"mujoco {mujoco.__version__} is too old; {oldest} or newer is needed")
    return mujoco


def _quiet(_: str) -> None:
    """Keeps the engine from writing warnings into a file of the current folder; `check` tells."""


class MujocoEngine:
    """Steps a prop with MuJoCo.

    Example:
        >>> MujocoEngine().name
        'mujoco'
    """

    @property
    def name(self) -> str:
        """Short name, as given to `--engine`."""
        return "mujoco"

    @property
    def gives(self) -> bool:
        """It is left to an implicit engine: a bending member would ask for steps a hundred times shorter."""
        return False

    @property
    def implicit(self) -> bool:
        """Its steps follow stiff springs and contacts."""
        return False

    def run(
        self,
        assembly: Assembly,
        actuation: Actuation,
        step: float,
        steps: int,
        progress: Progress | None = None,
    ) -> Trajectory:
        """Step the prop from its start pose; row i belongs to the instant i * step.

        Args:
            assembly: what moves.
            actuation: every law that acts on it.
            step: physics step, s.
            steps: how many.
            progress: called now and then with the number of steps done.

        Returns:
            One row a step.

        Raises:
            EngineMissingError: when mujoco isn't installed.
            EngineError: when the motion runs away, a loop comes apart or a joint goes far past its stop.
        """
        return _Run(_mujoco(), assembly, actuation, step).go(steps, progress)


class _Run:
    """One run: the compiled model, its state and what feeds it."""

    def __init__(self, mujoco: Any, assembly: Assembly, actuation: Actuation, step: float):
        self.mj, self.assembly, self.actuation, self.step = mujoco, assembly, actuation, step
        self.plan = plan(assembly, actuation, step)
        try:
            self.model = mujoco.MjModel.from_xml_string(self.plan.text)
        except ValueError as error:
            raise EngineError(f"mujoco can't build the prop: {error}") from None
        self._tune()
        self.data = mujoco.MjData(self.model)
        self._set_speeds()
        joints = [self.model.joint(f"q{k}").id for k in range(len(assembly.axes))]
        self.places, self.rates = self.model.jnt_qposadr[joints], self.model.jnt_dofadr[joints]
        self.deciding = (
            Deciding(mujoco, self.model, self.data, self.plan, actuation) if decides(actuation) else None
        )
        self.staged = Actuator(self.plan.fed) if any(f.row != "line" for f in self.plan.feeds) else None
        self.feeds = [(f, self.model.actuator(f.actuator).id) for f in self.plan.feeds]
        self.touched = (
            Touched(mujoco, self.model, self.data, assembly, actuation, step) if actuation.touches else None
        )
        self.catches = Catches(actuation.stops)
        self.caught = [self.model.tendon(f"stop{k}").id for k in range(len(actuation.stops))]
        self.corded = Corded(self.model, self.data, assembly, actuation) if actuation.cords else None
        blows = bool(actuation.outside.rows)
        self.blown = Blown(self.model, self.data, assembly, actuation, step) if blows else None
        self.gripped = (
            Gripped(mujoco, self.model, self.data, assembly, actuation)
            if actuation.rubbing or actuation.slips
            else None
        )

    def _tune(self) -> None:
        """What the text can't say: rigid closures and brakes, limits that follow their law."""
        model = self.model
        model.body_invweight0[:] *= RIGID
        model.dof_invweight0[:] *= RIGID
        model.tendon_invweight0[:] = np.maximum(model.tendon_invweight0, 1e-12)
        for coupling in self.assembly.couplings:
            # a tie is softened by the inverse inertias of its two axes, whatever the ratio: a rod of next to no inertia
            # that moves its nut by parts of a millimetre would make it soft
            first = int(model.joint(f"q{coupling.axes[0]}").dofadr[0])
            model.dof_invweight0[first] *= min(1.0, max(_SLIGHT, coupling.ratio**2))
        for name in [name for _, name in self.plan.holds] + [
            f"slip{k}" for k in range(len(self.actuation.slips))
        ]:
            model.tendon_invweight0[model.tendon(name).id] *= RIGID
        for limit in self.plan.limits:
            # force = d / ((1 - d) * invweight) * (stiffness' * depth + damping' * speed) with d = 1e-4
            k = model.tendon(limit.tendon).id
            model.tendon_invweight0[k] *= _WEAK
            scale = model.tendon_invweight0[k] * (1.0 - model.tendon_solimp_lim[k, 0])
            model.tendon_solref_lim[k] = [-limit.stiffness * scale, -max(limit.damping, 1e-12) * scale]
        island = getattr(self.mj.mjtDisableBit, "mjDSBL_ISLAND", 0)
        model.opt.disableflags |= int(island)

    def _set_speeds(self) -> None:
        """Start rates of all joints from the speeds of the bodies."""
        assembly, model, rate = self.assembly, self.model, self.data.qvel
        if not (np.any(assembly.velocity) or np.any(assembly.spin)):
            return

        def at(body: int, point: Array) -> Array:
            arm = point - assembly.bodies[body].com
            return np.asarray(assembly.velocity[body] + np.cross(assembly.spin[body], arm))

        for k, axis in enumerate(assembly.axes):
            joint = assembly.joints[axis.joint]
            if axis.motion == "turn":
                relative = assembly.spin[joint.second] - assembly.spin[joint.first]
            else:
                relative = at(joint.second, joint.point) - at(joint.first, joint.point)
            rate[model.joint(f"q{k}").dofadr[0]] = relative @ axis.way
        for branch in assembly.tree:
            if branch.joint is None:
                start = model.joint(f"free{branch.body}").dofadr[0]
                rate[start : start + 3] = assembly.velocity[branch.body]
                rate[start + 3 : start + 6] = assembly.spin[branch.body]
            elif any(f.how == "ball" for f in assembly.joints[branch.joint].freedoms):
                start = model.joint(f"ball{branch.joint}").dofadr[0]
                parent = np.zeros(3) if branch.parent < 0 else assembly.spin[branch.parent]
                rate[start : start + 3] = assembly.spin[branch.body] - parent
        for closure in assembly.closures:  # the half of a body that is cut turns as the whole does
            joint = assembly.joints[closure.joint]
            if {f.how for f in joint.freedoms} > {"ball"}:
                first_is_cut = assembly.bodies[joint.second].fixed
                start = model.joint(f"ball{closure.joint}").dofadr[0]
                apart = assembly.spin[joint.second] - assembly.spin[joint.first]
                rate[start : start + 3] = -apart if first_is_cut else apart
        for spin, rotor in self.plan.rotors:
            own = rate[model.joint(f"q{rotor.axis}").dofadr[0]]
            rate[model.joint(spin).dofadr[0]] = rotor.ratio * own

    def go(self, steps: int, progress: Progress | None) -> Trajectory:
        """Step and record."""
        mujoco = self.mj
        calls_back = bool(self.plan.feeds or self.touched or self.corded or self.blown)
        # The engine has one set of callbacks for the whole process: one run at a time, and they are put back.
        with _one_at_a_time:
            control, warning = mujoco.get_mjcb_control(), mujoco.get_mju_user_warning()
            mujoco.set_mjcb_control(self._control() if calls_back else None)
            mujoco.set_mju_user_warning(_quiet)
            try:
                return self._go(steps, progress)
            finally:
                mujoco.set_mjcb_control(control)
                mujoco.set_mju_user_warning(warning)

    def _go(self, steps: int, progress: Progress | None) -> Trajectory:
        data, places = self.data, len(self.actuation.touches)
        self.mj.mj_forward(self.model, data)
        rows, brakes = np.empty((steps, len(data.sensordata))), np.empty((steps, int(data.nf)))
        touch = np.zeros((2, steps, places, 3))
        on, changes = self._switches(steps)
        laws = (self.deciding, self.gripped, self.touched, self.corded, self.blown)
        plain = all(law is None for law in laws) and not self.catches.moving
        cuts = sorted({*range(0, steps, _LOOK), *changes, steps})
        for begin, end in itertools.pairwise(cuts):
            if begin in changes:
                self._switch(on[begin])
            if plain:
                self._plainly(rows, brakes, begin, end)
            else:
                self._with_laws(rows, brakes, touch, begin, end)
            self._look(rows, begin, end)
            if progress is not None:
                progress(end)
        decided = self.deciding
        electric = (
            np.full((steps, 2, self.actuation.columns), np.nan) if decided is None else decided.electric()
        )
        extra = None if decided is None else decided.extra
        raw = Sensed(rows, brakes, on, electric, extra, *self._brake_rows())
        track = trajectory(self.assembly, self.actuation, self.plan, self.step, raw)
        track = track if self.blown is None else self.blown.log.into(track)
        return replace(track, touch_force=touch[0], touch_point=touch[1]) if places else track

    def _plainly(self, rows: Array, brakes: Array, begin: int, end: int) -> None:
        """Steps between which nothing has to be decided."""
        model, data, sensed = self.model, self.data, self.data.sensordata
        forward, runge_kutta = self.mj.mj_forward, self.mj.mj_RungeKutta
        held = brakes.shape[1]
        friction = slice(int(data.ne), int(data.ne) + held)
        for n in range(begin, end):
            forward(model, data)
            rows[n] = sensed
            if held:
                brakes[n] = data.efc_force[friction]
            runge_kutta(model, data, 4)

    def _with_laws(self, rows: Array, brakes: Array, touch: Array, begin: int, end: int) -> None:
        """Steps with what is decided once a step, and with what touches and rubs by its load."""
        model, data, sensed = self.model, self.data, self.data.sensordata
        forward, runge_kutta = self.mj.mj_forward, self.mj.mj_RungeKutta
        deciding, touched, gripped = self.deciding, self.touched, self.gripped
        acts = [act for act in (touched, self.corded, self.blown) if act is not None]
        held, driven = brakes.shape[1], [axis for axis, _ in self.plan.holds]
        friction = slice(int(data.ne), int(data.ne) + held)
        for n in range(begin, end):
            self._catch()
            if deciding is not None:
                deciding(n, len(rows))
            if gripped is not None and n == 0:
                # Friction that goes with the load has no step before the first: that one is tried until it agrees.
                gripped.brake()
                for _ in range(TRIES):
                    forward(model, data)
                    gripped.look()
                    gripped.brake()
            for acting in acts:
                acting.commit = True
            forward(model, data)
            if touched is not None:
                touch[0, n], touch[1, n] = touched.force, touched.point
            rows[n] = sensed
            if held:
                brakes[n] = data.efc_force[friction]
                if driven and deciding is not None:
                    deciding.reaction = dict(zip(driven, brakes[n, -len(driven) :].tolist(), strict=True))
            if gripped is not None:
                gripped.look()
            runge_kutta(model, data, 4)
            if gripped is not None:
                gripped.brake()

    def _catch(self) -> None:
        """Let ratchets and one-way clutches go along."""
        if not self.catches.moving:
            return
        for k in self.catches.follow(self.data.qpos[self.places].tolist()):
            law = self.catches.laws[k]
            self.model.tendon_range[self.caught[k]] = within(law)

    def _brake_rows(self) -> tuple[dict[int, int], dict[int, int], list[int]]:
        """Where in the recorded friction forces stand those of each axis, of each drive, and of what may slip."""
        model, start = self.model, int(self.data.ne)
        _, dofs, tendons = constraint_rows(self.mj, self.data)
        axes = {k: dofs[int(r)] - start for k, r in enumerate(self.rates) if int(r) in dofs}
        drives = {axis: tendons[model.tendon(name).id] - start for axis, name in self.plan.holds}
        slips = [tendons[model.tendon(f"slip{k}").id] - start for k in range(len(self.actuation.slips))]
        return axes, drives, slips

    def _switches(self, steps: int) -> tuple[Array, set[int]]:
        """Which motors are on at each step, (steps, M), and the steps at which native ones change."""
        on = switched_on(self.actuation, np.arange(steps, dtype=np.float64) * self.step)
        which = [k for k, _ in self.plan.motors if self.actuation.motors[k].control is None]
        changed = np.flatnonzero(np.any(np.diff(on[:, which], axis=0), axis=1)) + 1
        return on, {0, *changed.tolist()}

    def _switch(self, on: Array) -> None:
        """Switch the native motors: off means no current."""
        for k, name in self.plan.motors:
            motor, actuator = self.actuation.motors[k], self.model.actuator(name).id
            if isinstance(motor.law, PlainLoad):
                self.data.ctrl[actuator] = motor.sense * (motor.law.steady or 0.0) * on[k]
            elif isinstance(motor.law, DcLine) and motor.control is None:
                volts = motor.sense * motor.voltage if on[k] else None
                Terminal(self.model, self.data, actuator, motor.law).put(volts)

    def _control(self) -> Callable[[Any, Any], None]:
        """Called at every stage of a step: feeds laws that aren't native, and what touches."""
        own, laws, staged, feeds, touched = self.data, self.plan.fed, self.staged, self.feeds, self.touched
        corded, blown = self.corded, self.blown
        tendons = [self.model.tendon(name).id for name in self.plan.lines]

        def control(model: Any, data: Any) -> None:
            if data is not own:
                return
            if touched is not None:
                touched.act()
            if corded is not None:
                corded.act(add=touched is not None)
            if blown is not None:
                blown.act(add=touched is not None or corded is not None)
            if staged is not None:
                staged.evaluate(data.time, data.qpos[self.places].tolist(), data.qvel[self.rates].tolist())
            for feed, actuator in feeds:
                if feed.row == "line":
                    k = tendons[feed.index]
                    length, rate = float(data.ten_length[k]), float(data.ten_velocity[k])
                    force = -line_tension(laws, feed.index, length, rate)
                elif staged is not None:
                    force = (staged.motor if feed.row == "motor" else staged.spring)[feed.index]
                data.ctrl[actuator] = force

        return control

    def _look(self, rows: Array, begin: int, end: int) -> None:
        """Stop a run that has gone wrong."""
        gaps = np.abs(self.data.efc_pos[: self.data.ne])
        which = self.data.efc_id[: self.data.ne]
        worst = int(np.argmax(gaps)) if len(gaps) else -1
        joint = self.plan.closures[int(which[worst])] if worst >= 0 else -1
        gap = (joint, float(gaps[worst])) if joint >= 0 else None
        looked = Looked(begin, rows[begin:end], self.plan.moving, gap)
        check(self.assembly, self.actuation, self.step, looked)
