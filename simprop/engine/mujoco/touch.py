"""What touches and what rubs by its load, for the MuJoCo engine."""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import Actuation
from simprop.engine.acting.actuator import line_tension
from simprop.engine.contact.gripping import Grips
from simprop.engine.contact.meshing import Rubbed
from simprop.engine.mobility import answers
from simprop.engine.mujoco.plan import IDLE
from simprop.geometry.arrays import Array
from simprop.laws.forms import Mounted


class Touched:
    """Puts the forces of touch on the bodies at every stage of a step.

    Attributes:
        commit: to be set before the stage that begins a step; cleared by it.
    """

    def __init__(
        self, mujoco: Any, model: Any, data: Any, assembly: Assembly, actuation: Actuation, step: float
    ):
        from simprop.engine.contact.touching import Touching, of_centres, onto

        touching = Touching(assembly, actuation.touches, step)
        bodies = np.array([branch.body for branch in assembly.tree])
        ids = np.array([model.body(f"b{i}").id for i in bodies])
        moving = dict(zip(bodies.tolist(), ids.tolist(), strict=True))
        ends = [
            (i, body, moving[body], sign)
            for i, t in enumerate(actuation.touches)
            for body, sign in ((t.second, 1), (t.first, -1))
            if body in moving
        ]
        rows = np.array(ends, dtype=np.int64).reshape(-1, 4)
        state = (data.xipos, data.xmat, data.cvel, data.subtree_com)
        which = (bodies, ids, model.body_rootid[ids].astype(np.int64))
        own = (touching.position, touching.turn, touching.velocity, touching.spin)
        self.commit = False
        self.force, self.point = touching.force, touching.point
        self._data, self._began = data, 0.0
        self._touching = touching
        forces = (touching.force, touching.point, touching.position, data.xfrc_applied)
        self._read: Any = partial(of_centres, state, which, own)
        self._apply: Any = partial(onto, rows, *forces)

    def act(self) -> None:
        """Work out and apply the forces at the stage that `data` stands at."""
        time = float(self._data.time)
        self._read()
        self._touching.act_within(time - self._began, self.commit)
        self._apply()
        if self.commit:
            self._began, self.commit = time, False


