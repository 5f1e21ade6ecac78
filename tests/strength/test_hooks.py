"""Ends of springs, ropes, struts and pushers: what holds them is checked with their own pull, against closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import simprop
from simprop.catalog import fasteners
from simprop.catalog.strengths import strength_of
from simprop.checking.check import Check
from simprop.errors import RigError
from simprop.report.strength import STRENGTH
from simprop.report.writers import markdown
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.rules import wood_joints
from simprop.run.run import Run
from simprop.strength.checks.run import ends
from simprop.strength.context import end_context
from simprop.strength.setting import setting_of

G = 9.80665
RIG = """
rig: 1
name: A weight that hangs at rest
bodies:
  beam: {{fixed: true, parts: [{{bar: 60 x 60 mm, of: pine, from: -500 0 0 mm, to: 500 0 0 mm}}]}}
  load: {{parts: [
    {{lump: 6 kg, at: 0 0 -400 mm}},
    {{bar: 40 x 40 mm, of: pine, mass: 1 g, from: 0 0 -400 mm, to: 0 0 -320 mm}}]}}
joints: {{guide: {{slider: [beam, load], at: 0 0 -400 mm, along: z}}}}
{line}
run: {{for: 0.01 s}}
"""
# at rest from the start: 588.6 N/m x 100 mm = 6 kg x G
SPRING = """springs: {{lift: {{extension: [beam, load], from: 0 0 0 mm, to: 0 0 -320 mm, rate: 588.399 N/m,
  free_length: 220 mm{more}}}}}"""
SCREW = "{screw: '#8 wood', into: pine, length: 40 mm, through: 5 mm, along: -z}"


def _run(line: str) -> Run:
    return simprop.simulate(parse_rig(RIG.format(line=line)), settle=False)


def _spring(held: str = "") -> Run:
    return _run(SPRING.format(more=f", held_by: {held}" if held else ""))


def _end(run: Run, body: str) -> list[Check]:
    return [c for c in run.strength.checks if f"end on {body}" in c.place]


def test_a_rod_end_bears_the_pull_of_its_spring() -> None:
    run = _spring("{rod_end: M6, along: x}")
    for body in ("beam", "load"):
        (found,) = (c for c in _end(run, body) if c.unit == "N")
        assert found.demand == pytest.approx(6 * G, rel=1e-3)


def test_a_screw_that_is_pulled_out() -> None:
    """W = 2850 G^2 D a inch of thread (AWC NDS), along the screw; all of the 6 kg on it."""
    run = _spring(f"{{from: {SCREW}}}")
    (found,) = _end(run, "beam")
    screw, gravity = fasteners.wood_screw("#8 wood"), strength_of("pine").gravity
    thread = min(0.035, wood_joints.thread_length(0.040, screw.diameter, False))
    pull = 2850 * gravity**2 * (screw.diameter / 0.0254) * 4.4482216 * thread / 0.0254
    assert found.demand == pytest.approx(6 * G / pull, rel=2e-3)
    assert found.unit == "of its allowable load"
    # the other end isn't named: what it must carry is told
    said = [c for c in run.strength.checks if c.place == "spring lift, to"]
    assert [c.verdict for c in said] == ["warning"]
    assert said[0].demand == pytest.approx(6 * G, rel=1e-3)


def test_the_direction_of_the_pull_counts() -> None:
    """A rope at 30 deg to the grain of the beam, square to a screw along y: all of it across, at that angle."""
    rope = "rope: [beam, load], from: -477.0 0 0 mm, to: 77.256 0 -320 mm, force: 40 N, ramp: 1 us"
    line = f"pulls: {{rope: {{{rope}}}}}"
    run = _run(line)
    hold = (
        parse_rig(RIG.format(line=SPRING.format(more=", held_by: {bolt: M6, along: y}")))
        .springs["lift"]
        .ends[0]
    )
    assert hold is not None
    ctx, _ = end_context(run.loads, 0, 0, hold, setting_of(run.rig))
    assert ctx.sideways[-1] == pytest.approx(40.0, rel=1e-3)
    assert ctx.along[-1] == pytest.approx(0.0, abs=1e-9)
    assert np.degrees(ctx.grain_angle(0)[-1]) == pytest.approx(30.0, abs=0.1)
    slanted = hold.model_copy(update={"along": (1.0, 0.0, 0.0)})
    ctx, _ = end_context(run.loads, 0, 0, slanted, setting_of(run.rig))
    assert ctx.along[-1] == pytest.approx(40 * np.cos(np.radians(30)), rel=1e-3)
    assert ctx.sideways[-1] == pytest.approx(40 * np.sin(np.radians(30)), rel=1e-3)


def test_a_pulley_bears_both_strands() -> None:
    """6 kg on a counterweight of 6 kg: 6 g in each strand, 12 g on the pulley."""
    held = "{rod_end: M6, along: x}"
    weight = f"counterweight: [beam, load], from: 0 0 0 mm, to: 0 0 -320 mm, mass: 6 kg, held_by: {held}"
    run = _run(f"pulls: {{weight: {{{weight}}}}}")
    pulley, hook = (next(c for c in _end(run, body) if c.unit == "N") for body in ("beam", "load"))
    assert hook.demand == pytest.approx(6 * G, rel=0.02)
    assert pulley.demand == pytest.approx(2 * (hook.demand or 0.0), rel=1e-9)


def test_a_screw_fails_where_the_pull_is_beyond_it_and_more_of_them_help() -> None:
    run = _spring(SCREW.replace("length: 40 mm", "length: 31 mm"))
    heavy = replace(run.loads, recording=replace(run.recording, track=_pulled(run, 12.0)))
    run_checks = ends(heavy)
    assert {c.verdict for c in run_checks} == {"fail"}
    assert all(any(r.margin >= 1 for r in c.remedies) for c in run_checks)


def _pulled(run: Run, factor: float) -> object:
    track = run.recording.track
    return replace(track, line_force=track.line_force * factor)


def test_an_end_that_stands_off_pries_at_its_screws() -> None:
    """Drawn 50 mm in front of the beam's face: 50 mm x the pull tilts two screws 40 mm apart, F / 2 +- M / 40 mm."""
    held = "{from: {screw: '#8 wood', into: pine, length: 40 mm, through: 5 mm, along: y, count: 2, spacing: 40 mm}}"
    line = SPRING.format(more=f", held_by: {held}").replace("from: 0 0 0 mm", "from: 0 -80 0 mm")
    line = line.replace("to: 0 0 -320 mm", "to: 0 -80 -320 mm")
    run = _run(line)
    hold = run.rig.springs["lift"].ends[0]
    assert hold is not None
    ctx, assumed = end_context(run.loads, 0, 0, hold, setting_of(run.rig))
    assert ctx.tilt[-1] == pytest.approx(0.050 * 6 * G, rel=1e-3)
    assert any("stands 50 mm off" in text for text in assumed)


