"""What the controller does and when: cues on a timeline, loops, triggers, interlocks and the stop.

A program is a set of scenes. A scene is a list of cues, timed from the scene's start, and what starts it: the
show, a loop with run and rest, given times (a motion sensor, a button, a message), or random times with a
seed. `expand` turns a program into one list of events in time; `drive_signal` and `pose_signal` read from
it what one output is told at any instant.
"""

from __future__ import annotations

import random
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from simprop.errors import SimpropError

Action = Literal["on", "off", "speed", "forward", "backward", "pose", "sound"]


@dataclass(frozen=True)
class Cue:
    """One thing that one output is told.

    Attributes:
        at: after the start of its scene, s.
        output: name of the motor or other output.
        action: on, off, speed (a share of full, 0 to 1), forward, backward, pose (an angle or length),
            sound (a file).
        value: speed share, or pose in rad or m; 0 where the action needs none.
        over: time a pose takes to get there, s.
        text: file of a sound.
    """

    at: float
    output: str
    action: Action
    value: float = 0.0
    over: float = 0.0
    text: str = ""


@dataclass(frozen=True)
class Trigger:
    """What starts a scene.

    Attributes:
        kind: start (once with the show), loop (again and again), times (given), random.
        what: motion sensor, button, message, ... as the builder calls it.
        times: for ``times``, s.
        rest: pause after each run, s; triggers that come in it are ignored.
        mean_gap: for ``random``, mean pause between triggers, s.
        least_gap: for ``random``, shortest pause, s.
    """

    kind: Literal["start", "loop", "times", "random"] = "start"
    what: str = ""
    times: tuple[float, ...] = ()
    rest: float = 0.0
    mean_gap: float = 0.0
    least_gap: float = 0.0


@dataclass(frozen=True)
class Scene:
    """A list of cues and what starts it.

    Attributes:
        name: as in the rig.
        cues: in any order.
        trigger: what starts it.
        length: s; 0: as long as its last cue (with the time a pose takes).
    """

    name: str
    cues: tuple[Cue, ...]
    trigger: Trigger = Trigger()
    length: float = 0.0


@dataclass(frozen=True)
class Interlock:
    """`output` may run only while `other` is in a state; it is switched off (or not on) otherwise.

    Attributes:
        output: the output that is held.
        other: the output that holds it.
        while_on: True: only while `other` is on; False: only while it is off.
    """

    output: str
    other: str
    while_on: bool


@dataclass(frozen=True)
class Program:
    """All that the controller knows.

    Attributes:
        scenes: in the order of the rig.
        interlocks: what must not run together.
        stop: time at which everything is switched off for good, s; None: never.
        seed: of the random triggers.
    """

    scenes: tuple[Scene, ...]
    interlocks: tuple[Interlock, ...] = ()
    stop: float | None = None
    seed: int = 1


@dataclass(frozen=True)
class Event:
    """One thing that happens.

    Attributes:
        time: s.
        output: whom it tells; "" for a note about a scene.
        action: as of `Cue`, or start, ignored (a trigger while its scene runs), blocked (by an interlock),
            stop.
        value: as of `Cue`.
        over: as of `Cue`.
        scene: where it comes from.
        text: sound file, or what an interlock waits for, or what triggered.
    """

    time: float
    output: str
    action: str
    value: float
    over: float
    scene: str
    text: str = ""


def scene_length(scene: Scene) -> float:
    """Length of a scene, s: as stated, or up to its last cue.

    Example:
        >>> scene_length(Scene("rise", (Cue(0.0, "lift", "on"), Cue(2.0, "head", "pose", 0.5, over=1.5))))
        3.5
    """
    return scene.length or max((c.at + c.over for c in scene.cues), default=0.0)


