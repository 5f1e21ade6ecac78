"""Fittings where pipes meet: sizes, weights, what pipes are cut to, what sockets bear, pipes that slide in larger tees.

Laying lengths, sockets and walls: ASTM D2466, from memory; pipe: ASTM D1785.
"""

from __future__ import annotations

from math import atan, degrees, pi

import numpy as np
import pytest

import simprop
from simprop.assembly.assemble import assemble
from simprop.assembly.cut_lengths import cut_length, cut_pipes
from simprop.engine.acting.actuation import actuate
from simprop.errors import RigError
from simprop.report.check import check_report
from simprop.report.writers import plain
from simprop.rig.load import parse_rig

INCH, LBF, G = 0.0254, 4.4482216, 9.80665
HALF = (
    1400 * pi / 4 * ((0.840 * INCH) ** 2 - ((0.840 - 2 * 0.119) * INCH) ** 2)
)  # kg/m of 1/2 in, average wall

FRAME = """
rig: 1
name: Frame
bodies:
  frame:
    fixed: true
    parts:
      - {pipe: 1/2 in PVC, from: 0 0 0 mm, to: 0 0 800 mm, name: post}
      - {pipe: 1/2 in PVC, from: 0 0 400 mm, to: 500 0 400 mm, name: rail}
      - {pipe: 1/2 in PVC, from: 500 0 400 mm, to: 500 0 100 mm, name: drop}
      - FITTINGS
run: {for: 0.1 s}
"""
FITTINGS = """{fitting: tee, at: 0 0 400 mm}
      - {fitting: elbow, at: 500 0 400 mm}
      - {fitting: cap, at: 0 0 800 mm}"""


def frame(fittings: str = FITTINGS) -> simprop.Rig:
    return parse_rig(FRAME.replace("FITTINGS", fittings))


def test_a_pipe_is_cut_to_the_middles_less_what_fittings_keep() -> None:
    """Half an inch in tee and elbow of 1/2 in, nothing in a cap."""
    assert cut_length(0.5, 0.5 * INCH, 0.5 * INCH) == pytest.approx(0.4746)
    assert cut_length(0.01, 0.5 * INCH) == 0.0
    body = assemble(frame()).bodies[0]
    cuts = {pipe.name: pipe.pieces for pipe in cut_pipes(body.shapes)}
    assert cuts["post"] == pytest.approx((0.4 - 0.5 * INCH, 0.4 - 0.5 * INCH))
    assert cuts["rail"] == pytest.approx((0.5 - INCH,))
    assert cuts["drop"] == pytest.approx((0.3 - 0.5 * INCH,))
    text = plain(check_report(assemble(frame()), actuate(assemble(frame()))))
    assert "475 mm" in text
    assert "387 mm + 387 mm" in text


def test_other_forms_keep_what_their_table_says() -> None:
    """45 degree elbow 0.312 in, coupling 0.094 in, flange 5 mm (assumed), tee bored through nothing."""
    rig = parse_rig("""
rig: 1
name: Forms
bodies:
  frame:
    fixed: true
    parts:
      - {pipe: 1 in PVC, from: 0 0 0 mm, to: 0 0 300 mm, name: a}
      - {pipe: 1 in PVC, from: 0 0 300 mm, to: 0 0 600 mm, name: b}
      - {pipe: 1 in PVC, from: 0 0 600 mm, to: 200 0 800 mm, name: c}
      - {pipe: 1 in PVC, from: 0 0 450 mm, to: 0 200 450 mm, name: d}
      - {fitting: flange, at: 0 0 0 mm}
      - {fitting: coupling, at: 0 0 300 mm}
      - {fitting: elbow 45, at: 0 0 600 mm}
      - {fitting: tee, at: 0 0 450 mm, bored: true}
run: {for: 0.1 s}
""")
    cuts = {pipe.name: pipe.pieces for pipe in cut_pipes(assemble(rig).bodies[0].shapes)}
    assert cuts["a"] == pytest.approx((0.3 - 0.005 - 0.094 * INCH,))
    assert cuts["b"] == pytest.approx((0.3 - 0.094 * INCH - 0.312 * INCH,))
    assert cuts["c"] == pytest.approx((0.2 * 2**0.5 - 0.312 * INCH,))
    assert cuts["d"] == pytest.approx((0.2 - 0.688 * INCH,))