class Gripped:
    """Sets the limits of friction that goes with the load of a joint or the force of a coupling."""

    def __init__(self, mujoco: Any, model: Any, data: Any, assembly: Assembly, actuation: Actuation):
        from simprop.engine.contact.grip_kernel import of_bodies

        self._model, self._data, self._actuation = model, data, actuation
        self._grips = Grips(assembly, actuation.grips)
        self._rubbed = Rubbed(assembly, actuation.rubs, answers(assembly, actuation))
        counted = not actuation.lines or _counts_lines(mujoco)
        rows, arms, self._lines = [], [], []
        for grip in actuation.grips:
            joint = assembly.joints[grip.joint]
            body = int(model.jnt_bodyid[model.joint(f"q{grip.axis}").id])
            fixed = assembly.bodies[joint.first].fixed
            first = 0 if fixed else int(model.body(f"b{joint.first}").id)
            rows.append((body, first, int(model.body_rootid[body])))
            arms.append(joint.point - (np.zeros(3) if fixed else _origin(model, first)))
            self._lines.append([] if counted else self._hung(assembly, body))
        self._arms, self._firsts = np.array(arms).reshape(-1, 3), [first for _, first, _ in rows]
        axes = actuation.rubbing
        dofs = [int(model.joint(f"q{axis}").dofadr[0]) for axis in axes]
        self._gripping, self._rubbing = dofs[: len(rows)], dofs[len(rows) :]
        least = dict(zip(dofs, actuation.friction[axes].tolist(), strict=True))
        self._dofs, self._least = list(least), np.array(list(least.values()))
        self._share = (np.array(dofs)[None] == np.array(self._dofs)[:, None]).astype(float)
        ties = [model.equality(f"tie{rub.coupling}").id for rub in actuation.rubs]
        self._ties, self._mujoco = ties, mujoco
        self._rows: tuple[list[int], list[int]] | None = None
        self._slips = [(model.tendon(f"slip{k}").id, slip) for k, slip in enumerate(actuation.slips)]
        state = (data.cfrc_int, data.xpos, data.xmat, data.subtree_com)
        self._read: Any = partial(
            of_bodies,
            np.array(rows, dtype=np.int64).reshape(-1, 3),
            self._arms,
            state,
            self._grips.wrench,
            self._grips.turn,
        )

    def _hung(self, assembly: Assembly, body: int) -> list[tuple[int, int, float]]:
        """Ends of lines on what hangs on a body: (line, end, sign of its pull along the line)."""
        found = []
        for k, line in enumerate(self._actuation.lines):
            for end, at, sign in ((0, line.first, 1.0), (1, line.second, -1.0)):
                node = 0 if assembly.bodies[at].fixed else int(self._model.body(f"b{at}").id)
                while node not in (0, body):
                    node = int(self._model.body_parentid[node])
                if node == body:
                    found.append((k, end, sign))
        return found

    def look(self) -> None:
        """Take the wrenches of the step that begins."""
        grips = self._grips
        self._read()
        for k, lines in enumerate(self._lines):
            if lines:
                point = self._data.xpos[self._firsts[k]] + grips.turn[k] @ self._arms[k]
            for line, end, sign in lines:
                pull, place = self._pull(line, end)
                grips.wrench[k, :3] -= sign * pull
                grips.wrench[k, 3:] -= sign * np.cross(place - point, pull)
        grips.rate[:] = self._data.qvel[self._gripping]
        grips.update()
        if self._ties:
            self._meshes()

    def _meshes(self) -> None:
        """Take the forces of couplings."""
        data = self._data
        if self._rows is None:  # they stay where they are
            ties, dofs, _ = constraint_rows(self._mujoco, data)
            self._rows = [ties[k] for k in self._ties], [dofs[k] for k in self._rubbing]
        second, held = (data.efc_force[rows].tolist() for rows in self._rows)
        self._rubbed.update(second, data.qvel[self._rubbing].tolist(), held)

    def _pull(self, line: int, end: int) -> tuple[Array, Array]:
        """Pull of a line towards its second end, and the place of one end."""
        data, model = self._data, self._model
        ends = [data.site_xpos[model.site(f"end{line}.{i}").id] for i in (0, 1)]
        tendon = model.tendon(f"line{line}").id
        length = float(data.ten_length[tendon])
        if isinstance(self._actuation.lines[line].law, Mounted):
            tension = -float(data.actuator_force[model.actuator(f"line{line}").id])
        else:
            tension = line_tension(self._actuation, line, length, float(data.ten_velocity[tendon]))
        return (ends[1] - ends[0]) * (tension / max(length, 1e-12)), ends[end]

    def brake(self) -> None:
        """Set the limits for the next step."""
        limits = self._share @ np.concatenate([self._grips.limit, self._rubbed.limit])
        self._model.dof_frictionloss[self._dofs] = np.maximum(self._least + limits, IDLE)
        for tendon, slip in self._slips:
            self._model.tendon_frictionloss[tendon] = slip.most(float(self._data.ten_velocity[tendon]))


def constraint_rows(mujoco: Any, data: Any) -> tuple[dict[int, int], dict[int, int], dict[int, int]]:
    """Rows of the engine's constraints that are always there: the first of each equality, and those of dry friction by
    degree of freedom and by tendon.

    Args:
        mujoco: the engine.
        data: after a first look forward.
    """
    ties: dict[int, int] = {}
    dofs: dict[int, int] = {}
    tendons: dict[int, int] = {}
    on_joint = int(mujoco.mjtConstraint.mjCNSTR_FRICTION_DOF)
    for i in range(int(data.ne)):
        ties.setdefault(int(data.efc_id[i]), i)
    for i in range(int(data.ne), int(data.ne) + int(data.nf)):
        (dofs if data.efc_type[i] == on_joint else tendons)[int(data.efc_id[i])] = i
    return ties, dofs, tendons


def _counts_lines(mujoco: Any) -> bool:
    """Whether the engine's joint wrenches count what pulls along lines (4.0 does, 3.7 doesn't): tried on a spring."""
    text = """
    <mujoco><option gravity="0 0 0"/><worldbody><site name="a" pos="2 0 0"/>
    <body name="b"><inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/><joint type="slide" axis="0 1 0"/>
    <site name="b"/>
    </body></worldbody>
    <tendon><spatial stiffness="1" springlength="1"><site site="a"/><site site="b"/></spatial></tendon></mujoco>
    """
    model = mujoco.MjModel.from_xml_string(text)
    data = mujoco.MjData(model)
    mujoco.mj_forward(model, data)
    mujoco.mj_rnePostConstraint(model, data)
    return bool(abs(data.cfrc_int[1, 3]) > 0.5)


def _origin(model: Any, body: int) -> Array:
    """Where the frame of a body is at the start; all frames have the axes of the world there."""
    place = np.zeros(3)
    while body > 0:
        place = place + model.body_pos[body]
        body = int(model.body_parentid[body])
    return place
