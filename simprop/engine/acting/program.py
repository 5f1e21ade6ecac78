"""The cues of a rig as a program of the controller, and what each drive is told."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

import numpy as np

from simprop.cues.records import SceneSpec
from simprop.cues.sound import read_sound
from simprop.drives.kinds import Motor, Pusher
from simprop.errors import Fault, RigError
from simprop.laws import cues as law
from simprop.laws.cues import Command, Event, Interlock, Program, Scene, Signal, Trigger
from simprop.laws.speech import Envelope, envelope, jaw_angle
from simprop.rig.model import Rig


def program(rig: Rig) -> Program | None:
    """The rig's cues as a program, or None where it has none."""
    if rig.cues is None:
        return None
    locks = [
        Interlock(spec.hold, other, on)
        for spec in rig.cues.interlocks
        for others, on in ((spec.while_on, True), (spec.while_off, False))
        for other in others
    ]
    scenes = tuple(_scene(name, spec) for name, spec in rig.cues.scenes.items())
    return Program(scenes, tuple(locks), rig.cues.stop, rig.run.seed)


def _scene(name: str, spec: SceneSpec) -> Scene:
    if spec.when in ("start", "loop", "random"):
        kind = {"start": "start", "loop": "loop", "random": "random"}[spec.when]
        what = ""
    else:
        kind, what = "times", spec.when
    trigger = Trigger(kind, what, spec.at, spec.rest, spec.every or 0.0, spec.least)  # type: ignore[arg-type]
    return Scene(name, tuple(cue.told() for cue in spec.do), trigger, spec.length or 0.0)


@dataclass(frozen=True)
class Script:
    """What the controller does in a rig's run, worked out once.

    Attributes:
        rig: whose.
        program: of its cues; None without cues.
        events: everything that happens, in order of time.
        commands: what each motor and pusher is told, by its name.
    """

    rig: Rig
    program: Program | None
    events: tuple[Event, ...]
    commands: Mapping[str, Command]

    @property
    def drives(self) -> dict[str, Motor | Pusher]:
        """Motors and pushers of the rig by their names."""
        return {**self.rig.motors, **self.rig.pushers}


def script(rig: Rig) -> Script:
    """The rig's cues expanded over its run.

    Raises:
        RigError: when a jaw's sound can't be read.
    """
    plan = program(rig)
    happenings = () if plan is None else law.expand(plan, rig.run.duration)
    drives: dict[str, Motor | Pusher] = {**rig.motors, **rig.pushers}
    commands = {name: _command(rig, happenings, name, drive) for name, drive in drives.items()}
    return Script(rig, plan, happenings, commands)


def _command(rig: Rig, happenings: tuple[Event, ...], name: str, drive: Motor | Pusher) -> Command:
    """What a drive is told: by cues if any names it, else by its `on` windows, else always on."""
    named = _named(rig, name)
    signal: Signal | None = None
    if named & {"any", "drive"}:
        signal = law.drive_signal(happenings, name, 1.0 if drive.pwm is None else drive.pwm.duty)
    elif drive.on is not None:
        signal = windows_signal(drive.on)
    pose = law.pose_signal(happenings, name) if "servo" in named else None
    if "jaw" in named:
        pose = _jaw(rig, happenings, name, pose)
    return Command(signal, pose)


def _named(rig: Rig, name: str) -> set[str]:
    """Sorts of the cues that name a drive."""
    scenes = rig.cues.scenes.values() if rig.cues is not None else ()
    return {cue.WHO for scene in scenes for cue in scene.do if cue.told().output == name}


def windows_signal(windows: tuple[tuple[float, float], ...]) -> Signal:
    """Windows of full voltage as a signal; they may overlap.

    Example:
        >>> windows_signal(((1.0, 2.0), (1.5, 3.0)))
        Signal(times=(1.0, 3.0), values=(1.0, 0.0), straight=False)
    """
    times: list[float] = []
    values: list[float] = []
    end = -inf
    for begin, stop in sorted(windows):
        if begin > end:
            times += [begin, stop]
            values += [1.0, 0.0]
            end = stop
        elif stop > end:
            times[-1] = end = stop
    return Signal(tuple(times), tuple(values))


def loudness(rig: Rig, name: str) -> Envelope:
    """Envelope of a sound file of the rig.

    Raises:
        RigError: when it can't be read.
    """
    try:
        samples, rate = read_sound(rig.source.read(name), name)
    except OSError as error:
        raise RigError([Fault(f"the sound can't be read: {error}", field="cues", value=name)]) from None
    return envelope(samples, rate)


def _jaw(rig: Rig, happenings: tuple[Event, ...], name: str, base: Signal | None) -> Signal:
    """Pose of a jaw: closed, or as the last `pose` said, plus its opening while a sound plays."""
    rows: list[tuple[float, float]] = []
    for event in happenings:
        if event.action != "sound" or event.output != name:
            continue
        sound = loudness(rig, event.text)
        angle = jaw_angle(sound, event.value)
        times = event.time + sound.time
        rows = [r for r in rows if r[0] < event.time]
        rows += [(event.time - 1e-6, 0.0), *zip(times.tolist(), angle.tolist(), strict=True)]
        rows.append((float(times[-1]) + 0.01, 0.0))
    if not rows:
        return base or Signal((0.0,), (0.0,), True)
    times_ = np.array([r[0] for r in rows])
    values = np.array([r[1] for r in rows])
    if base is not None:
        values = values + np.array([law.read(base, float(t)) for t in times_])
    return Signal(tuple(times_.tolist()), tuple(values.tolist()), True)
