"""What a validation case is, and how it is run: from a rig file, through the public API, on a named engine."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from pathlib import Path

import numpy as np

from simprop.assembly.assemble import assemble
from simprop.engine.world import APPLIED
from simprop.geometry.arrays import Array
from simprop.loads.joints import JointLoads, joint_loads
from simprop.recording import Recording
from simprop.rig.load import load_rig
from simprop.run.simulate import simulate

ENGINES = ("bullet", "mujoco", "exudyn")


@dataclass(frozen=True)
class Outcome:
    """A run with its loads, and short ways to what cases ask for."""

    recording: Recording

    @cached_property
    def loads(self) -> JointLoads:
        return joint_loads(self.recording)

    @property
    def time(self) -> Array:
        return self.recording.track.time

    def body(self, name: str) -> int:
        return [b.name for b in self.recording.assembly.bodies].index(name)

    def joint(self, name: str) -> int:
        return [j.name for j in self.recording.assembly.joints].index(name)

    def axis(self, joint: str) -> int:
        index = self.joint(joint)
        return next(k for k, a in enumerate(self.recording.assembly.axes) if a.joint == index)

    def at(self, time: float, values: Array) -> Array:
        """Values at one time, by the cubic through the four nearest rows."""
        first = int(np.clip(np.searchsorted(self.time, time) - 2, 0, len(self.time) - 4))
        rows = slice(first, first + 4)
        t, result = self.time[rows], np.zeros(values.shape[1:])
        for i in range(4):
            others = [j for j in range(4) if j != i]
            weight = np.prod([(time - t[j]) / (t[i] - t[j]) for j in others])
            result = result + weight * values[first + i]
        return np.asarray(result)

    def coordinate(self, joint: str) -> Array:
        return self.recording.track.coordinate[:, self.axis(joint)]

    def rate(self, joint: str) -> Array:
        return self.recording.track.rate[:, self.axis(joint)]

    def position(self, body: str) -> Array:
        return self.recording.track.position[:, self.body(body)]

    def force(self, joint: str) -> Array:
        """Force on the joint's second body, (n, 3) N."""
        return self.loads.wrenches.force[:, self.joint(joint)]

    def size(self, joint: str) -> Array:
        return np.linalg.norm(self.force(joint), axis=1)

    def moment(self, joint: str) -> Array:
        return self.loads.wrenches.moment[:, self.joint(joint)]

    def applied(self, row: str, joint: str) -> Array:
        return self.recording.track.applied[:, APPLIED.index(row), self.axis(joint)]

    def until(self, time: float) -> slice:
        return slice(0, int(np.searchsorted(self.time, time, side="right")))


@dataclass(frozen=True)
class Quantity:
    """One number of a case.

    Attributes:
        name: what it is.
        unit: of it.
        reference: what it must be.
        ours: how to get it from a run.
        tolerance: engine -> largest difference, as a share of the reference, or in its unit when `absolute`.
        absolute: what the tolerance counts in.
    """

    name: str
    unit: str
    reference: float
    ours: Callable[[Outcome], float]
    tolerance: Mapping[str, float]
    absolute: bool = False

    def error(self, outcome: Outcome) -> float:
        """How far we are off, as the tolerance counts it."""
        off = abs(self.ours(outcome) - self.reference)
        return off if self.absolute else off / abs(self.reference)


@dataclass(frozen=True)
class Case:
    """A mechanism with a published or closed-form answer.

    Attributes:
        name: short.
        source: where the answer comes from.
        why: what the tolerances rest on.
        text: the rig file.
        step: engine -> physics step, s. An engine that isn't named doesn't run the case; `why` says why not.
        quantities: what is compared.
    """

    name: str
    source: str
    why: str
    text: str
    step: Mapping[str, float]
    quantities: tuple[Quantity, ...] = field(default=())


def relative(
    name: str, unit: str, reference: float, ours: Callable[[Outcome], float], *, bullet: float, mujoco: float
) -> Quantity:
    """A quantity whose tolerances are shares of the reference."""
    return Quantity(name, unit, reference, ours, {"bullet": bullet, "mujoco": mujoco})


def absolute(
    name: str, unit: str, reference: float, ours: Callable[[Outcome], float], *, bullet: float, mujoco: float
) -> Quantity:
    """A quantity whose tolerances are in its own unit."""
    return Quantity(name, unit, reference, ours, {"bullet": bullet, "mujoco": mujoco}, absolute=True)


def run_text(text: str, engine: str, step: float) -> Outcome:
    """Run a rig file's text on an engine with one step, without settling."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "rig.yaml"
        path.write_text(text)
        rig = load_rig(path)
    return Outcome(simulate(assemble(rig), engine, settle=False, step=step).recording)


@lru_cache(maxsize=4)
def _run(text: str, engine: str, step: float) -> Outcome:
    return run_text(text, engine, step)


def run(case: Case, engine: str) -> Outcome:
    """A case on an engine; the last few runs are kept."""
    return _run(case.text, engine, case.step[engine])
