"""The same run once more with something changed, at the same step by the same engine: what if?"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.drives.kinds import Motor, Pusher
from simprop.engine.acting.actuation import Actuation, actuate, with_others
from simprop.engine.choose import engine as choose_engine
from simprop.recording import Recording
from simprop.run.once import once


def _again(recording: Recording, assembly: Assembly, laws: Actuation) -> Recording:
    laws = with_others(laws, {s.name: s.beside for s in recording.laws.sources if s.name})
    per_frame = round(1.0 / (recording.assembly.rig.run.frames * recording.track.step))
    return once(assembly, choose_engine(recording.engine), laws, per_frame)


def without_limits(recording: Recording) -> Recording:
    """The same run, at the same step, from supplies that give as much current as asked and hold their voltage.

    Args:
        recording: a run.

    Raises:
        EngineMissingError: when its engine isn't installed here.
        EngineError: when the run goes wrong.
    """
    rig = recording.assembly.rig

    def freed(drive: Motor | Pusher) -> Motor | Pusher:
        if drive.supply is None:
            return drive
        return drive.model_copy(update={"supply": drive.supply.model_copy(update={"limit": None})})

    changed = {
        "motors": {name: freed(m) for name, m in rig.motors.items()},
        "pushers": {name: freed(p) for name, p in rig.pushers.items()},
    }
    assembly = replace(recording.assembly, rig=rig.model_copy(update=changed))
    return _again(recording, assembly, actuate(assembly))


def with_stops(recording: Recording, share: float) -> Recording:
    """The same run with stops of a share of their stiffness, and of as much loss.

    Args:
        recording: a run.
        share: such as 0.5 or 2.

    Raises:
        EngineMissingError: when its engine isn't installed here.
        EngineError: when the run goes wrong.
    """
    stops = tuple(
        (axis, replace(law, stiffness=law.stiffness * share, damping=law.damping * sqrt(share)))
        for axis, law in recording.laws.stops
    )
    return _again(recording, recording.assembly, replace(recording.laws, stops=stops))


def as_rigid(recording: Recording) -> Recording:
    """The same run with nothing that bends or gives.

    Args:
        recording: a run of a prop in which something does.

    Raises:
        EngineMissingError: when its engine isn't installed here.
        EngineError: when the run goes wrong.
    """
    rig = recording.assembly.rig
    rigid = {"bends": False}
    changed = {
        "bodies": {
            name: body.model_copy(
                update={**rigid, "parts": tuple(p.model_copy(update=rigid) for p in body.parts)}
            )
            for name, body in rig.bodies.items()
        },
        "joints": {name: joint.model_copy(update={"give": False}) for name, joint in rig.joints.items()},
        "run": rig.run.model_copy(update={"bend": False}),
    }
    assembly = assemble(rig.model_copy(update=changed))
    return _again(recording, assembly, actuate(assembly))