def test_unnamed_ends_are_told_with_what_they_must_carry() -> None:
    text = markdown(STRENGTH.of(_spring()))
    assert "no hook or bracket is named: must carry 58.8 N" in text
    assert "no hook or bracket is named" not in markdown(STRENGTH.of(_spring("{rod_end: M6, along: x}")))


def test_a_spring_that_only_pushes_needs_no_hook() -> None:
    line = (
        "springs: {push: {compression: [beam, load], from: 0 0 0 mm, to: 0 0 -320 mm, rate: 500 N/m, "
        "free_length: 400 mm}}"
    )
    assert not [c for c in _run(line).strength.checks if c.name == "hook"]


def test_faults_name_their_place() -> None:
    with pytest.raises(
        RigError, match=r"springs\.lift\.held_by\.from\.bolt: 'M6\.5' is not in the catalogue"
    ):
        _spring("{from: {bolt: M6.5}}")
    with pytest.raises(RigError, match=r"springs\.lift\.held_by\.bolt: 'M6\.5' is not in the catalogue"):
        _spring("{bolt: M6.5}")
    with pytest.raises(RigError, match=r"springs\.lift\.held_by\.at: unknown key"):
        _spring("{at: {bolt: M6}}")


def test_it_stands_in_the_reference() -> None:
    keys = {(e.place, e.kind): [k.name for k in e.may] for e in reference()}
    assert "held_by" in keys["springs.NAME", "extension"]
    assert "held_by" in keys["pulls.NAME", "rope"]
    assert "held_by" in keys["pushers.NAME", ""]
    assert any(
        place == "springs.NAME.held_by" and {"from", "to"} <= set(may) for (place, _), may in keys.items()
    )


def test_a_bolt_of_a_hook_weakens_what_it_goes_through() -> None:
    """6 kg on the end of a 40 x 40 bar with an M8 hole across it: 6 g / (40 mm x 32 mm)."""
    run = _spring("{to: {bolt: M8, along: y}}")
    (found,) = (c for c in run.strength.checks if "load" in c.place and c.name.startswith("bending and pull"))
    assert found.name.endswith("beside its 8.0 mm hole")
    assert found.demand == pytest.approx(6 * G / (0.040 * 0.032), rel=2e-3)


def test_a_bracket_at_the_edge_of_a_wide_board_is_fastened_to_it() -> None:
    """200 mm beside the middle line of a board 500 mm wide: the bolt's hole is in the board."""
    line = SPRING.format(more=", held_by: {to: {bolt: M6, along: z, nut: nylon insert}}").replace(
        "to: 0 0 -320 mm", "to: 0 200 -320 mm"
    )
    board = "{bar: 500 x 18 mm, of: pine, from: -200 0 -325 mm, to: 200 0 -325 mm, thin: z}"
    text = RIG.format(line=line).replace("load: {parts: [", "load: {parts: [" + board + ",")
    run = simprop.simulate(parse_rig(text), settle=False)
    assert any("hole in load pine bar" in c.place for c in run.strength.checks)