def starts(scene: Scene, duration: float, seed: int) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """When a scene starts, and which triggers came while it still ran or rested and were ignored.

    Args:
        duration: of the show, s.
        seed: of random triggers; each scene draws its own numbers from seed and name.

    Returns:
        (starts, ignored), s.

    Raises:
        SimpropError: for a loop or random trigger that never lets time pass.

    Example:
        >>> rise = Scene("rise", (Cue(0.0, "lift", "on"), Cue(4.0, "lift", "off")), Trigger("loop", rest=6.0))
        >>> starts(rise, 25.0, 1)
        ((0.0, 10.0, 20.0), ())
    """
    length, trigger = scene_length(scene), scene.trigger
    if trigger.kind == "start":
        return (0.0,), ()
    if trigger.kind == "loop":
        pitch = length + trigger.rest
        if pitch <= 0:
            raise SimpropError(
                f"the loop of scene {scene.name!r} has no length: give it a cue later than 0 s, or a rest"
            )
        count = int(-(-duration // pitch))
        return tuple(i * pitch for i in range(count)), ()
    asked = sorted(trigger.times)
    if trigger.kind == "random":
        if trigger.mean_gap <= 0 or trigger.mean_gap < trigger.least_gap:
            raise SimpropError(
                f"random triggers of scene {scene.name!r} need a mean gap above zero and above the least"
            )
        draw = random.Random(f"{seed}/{scene.name}")
        asked, now = [], 0.0
        while True:
            now += trigger.least_gap + draw.expovariate(1.0) * (trigger.mean_gap - trigger.least_gap)
            if trigger.mean_gap == trigger.least_gap == 0 or now >= duration:
                break
            asked.append(now)
    begun: list[float] = []
    ignored: list[float] = []
    for time in asked:
        if time >= duration:
            continue
        if begun and time < begun[-1] + length + trigger.rest:
            ignored.append(time)
        else:
            begun.append(time)
    return tuple(begun), tuple(ignored)


def expand(program: Program, duration: float) -> tuple[Event, ...]:
    """All events of a show in order of time, with interlocks and the stop obeyed.

    An output that an interlock holds is not switched on (`blocked`), and is switched off when the other
    output changes to the forbidden state. After the stop nothing happens any more.

    Args:
        duration: of the show, s.

    Example:
        >>> show = Program((Scene("rise", (Cue(0.0, "lift", "on"), Cue(4.0, "lift", "off"))),), stop=3.0)
        >>> [(e.time, e.output, e.action) for e in expand(show, 10.0)]
        [(0.0, '', 'start'), (0.0, 'lift', 'on'), (3.0, 'lift', 'off'), (3.0, '', 'stop')]
    """
    asked: list[Event] = []
    for scene in program.scenes:
        begun, ignored = starts(scene, duration, program.seed)
        what = scene.trigger.what or scene.trigger.kind
        asked += [Event(t, "", "ignored", 0.0, 0.0, scene.name, what) for t in ignored]
        for begin in begun:
            asked.append(Event(begin, "", "start", 0.0, 0.0, scene.name, what))
            asked += [
                Event(begin + c.at, c.output, c.action, c.value, c.over, scene.name, c.text)
                for c in scene.cues
            ]
    end = duration if program.stop is None else min(duration, program.stop)
    asked = sorted((e for e in asked if e.time < end), key=lambda e: e.time)
    running: set[str] = set()
    out: list[Event] = []
    for event in asked:
        turns_on = event.action in ("on", "forward", "backward") or (
            event.action == "speed" and event.value > 0
        )
        held = _held(program.interlocks, event.output, running) if turns_on else None
        if held is not None:
            out.append(Event(event.time, event.output, "blocked", event.value, 0.0, event.scene, held))
            continue
        out.append(event)
        if turns_on:
            running.add(event.output)
        elif event.action in ("off", "speed"):
            running.discard(event.output)
        else:
            continue
        out += _released(program.interlocks, running, event)
    if program.stop is not None and program.stop < duration:
        told = dict.fromkeys(e.output for e in out if e.output)
        out += [Event(program.stop, name, "off", 0.0, 0.0, "stop") for name in told]
        out.append(Event(program.stop, "", "stop", 0.0, 0.0, "stop"))
    return tuple(out)


def _held(interlocks: Sequence[Interlock], output: str, running: set[str]) -> str | None:
    for lock in interlocks:
        if lock.output == output and (lock.other in running) != lock.while_on:
            return f"only while {lock.other} is {'on' if lock.while_on else 'off'}"
    return None


def _released(interlocks: Sequence[Interlock], running: set[str], cause: Event) -> list[Event]:
    """Switches off what may no longer run, and what that forbids in turn."""
    out: list[Event] = []
    while True:
        held = [name for name in sorted(running) if _held(interlocks, name, running)]
        if not held:
            return out
        running.discard(held[0])
        out.append(Event(cause.time, held[0], "off", 0.0, 0.0, "interlock", f"{cause.output} {cause.action}"))


@dataclass(frozen=True)
class Signal:
    """A value over time: steps, or straight lines between the points.

    Attributes:
        times: rising, s.
        values: from each of those times on.
        straight: the value runs straight to the next point instead of jumping there.
    """

    times: tuple[float, ...]
    values: tuple[float, ...]
    straight: bool = False


@dataclass(frozen=True)
class Command:
    """What one drive is told over a run.

    Attributes:
        drive: share of full voltage; None: always on in full.
        pose: of what turns to a place, rad from the start pose; None: stays at the start pose.
    """

    drive: Signal | None = None
    pose: Signal | None = None


def largest(signal: Signal | None) -> float:
    """Largest share of full voltage that a drive is told, 0 to 1; 1 where it is never told anything.

    Args:
        signal: what it is told; None: always full.

    Example:
        >>> largest(None), largest(Signal((0.0, 1.0), (0.0, -0.6)))
        (1.0, 0.6)
    """
    return 1.0 if signal is None else max(map(abs, signal.values), default=0.0) or 1.0


def read(signal: Signal, time: float) -> float:
    """The signal at an instant; before its first point, its first value if straight, else 0.

    Args:
        time: s.

    Example:
        >>> read(Signal((1.0, 2.0), (0.5, 1.5)), 1.9)
        0.5
        >>> read(Signal((1.0, 2.0), (0.5, 1.5), straight=True), 1.5)
        1.0
    """
    i = bisect_right(signal.times, time) - 1
    if i < 0:
        return signal.values[0] if signal.straight and signal.values else 0.0
    if not signal.straight or i + 1 >= len(signal.times):
        return signal.values[i]
    t0, t1 = signal.times[i], signal.times[i + 1]
    return signal.values[i] + (signal.values[i + 1] - signal.values[i]) * (time - t0) / (t1 - t0)


def drive_signal(events: Sequence[Event], output: str, speed: float = 1.0) -> Signal:
    """What a motor is told: share of full voltage, -1 to 1, in steps; off before its first cue.

    ``on`` resumes the last speed and direction, ``speed`` sets the share (0 is off), ``forward`` and
    ``backward`` set the direction and switch on.

    Args:
        events: of `expand`.
        output: the motor.
        speed: share at which it runs until a cue sets another.

    Example:
        >>> show = Program((Scene("s", (Cue(1.0, "lift", "speed", 0.5), Cue(3.0, "lift", "backward"))),))
        >>> signal = drive_signal(expand(show, 5.0), "lift")
        >>> [read(signal, t) for t in (0.5, 2.0, 4.0)]
        [0.0, 0.5, -0.5]
    """
    sense, on = 1.0, False
    times, values = [], []
    for event in events:
        if event.output != output or event.action in ("blocked", "pose", "sound"):
            continue
        if event.action == "off":
            on = False
        elif event.action == "speed":
            on = event.value > 0
            speed = event.value if on else speed
        else:
            on = True
            sense = {"forward": 1.0, "backward": -1.0}.get(event.action, sense)
        times.append(event.time)
        values.append(sense * speed if on else 0.0)
    return Signal(tuple(times), tuple(values))


def pose_signal(events: Sequence[Event], output: str, start: float = 0.0) -> Signal:
    """Where a servo is told to be: rad or m, straight from pose to pose over the stated times.

    A pose that comes while the last one is still on its way starts from where that one had got to.

    Args:
        events: of `expand`.
        output: the servo.
        start: where it is told to be before its first pose.

    Example:
        >>> show = Program((Scene("s", (Cue(1.0, "head", "pose", 0.4, over=2.0),)),))
        >>> signal = pose_signal(expand(show, 5.0), "head")
        >>> [round(read(signal, t), 3) for t in (0.0, 1.0, 2.0, 4.0)]
        [0.0, 0.0, 0.2, 0.4]
    """
    times, values = [0.0], [start]
    for event in events:
        if event.output != output or event.action != "pose":
            continue
        here = read(Signal(tuple(times), tuple(values), True), event.time)
        while times and times[-1] >= event.time:
            times.pop()
            values.pop()
        times += [event.time, event.time + max(event.over, 1e-6)]
        values += [here, event.value]
    return Signal(tuple(times), tuple(values), True)


def on_times(signal: Signal, duration: float) -> tuple[tuple[float, float], ...]:
    """Start and end of each stretch in which a stepped signal isn't 0, s.

    Args:
        duration: where a stretch that goes on is cut, s.

    Example:
        >>> on_times(Signal((1.0, 2.0, 4.0), (0.5, 1.0, 0.0)), 10.0)
        ((1.0, 4.0),)
    """
    out: list[tuple[float, float]] = []
    begun: float | None = None
    for time, value in zip(signal.times, signal.values, strict=True):
        if value != 0 and begun is None:
            begun = time
        elif value == 0 and begun is not None:
            if time > begun:
                out.append((begun, time))
            begun = None
    if begun is not None and begun < duration:
        out.append((begun, duration))
    return tuple(out)
