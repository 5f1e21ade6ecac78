"""One variant tried: what is cheap is asked first and decides, and agrees with the run."""

from __future__ import annotations

from math import degrees

import numpy as np
import pytest

import simprop
from simprop.assembly.sweeping import sweep
from simprop.run.simulate import simulate
from simprop.study.ask.measure import MEASURES, needs_of
from simprop.study.trial import tried as room
from simprop.study.trial.swept import swept
from simprop.study.trial.tried import tried
from simprop.study.types import Answer, Limit, Study, Variant
from tests.study.test_measures import four_bar

SLIDER = """
rig: 1
name: Offset slider-crank
params: {throw: 40 mm}
points:
  shaft: 0 0 0 mm
  pin: [throw, 0 mm, 0 mm]
  wrist: 20 0 -120 mm
bodies:
  frame: {fixed: true}
  crank: {parts: [{bar: 12 x 3 mm, of: steel, from: shaft, to: pin}]}
  rod: {parts: [{bar: 12 x 3 mm, of: steel, from: pin, to: wrist}]}
  slide: {parts: [{lump: 0.2 kg, at: wrist}]}
joints:
  shaft: {pin: [frame, crank], at: shaft, axis: y}
  pin: {pin: [crank, rod], at: pin, axis: y}
  wrist: {pin: [rod, slide], at: wrist, axis: y}
  guide: {slider: [frame, slide], at: wrist, along: z, bearing: 40 mm}
motors: {drive: {joint: shaft, motor: {given: {speed: [0 s 60 rpm, 1 s 60 rpm]}}}}
run: {for: 1.2 s, step: 1 ms, start_speeds: {shaft: 60 rpm}}
"""


def slider(**changes: object) -> Study:
    return Study(SLIDER, "slider.yaml", **changes)  # type: ignore[arg-type]


def stroke(r: float, rod: float, off: float) -> float:
    """Of an offset slider-crank (any book on mechanisms)."""
    return float(np.sqrt((rod + r) ** 2 - off**2) - np.sqrt((rod - r) ** 2 - off**2))


def si(answer: Answer | None) -> float:
    assert answer is not None
    return answer.si


def test_the_way_is_that_of_the_run() -> None:
    run = four_bar()
    found = sweep(run.assembly, "crank_pivot")
    assert found is not None
    assert found.whole
    # Swing of the rocker by the law of cosines in its two limit positions (40, 120, 80, 100 mm)
    at = [np.arccos((100**2 + 80**2 - reach**2) / (2 * 100 * 80)) for reach in (80, 160)]
    assert degrees(np.ptp(found.coordinate[:, 3])) == pytest.approx(degrees(at[1] - at[0]), rel=2e-5)
    # Every pose of a turn of the run is one of the sweep
    angle = run.track.coordinate[:1000, 0]
    for k in range(len(run.assembly.axes)):
        own = np.interp(angle, found.coordinate[:, 0], found.coordinate[:, k])
        assert own == pytest.approx(run.track.coordinate[:1000, k], abs=2e-4)


def test_what_positions_tell_is_asked_before_the_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "simulate", lambda *a, **k: pytest.fail("it was run"))
    asks = ("travel(wrist, z)", "peak(pin)", "mass(slide)")
    study = slider(asks=asks, limits=(Limit(0, least=0.1),))
    outcome = tried(study, Variant((("throw", "30 mm"),)))
    rod = float(np.hypot(20, 120))
    assert outcome.ended == "ruled out"
    assert outcome.level == "swept"
    assert "at least 0.1 is wanted" in outcome.reason
    assert outcome.answers[1] is None
    assert outcome.unknown[1]
    assert si(outcome.answers[2]) == pytest.approx(0.2)
    rod = float(np.hypot(0.02 - 0.03, 0.12))
    assert si(outcome.answers[0]) == pytest.approx(stroke(0.03, rod, 0.02), rel=1e-5)


def test_swept_and_run_agree() -> None:
    asks = ("travel(wrist, z)", "time_ratio(guide)", "transmission(rod, wrist)", "swing(guide)")
    study = slider(asks=asks, sets={"run.for": "3.2 s"})
    cheap, dear = tried(study, Variant(), "swept"), tried(study, Variant(), "draft")
    assert (cheap.level, dear.level) == ("swept", "draft")
    for one, other in zip(cheap.answers, dear.answers, strict=True):
        assert si(one) == pytest.approx(si(other), rel=2e-3)


def test_what_stands_still_needs_no_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "simulate", lambda *a, **k: pytest.fail("it was run"))
    outcome = tried(slider(asks=("2 * mass(slide)",)), Variant(), "settled")
    assert (outcome.ended, outcome.level) == ("done", "still")
    assert si(outcome.answers[0]) == pytest.approx(0.4)


def test_what_locks_jams() -> None:
    study = slider(asks=("travel(wrist, z)",), limits=(Limit(0, least=0.01),))
    outcome = tried(study, Variant((("points.wrist", "20 0 -15 mm"),)))
    assert outcome.ended == "jams"
    assert "locks before shaft has turned by" in outcome.reason


@pytest.mark.parametrize(
    ("change", "how"),
    [
        (("joints.pin.axis", "w"), "refused"),
        (("joints.guide.bearing", "-1 mm"), "refused"),
        (("bodies.rod.hold", "{from: pin, to: wrist, length: 10 mm}"), "open"),
        (("run.for", "9000 s"), "wrong"),
    ],
)
def test_ends_have_their_reason(change: tuple[str, str], how: str) -> None:
    outcome = tried(slider(asks=("peak(pin)",)), Variant((change,)))
    assert outcome.ended == how
    assert outcome.reason
    assert outcome.answers == (None,)


def test_what_takes_a_run_is_run_at_swept() -> None:
    """A motor on a prop with stops: where it goes isn't told by places alone."""
    text = SLIDER + "stops: {end: {slide_stop: guide, below: -200 mm, above: 200 mm, of: rubber}}\n"
    assembly = simprop.assemble(simprop.parse_rig(SLIDER))
    assert swept(assembly) is not None
    outcome = tried(Study(text, "slider.yaml", asks=("travel(wrist, z)",)), Variant(), "swept")
    assert (outcome.ended, outcome.level) == ("done", "draft"), outcome.reason


def test_a_motor_turned_round_leads_the_other_way() -> None:
    rig = simprop.parse_rig(
        SLIDER, sets={"motors.drive.reverse": "true", "run.start_speeds": "{shaft: -60 rpm}"}
    )
    way = swept(simprop.assemble(rig))
    run = simulate(rig, settle=False)
    assert way is not None
    k = next(i for i, j in enumerate(run.assembly.bodies) if j.name == "slide")
    there = run.track.position[-1, k, 2]
    assert np.abs(way.run.track.position[:, k, 2] - there).min() < 1e-4


def test_every_measure_says_what_it_takes() -> None:
    assert {m.needs for m in MEASURES.values()} == {"still", "swept", "run", "loads", "strength"}
    assert needs_of("max(travel(a, z), 3 mm) / mass") == "swept"
    assert needs_of("strength / peak(pin)") == "strength"
