"""The controller's timeline."""

from itertools import pairwise

import pytest

from simprop.errors import SimpropError
from simprop.laws.cues import (
    Cue,
    Interlock,
    Program,
    Scene,
    Trigger,
    drive_signal,
    expand,
    on_times,
    pose_signal,
    read,
    starts,
)

RISE = (Cue(0.0, "lift", "on"), Cue(4.0, "lift", "off"))


def told(events, output):
    return [(e.time, e.action) for e in events if e.output == output]


def test_loop_runs_and_rests():
    show = Program((Scene("rise", RISE, Trigger("loop", rest=6.0)),))
    assert on_times(drive_signal(expand(show, 34.0), "lift"), 34.0) == ((0, 4), (10, 14), (20, 24), (30, 34))


def test_triggers_while_running_are_ignored_and_said():
    scene = Scene("rise", RISE, Trigger("times", "motion sensor", times=(1.0, 3.0, 6.0)))
    assert starts(scene, 20.0, 1) == ((1.0, 6.0), (3.0,))
    events = expand(Program((scene,)), 20.0)
    assert [(e.time, e.text) for e in events if e.action == "ignored"] == [(3.0, "motion sensor")]


def test_random_triggers_repeat_with_the_seed_and_keep_their_gap():
    scene = Scene("rise", RISE, Trigger("random", mean_gap=20.0, least_gap=5.0))
    first, again, other = (starts(scene, 20000.0, seed)[0] for seed in (7, 7, 8))
    assert first == again != other
    assert min(b - a for a, b in pairwise(first)) >= 5.0
    # mean of n exponential pauses: within 4 standard errors of 15 s / sqrt(n)
    n = len(first)
    assert abs(20000.0 / n - 20.0) < 4 * 15.0 / n**0.5 + 20.0 / n
    assert starts(Scene("other", RISE, scene.trigger), 20000.0, 7)[0] != first


def test_interlock_blocks_and_switches_off():
    gate = Scene("gate", (Cue(0.0, "gate", "on"), Cue(10.0, "gate", "off")), Trigger("times", times=(5.0,)))
    ghost = Scene(
        "ghost", (Cue(0.0, "ghost", "on"), Cue(3.0, "ghost", "off")), Trigger("times", times=(1.0, 4.0, 8.0))
    )
    events = expand(Program((gate, ghost), (Interlock("ghost", "gate", while_on=False),)), 30.0)
    assert told(events, "ghost") == [
        (1.0, "on"),
        (4.0, "off"),
        (4.0, "on"),
        (5.0, "off"),
        (7.0, "off"),
        (8.0, "blocked"),
        (11.0, "off"),
    ]
    assert on_times(drive_signal(events, "ghost"), 30.0) == ((1.0, 4.0), (4.0, 5.0))


def test_interlocks_chain():
    locks = (Interlock("b", "a", while_on=True), Interlock("c", "b", while_on=True))
    cues = (Cue(0, "a", "on"), Cue(1, "b", "on"), Cue(2, "c", "on"), Cue(3, "a", "off"))
    events = expand(Program((Scene("s", cues),), locks), 10.0)
    assert {(e.output, e.time) for e in events if e.scene == "interlock"} == {("b", 3), ("c", 3)}


def test_stop_ends_everything():
    show = Program((Scene("rise", RISE, Trigger("loop", rest=1.0)),), stop=12.0)
    events = expand(show, 60.0)
    assert max(e.time for e in events) == 12.0
    assert on_times(drive_signal(events, "lift"), 60.0)[-1] == (10.0, 12.0)


def test_speed_and_direction():
    cues = (
        Cue(0.0, "lift", "speed", 0.3),
        Cue(1.0, "lift", "backward"),
        Cue(2.0, "lift", "off"),
        Cue(3.0, "lift", "on"),
        Cue(4.0, "lift", "speed", 0.0),
        Cue(5.0, "lift", "forward"),
    )
    signal = drive_signal(expand(Program((Scene("s", cues),)), 9.0), "lift")
    assert [read(signal, t + 0.5) for t in range(6)] == [0.3, -0.3, 0.0, -0.3, 0.0, 0.3]


def test_pose_interrupted_on_its_way():
    cues = (Cue(0.0, "head", "pose", 1.0, over=2.0), Cue(1.0, "head", "pose", 0.0, over=1.0))
    signal = pose_signal(expand(Program((Scene("s", cues),)), 9.0), "head")
    assert [read(signal, t) for t in (0.5, 1.0, 1.5, 2.0, 5.0)] == pytest.approx([0.25, 0.5, 0.25, 0.0, 0.0])


def test_loop_without_length_is_refused():
    with pytest.raises(SimpropError, match="loop"):
        starts(Scene("s", (Cue(0.0, "a", "on"),), Trigger("loop")), 10.0, 1)
    with pytest.raises(SimpropError, match="random"):
        starts(Scene("s", RISE, Trigger("random")), 10.0, 1)


def test_on_runs_at_the_set_share_until_a_cue_sets_another():
    cues = (
        Cue(0.0, "lift", "on"),
        Cue(1.0, "lift", "speed", 0.9),
        Cue(2.0, "lift", "off"),
        Cue(3.0, "lift", "on"),
    )
    signal = drive_signal(expand(Program((Scene("s", cues),)), 9.0), "lift", 0.4)
    assert [read(signal, t + 0.5) for t in range(4)] == [0.4, 0.9, 0.0, 0.9]
