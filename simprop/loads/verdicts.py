"""What the motion of a run didn't do, though it was driven: joints that stay on a stop, lock, or fall short."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from simprop.engine.acting.actuation import MotorData
from simprop.engine.world import APPLIED
from simprop.laws.forms import PlainLoad
from simprop.laws.stops import StopLaw
from simprop.loads.joints import JointLoads
from simprop.quantities import show

NEAR = {"turn": 0.02, "slide": 1e-3}
"""What is nearer to a stop than this rests on it, rad and m (assumed)."""
STILL = {"turn": 0.02, "slide": 1e-3}
"""What is slower than this stands still, rad/s and m/s (assumed)."""
WAITS = 0.25
"""A motor that is on and doesn't move its joint for so long has locked, s (assumed)."""
FULL = 0.9
"""A drive that gives so much of what it can at standstill gives all (assumed)."""
SLIDES, SLID = 5e-3, 2e-3
"""Surfaces that go faster than this on each other slip, m/s; told from so much in a run on, m (assumed)."""
LEAVES = 1e-3
"""A follower that is off its cam for less than this in a run hasn't left it, s (assumed)."""
SHORT = 0.95
"""A joint that goes less than this share of the way between its stops falls short (assumed)."""


def verdicts(loads: JointLoads) -> tuple[str, ...]:
    """What a person should know of the motion, one sentence each; none where all that is driven moves as far as it can.

    Args:
        loads: of a run.
    """
    return (*_rests(loads), *_locks(loads), *_runs_out(loads), *_jumps(loads), *_loses(loads), *_slips(loads))


def _loses(loads: JointLoads) -> Iterator[str]:
    """Steppers that lose steps."""
    track = loads.recording.track
    for motor in loads.recording.laws.motors:
        if not isinstance(motor.law, PlainLoad):
            continue
        lost = motor.law.behind(track.time, motor.sense * track.coordinate[:, motor.axis])
        if lost is None or not lost.any():
            continue
        first, last = int(np.flatnonzero(lost)[0]), int(lost[-1])
        yield (
            f"Motor {motor.name} loses its place at {track.time[first]:.3f} s and is {abs(last)} steps "
            f"{'behind' if last >= 0 else 'ahead'} at the end: slower, a longer ramp, or a stronger motor"
        )


def _slips(loads: JointLoads) -> Iterator[str]:
    """Belts and friction wheels that slip."""
    track = loads.recording.track
    for coupling in loads.recording.assembly.slips:
        first, second = (track.rate[:, axis] for axis in coupling.axes)
        # m/s of one surface on the other
        went = np.abs(second - coupling.ratio * first) * abs(coupling.works[1])
        slow = np.flatnonzero(went > SLIDES)
        lost = float(went[slow].sum()) * track.step
        if not len(slow) or lost < SLID:
            continue
        yield (
            f"Coupling {coupling.name} slips from {track.time[slow[0]]:.3f} s on, by {show(lost, 'length')} in all: "
            "press or tighten it more, or ask less of it"
        )


def _jumps(loads: JointLoads) -> Iterator[str]:
    """Followers that leave their cam."""
    track = loads.recording.track
    for k, touch in enumerate(loads.recording.laws.touches):
        if not touch.cam:
            continue
        rests = np.any(track.touch_force[:, k] != 0.0, axis=1)
        first = int(rests.argmax())  # it may begin off its cam
        off = np.flatnonzero(~rests[first:]) + first
        if not len(off) or not rests.any():
            continue
        lost = float(len(off)) * track.step
        if lost < LEAVES:
            continue
        again = np.flatnonzero(rests[off[0] :])
        back = float(np.linalg.norm(track.touch_force[off[0] :, k], axis=1).max()) if len(again) else 0.0
        falls = f", and comes back with up to {show(back, 'force')}" if len(again) else ""
        yield (
            f"Contact {touch.name}: the follower leaves its cam at {track.time[off[0]]:.3f} s, for "
            f"{show(lost, 'time')} of the run in all{falls}: run it slower, or press it on harder"
        )