def test_pipe_and_fitting_weigh_together_what_is_cut_and_bought() -> None:
    """A tee by hand, 26.63 g (see tests/kinds/examples.py), an elbow two thirds, less what isn't there of pipe."""
    bare = sum(s.mass for s in assemble(frame("{lump: 1 mg, at: 0 0 0 mm}")).bodies[0].shapes)
    whole = sum(s.mass for s in assemble(frame(FITTINGS.rsplit("\n", 1)[0])).bodies[0].shapes)
    gone = HALF * 0.5 * INCH * 5
    assert whole - bare == pytest.approx(0.026628 * 5 / 3 - gone, rel=1e-3)


@pytest.mark.parametrize(
    ("fitting", "words"),
    [
        ("{fitting: elbow, at: 0 0 400 mm}", "3 ways of pipe come, as drawn"),
        ("{fitting: tee, at: 200 200 400 mm}", "0 ways of pipe come"),
        ("{fitting: t, at: 0 0 400 mm}", "not one of the words"),
        ("{fitting: tee, at: 0 0 400 mm, size: 5/8 in PVC}", "not a pipe of the catalogue"),
        ("{fitting: tee, at: 0 0 400 mm, size: 1/2 in PVC, ways: [x, y]}", "a tee has no such ways"),
        ("{fitting: tee, at: 0 0 400 mm, size: 1/2 in PVC, clamped: 42 mm}", "it is one of them"),
        ("{fitting: cap, at: 9 9 9 mm, ways: [y]}", "say `size`"),
    ],
)
def test_a_fitting_that_cannot_be_is_one_fault(fitting: str, words: str) -> None:
    with pytest.raises(RigError) as caught:
        frame(fitting)
    assert len(caught.value.faults) == 1
    assert words in str(caught.value)
    assert caught.value.faults[0].line == 11


HUNG = """
rig: 1
name: Hung
bodies:
  frame:
    fixed: true
    parts:
      - {pipe: PIPE, from: -200 0 500 mm, to: 200 0 500 mm, name: beam}
      - {pipe: PIPE, from: 0 0 500 mm, to: 0 0 300 mm, name: hanger}
      - {fitting: tee, at: 0 0 500 mmHOW}
  bob: {parts: [{lump: 20 kg, at: 0 0 250 mm}]}
joints: {hook: {fixed: [frame, bob], at: 0 0 300 mm}}
stand: {feet: [-200 0 500 mm]}
temperature: 22 degC
run: {for: 0.05 s}
"""


def hung(pipe: str, how: str = "") -> list:
    text = HUNG.replace("PIPE", pipe).replace("HOW", how)
    report = simprop.simulate(parse_rig(text), settle=False).strength
    return [c for c in report.checks if "hanger in" in c.place]


def test_a_glued_socket_bears_the_pull_on_its_last_third() -> None:
    """545 lbf of a 1/2 in socket: pi D L / 3 at 900 psi (ASTM D2564); 20 kg and the pipe below the tee pull."""
    pull = next(c for c in hung("1/2 in PVC") if "pull and twist" in c.name)
    below = 0.2 - (0.5 + 0.688) * INCH
    assert pull.demand == pytest.approx((20 + HALF * below) * G / (545 * LBF), rel=3e-3)
    assert any("not stated" in words for words in pull.assumed)


def test_a_screwed_socket_bears_on_the_walls() -> None:
    """Two #8 screws of 0.164 in on 0.109 in of wall at 7000 psi: 125 lbf each."""
    pull = next(c for c in hung("1/2 in PVC", ", socket: screwed") if "pull and twist" in c.name)
    assert pull.demand == pytest.approx(20 * G / (2 * 125 * LBF), rel=0.01)


def test_dry_sockets_hold_no_pull_and_clamped_ones_are_not_checked() -> None:
    dry = next(c for c in hung("1/2 in PVC", ", socket: dry") if "pull and twist" in c.name)
    assert dry.verdict == "fail"
    tube = "{outside: 33.7 mm, wall: 3.2 mm, of: steel}"
    assert [c.verdict for c in hung(tube)] == ["not computed"]


SLIDE = """
rig: 1
name: Slide
bodies:
  frame: {fixed: true, parts: [{fitting: tee, size: 3/4 in PVC, at: 0 0 400 mm, ways: [-z, x, -x], bored: true}]}
  rod: {parts: [{pipe: 1/2 in PVC, from: -400 0 400 mm, to: 400 0 400 mm}MORE]}
joints:
  slide: {pipe_bearing: [frame, rod], at: 0 0 400 mm, axis: x, pipe: 1/2 in PVC, tee: 3/4 in PVC, HOW}
run: {for: 0.3 s, start_speeds: {slide: 0.3 m/s}}
"""


@pytest.mark.parametrize("engine", ["mujoco", "bullet", "exudyn"])
def test_a_pipe_in_a_larger_tee_rubs_to_a_stop(engine: str) -> None:
    """v^2 / (2 mu g), while its weight stays within the guide: N1 + N2 = m g (Coulomb)."""
    run = simprop.simulate(
        parse_rig(SLIDE.replace("HOW", "friction: 0.5").replace("MORE", "")), engine, settle=False
    )
    assert run.track.coordinate[-1, 0] == pytest.approx(0.09 / (2 * 0.5 * G), rel=0.02)


def test_its_play_and_length_follow_from_the_sizes() -> None:
    """Reducers: mouth 0.848 in about 0.840 in, over 2 (0.562 + 0.719) in; bored: between stops 1.124 in apart."""
    for how, play, length in (
        ("fit: reducers", 0.008 * INCH, 2 * (0.562 + 0.719) * INCH),
        ("fit: bored, bore: 22 mm", 0.022 - 0.840 * INCH, 2 * 0.562 * INCH),
    ):
        joint = parse_rig(
            SLIDE.replace("HOW", f"{how}, loose: true, motion: slides").replace("MORE", "")
        ).joints["slide"]
        assert joint.play.clearance == pytest.approx(play)
        assert joint.play.length == pytest.approx(length)
    told = parse_rig(SLIDE.replace("HOW", "fit: reducers").replace("MORE", "")).told
    assert "play 0.2 mm over 65 mm, so it tilts up to 0.2 deg" in told[0]


@pytest.mark.parametrize("motion", ["slides", "both"])
def test_a_loose_pipe_tilts_as_far_as_its_play_goes(motion: str) -> None:
    """A weight at its end drops it to clearance over guided length, and a blow's give further."""
    how = f"bore: 23 mm, loose: true, stiffness: 20000 N/mm, motion: {motion}"
    text = SLIDE.replace("HOW", how).replace("MORE", ", {lump: 0.5 kg, at: 400 0 400 mm}")
    text = text.replace("0.3 m/s", "0 m/s").replace("for: 0.3 s", "for: 0.09 s")
    run = simprop.simulate(parse_rig(text), settle=False)
    rod = next(i for i, b in enumerate(run.assembly.bodies) if b.name == "rod")
    tilt = 2 * np.degrees(np.arcsin(np.linalg.norm(run.track.rotation[:, rod, :3], axis=1))).max()
    by_play = degrees(atan((0.023 - 0.840 * INCH) / (2 * 0.562 * INCH)))
    assert by_play < tilt < 1.12 * by_play


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ("fit: moulded", "stops at the waterway of a 3/4 in PVC tee, 20.8 mm"),
        ("bore: 20 mm", "a bored tee is wider than its pipe"),
        ("fit: tight", "not one of the words"),
        ("stiffness: 60 N/mm", "belong to a joint with play (allowed: loose: true)"),
    ],
)
def test_a_bearing_that_cannot_be_is_one_fault(how: str, words: str) -> None:
    with pytest.raises(RigError) as caught:
        parse_rig(SLIDE.replace("HOW", how).replace("MORE", ""))
    assert len(caught.value.faults) == 1
    assert words in str(caught.value)
    assert caught.value.faults[0].line == 8


def test_a_pipe_does_not_run_through_a_tee_of_its_own_size() -> None:
    text = SLIDE.replace("HOW", "fit: bored").replace("MORE", "").replace("tee: 3/4 in", "tee: 1/2 in")
    with pytest.raises(RigError, match="can't run through"):
        parse_rig(text)