def _runs_out(loads: JointLoads) -> Iterator[str]:
    """Slides that go further than they have room for, where no stop ends them."""
    recording = loads.recording
    stopped = {axis for axis, _ in recording.laws.stops}
    for joint in recording.assembly.joints:
        slides = [f.axis for f in joint.freedoms if f.how == "slide" and f.axis >= 0]
        if joint.kind.room is None or not slides or slides[0] in stopped:
            continue
        at = recording.track.coordinate[:, slides[0]]
        for past in (joint.kind.room[0] - at, at - joint.kind.room[1]):
            row = int(past.argmax())
            if past[row] > NEAR["slide"]:
                yield (
                    f"Joint {joint.name} runs {show(float(past[row]), 'length')} past the end of its slot at "
                    f"{recording.track.time[row]:.3f} s: it strikes the end before that; make the slot longer, or say "
                    "what its ends are made of"
                )


def _rests(loads: JointLoads) -> Iterator[str]:
    """Driven joints that stay on a stop that their motor pushes away from, or don't go from one to the other."""
    recording = loads.recording
    laws, track = recording.laws, recording.track
    driven = {m.axis: m for m in laws.motors}
    bounds: dict[int, StopLaw] = {}
    for axis, law in laws.stops:
        if law.pitch is not None:
            continue  # it goes along
        old = bounds.get(axis, StopLaw(None, None, law.stiffness, law.damping))
        below = law.below if old.below is None else old.below
        above = law.above if old.above is None else old.above
        bounds[axis] = StopLaw(below, above, law.stiffness, law.damping)
    for axis, law in bounds.items():
        if axis not in driven:
            continue
        data, at = recording.assembly.axes[axis], track.coordinate[:, axis]
        late = at[len(at) // 2 :]
        push = track.applied[len(at) // 2 :, APPLIED.index("motor"), axis].mean()
        name, near = recording.assembly.joints[data.joint].name, NEAR[data.motion]
        for bound, side, word in ((law.below, 1.0, "lower"), (law.above, -1.0, "upper")):
            if bound is None or side * push <= 0.0:
                continue
            if max((side * (at - at[0])).max(), (side * (late - bound)).max()) < near:
                place, takes = _place(bound, data.motion), _needs(loads, driven[axis])
                yield f"Joint {name} never leaves its {word} stop at {place}: {takes}"
                break
        else:
            if law.below is not None and law.above is not None:
                whole, gone = law.above - law.below, float(np.ptp(np.clip(at, law.below, law.above)))
                if gone < SHORT * whole:
                    yield (
                        f"Joint {name} goes {_place(gone, data.motion)} of the {_place(whole, data.motion)} between "
                        "its stops"
                    )


def _needs(loads: JointLoads, motor: MotorData) -> str:
    """What it takes to lift a joint off the stop that it rests on, by what stop and motor bear in the second half."""
    track = loads.recording.track
    rest = track.applied[len(track.time) // 2 :, :, motor.axis].mean(axis=0)
    given = float(rest[APPLIED.index("motor")])
    needed = abs(given + float(rest[APPLIED.index("stop")]))
    kind = "torque" if loads.recording.assembly.axes[motor.axis].motion == "turn" else "force"
    return f"that takes {show(needed, kind)} there, and motor {motor.name} gives {show(abs(given), kind)}"


def _locks(loads: JointLoads) -> Iterator[str]:
    """Drives that are on at the end and haven't moved for a while with all that they can give, away from any stop."""
    recording = loads.recording
    track, laws = recording.track, recording.laws
    for k, drive in enumerate(loads.driven):
        slow = np.abs(drive.speed) < STILL["turn" if drive.turns else "slide"]
        pushes = (drive.on > 0) & (drive.load > FULL * (drive.able if drive.able > 0 else np.inf))
        moving = np.flatnonzero(~(pushes & slow & ~drive.held))
        since = int(moving[-1]) + 1 if len(moving) else 0
        if since == len(slow) or track.time[-1] - track.time[since] < WAITS:
            continue
        given = show(float(drive.load[since:].mean()), "torque" if drive.turns else "force")
        if k < len(laws.motors):
            axis = recording.assembly.axes[laws.motors[k].axis]
            place = _place(float(track.coordinate[since, laws.motors[k].axis]), axis.motion)
            what, moved = "Motor", f"joint {recording.assembly.joints[axis.joint].name} doesn't move"
        else:
            place = f"{_place(float(drive.seen.out[since]), 'slide')} out"
            what, moved = "Pusher", "doesn't move"
        yield f"{what} {drive.name} locks at {place}, {track.time[since]:.2f} s: it gives {given} and {moved}"


def _place(value: float, motion: str) -> str:
    return show(value, "angle" if motion == "turn" else "length")
