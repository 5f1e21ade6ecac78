"""Strips and the drag of the air, held to closed forms on two engines."""

from __future__ import annotations

import json
from math import cosh, degrees, hypot, pi, sinh, sqrt
from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.engine.acting.outside import Outside, along
from simprop.engine.bullet.engine import BulletEngine
from simprop.engine.exudyn.engine import ExudynEngine
from simprop.engine.mujoco.engine import MujocoEngine
from simprop.errors import EngineError, RigError
from simprop.loads.energy import energy
from simprop.loads.joints import joint_loads
from simprop.picture.export.gltf import write_glb
from simprop.picture.render.strips import drapes, frames_now, placed, with_strips
from simprop.recording import Recording, load_recording, save_recording
from simprop.rig.load import parse_rig

ENGINES = [MujocoEngine(), ExudynEngine()]
G = 9.80665
AIR = 1.225
both = pytest.mark.parametrize("engine", ENGINES, ids=[e.name for e in ENGINES])


def _run(text: str, engine: object, step: float = 5e-4) -> Recording:
    rig = parse_rig("rig: 1\nname: Rags\n" + text)
    prop = assemble(rig)
    laws = actuate(prop)
    track = engine.run(prop, laws, step, round(rig.run.duration / step))  # type: ignore[attr-defined]
    return Recording(prop, laws, engine.name, track)  # type: ignore[attr-defined]


def _hung(text: str) -> Outside:
    prop = assemble(parse_rig("rig: 1\nname: Rags\n" + text))
    return Outside(prop, actuate(prop).outside)


POST = "post: {fixed: true, parts: [{lump: 1 kg, at: 0 0 0 mm}]}"


@pytest.mark.parametrize("share", [1.02, 1.2, 1.6])
def test_hung_at_both_ends_it_sags_as_a_catenary(share: float) -> None:
    span = 0.5
    hung = _hung(
        f"""
bodies: {{{POST}}}
strips:
  garland:
    {{on: post, at: 0 0 1 m, to: {{on: post, at: 500 0 1000 mm}}, length: {1e3 * span * share} mm, weight: 20 g/m}}
run: {{for: 1 s}}
""".replace("0 0 1 m", "0 0 1000 mm")
    )
    length = span * share
    # any text on statics: y = a cosh(x / a), length 2 a sinh(d / 2 a), sag a (cosh(d / 2 a) - 1)
    a = brentq(lambda v: 2 * v * sinh(span / 2 / v) - length, 0.02, 10.0)
    sag = a * (cosh(span / 2 / a) - 1)
    places, n = hung.places, len(hung.places)
    middle = places[n // 2] if n % 2 else (places[n // 2] + places[n // 2 - 1]) / 2
    # an even number has its lowest length level, half a link to either side of the middle
    off = 0.0 if n % 2 else a * (cosh(length / n / 2 / a) - 1)
    assert 1.0 - middle[2] + off == pytest.approx(sag, rel=5e-3)
    assert middle[0] == pytest.approx(span / 2, abs=1e-5)
    hung.step(0.0)
    pulls = hung.force
    assert pulls[:, 2] == pytest.approx([-0.5 * 0.02 * length * G] * 2, rel=1e-5)
    assert pulls[0, 0] == pytest.approx(0.02 * G * a, rel=0.01)


@pytest.mark.parametrize(
    ("length", "links", "within"), [(0.3, None, 1e-2), (1.0, None, 1e-2), (0.5, 24, 1.5e-3)]
)
def test_it_swings_as_a_hanging_chain(length: float, links: int | None, within: float) -> None:
    """First frequency 2.4048 / 2 sqrt(g / L): D. Bernoulli's hanging chain, any text on vibrations."""
    more = "" if links is None else f", links: {links}"
    hung = _hung(f"""
bodies: {{{POST}}}
strips: {{rope: {{on: post, at: 0 0 0 mm, length: {1e3 * length} mm, weight: 20 g/m, drag: false{more}}}}}
run: {{for: 1 s}}
""")
    at = -hung.places[:, 2] / length
    from scipy.special import j0

    hung.places[:, 0] = 0.01 * length * j0(2.404826 * np.sqrt(1.0 - at))
    hung.places[:, 2] += 0.0
    seen, step = [], 1e-3
    hung.step(0.0)
    for _ in range(6000):
        hung.step(step)
        seen.append(hung.places[-1, 0])
    x = np.array(seen)
    cross = np.flatnonzero((x[:-1] > 0) & (x[1:] <= 0))
    times = cross + x[cross] / (x[cross] - x[cross + 1])
    period = step * float(np.diff(times).mean())
    assert 1.0 / period == pytest.approx(2.404826 / (4 * pi) * sqrt(G / length), rel=within)


TURN = """
bodies:
  {post}
  arm: {{parts: [{{rod: 20 mm, of: pine, from: -400 0 1000 mm, to: 400 0 1000 mm}}]}}
joints: {{pin: {{pin: [post, arm], at: 0 0 1000 mm, axis: z}}}}
motors: {{turn: {{joint: pin, motor: {{given: {{speed: [0 s 0 rpm, 12 s 60 rpm, 20 s 60 rpm]}}}}}}}}
strips: {{tail: {{on: arm, at: 400 0 1000 mm, length: 300 mm, weight: 20 g/m, drag: false}}}}
run: {{for: 16 s}}
"""


@both
def test_it_leans_out_on_a_turning_arm(engine: object) -> None:
    """Against the shape of an inextensible chain, (T r')' = - w^2 r and (T z')' = g, shot from its free end."""
    w, radius, length = 2 * pi, 0.4, 0.3

    def shape(tip: float) -> np.ndarray:  # r, z, H at s from the tip upwards; V = g s
        def slope(s: float, y: np.ndarray) -> list[float]:
            size = hypot(y[2], G * s)
            return [-y[2] / size, G * s / size, w**2 * y[0]]

        begin = 1e-6
        found = solve_ivp(slope, (begin, length), [tip, 0.0, w**2 * tip * begin], rtol=1e-9, atol=1e-12)
        return np.asarray(found.y[:, -1])

    tip = brentq(lambda v: shape(v)[0] - radius, 0.4, 0.7)
    wanted = degrees(np.arctan2(tip - radius, shape(tip)[1]))
    recording = _run(TURN.format(post=POST), engine, 2e-3)
    seen = []
    for k, laid in enumerate(along(recording.assembly, recording.laws.outside, recording.track)):
        if recording.track.time[k] > 13.0:  # what little it still swings, round it
            place = laid.places[-1] + 0.5 * (laid.places[-1] - laid.places[-2])
            out, down = float(np.hypot(*place[:2])) - radius, 1.0 - float(place[2])
            seen.append(degrees(np.arctan2(out, down)))
    assert float(np.mean(seen)) == pytest.approx(wanted, abs=0.5)
    assert float(np.ptp(seen)) < 6.0


@both
def test_a_board_falls_at_its_last_speed(engine: object) -> None:
    """sqrt(2 m g / rho Cd A): drag equation."""
    text = """
bodies: {board: {drag: 1.2, parts: [{block: 400 x 400 x 3 mm, of: pine, mass: 240 g, at: 0 0 100 mm}]}}
run: {for: 4 s}
"""
    recording = _run(text, engine, 1e-3)
    area = 0.4 * 0.4
    wanted = sqrt(2 * 0.24 * G / (AIR * 1.2 * area))
    assert -recording.track.velocity[-1, 0, 2] == pytest.approx(wanted, rel=5e-3)
    audit = energy(recording)
    assert audit.share is not None
    assert audit.share < 4e-3
    assert audit.air < -0.8 * audit.gravity


@both
def test_a_strip_in_the_wind_leans_by_its_drag(engine: object) -> None:
    """Straight, where the wind square to it carries the weight square to it: rho Cd b V^2 cos^2 a / 2 = w sin a."""
    recording = _run(
        f"""
bodies:
  {POST}
  arm: {{parts: [{{lump: 1 kg, at: 0 0 900 mm}}]}}
joints: {{pin: {{pin: [post, arm], at: 0 0 1000 mm, axis: x}}}}
strips:
  flag: {{on: arm, along: [0 -20 1000 mm, 0 20 1000 mm], count: 1, length: 400 mm, width: 40 mm, weight: 8 g/m}}
wind: {{speed: 3 m/s, toward: x}}
run: {{for: 1 s, wind: true}}
""",
        engine,
        1e-3,
    )
    push = 0.5 * AIR * 1.2 * 0.04 * 9.0
    angle = brentq(lambda v: push * np.cos(v) ** 2 - 0.008 * G * np.sin(v), 0.0, 1.5)
    laid = next(along(recording.assembly, recording.laws.outside, recording.track))
    lean = laid.places[-1] - np.array([0.0, 0.0, 1.0])
    assert np.arctan2(lean[0], -lean[2]) == pytest.approx(angle, rel=2e-3)
    # what the pin bears sideways is the drag across: push cos^2 a cos a, on all of the strip's length
    force = joint_loads(recording).wrenches.force[-1, 0]
    assert abs(force[0]) == pytest.approx(push * np.cos(angle) ** 3 * 0.4, rel=0.01)


SWUNG = """
bodies:
  {post}
  arm: {{drag: true, parts: [{{rod: 20 mm, of: pine, from: 0 0 1000 mm, to: 600 0 1000 mm}}]}}
joints: {{pin: {{pin: [post, arm], at: 0 0 1000 mm, axis: y}}}}
strips: {{rag: {{on: arm, along: [200 0 1000 mm, 590 0 1000 mm], length: 400 mm, width: 50 mm, of: sheet cloth}}}}
run: {{for: 2 s}}
"""


@both
def test_the_work_of_strips_and_air_closes(engine: object) -> None:
    """Work-energy theorem: what gravity gives is held, taken by the air or lost in folds."""
    shares = [energy(_run(SWUNG.format(post=POST), engine, step)).share for step in (1e-3, 5e-4)]
    assert shares[1] is not None
    assert shares[1] < 4e-3
    audit = energy(_run(SWUNG.format(post=POST), engine, 5e-4))
    assert audit.air < -0.1 * audit.gravity


@both
def test_at_rest_the_pin_bears_the_weight(engine: object) -> None:
    text = """
bodies:
  {post}
  bob: {{parts: [{{lump: 500 g, at: 0 0 800 mm}}]}}
joints: {{pin: {{pin: [post, bob], at: 0 0 1000 mm, axis: y}}}}
strips:
  hair:
    {{on: bob, around: {{at: 0 0 800 mm, diameter: 160 mm, open: 90 deg}}, length: 250 mm, width: 30 mm, of: straw}}
run: {{for: 200 ms}}
"""
    recording = _run(text.format(post=POST), engine)
    hair = recording.assembly.rig.strips["hair"]
    assert hair.many == round(0.75 * pi * 160 / 30)
    weight = (0.5 + hair.many * hair.linear * 0.25) * G
    force = joint_loads(recording).wrenches.force[:, 0]
    assert np.abs(force[:, 2] - weight).max() == pytest.approx(0.0, abs=2e-3 * weight)


def test_a_stiff_strip_droops_as_a_cantilever() -> None:
    """w L^4 / 8 E I with E I = w c^3 (Peirce, 1930): 1.56 mm at L = 100 mm, c = 200 mm."""
    hung = _hung(f"""
bodies: {{{POST}}}
strips:
  halm: {{on: post, at: 0 0 0 mm, toward: x, length: 100 mm, weight: 1 g/m, bending: 200 mm, drag: false, links: 12}}
run: {{for: 1 s}}
""")
    tip = hung.places[-1] + 0.5 * (hung.places[-1] - hung.places[-2])
    assert -tip[2] == pytest.approx(0.1**4 / 8 / 0.2**3, rel=0.02)
    hung.step(0.0)
    assert hung.force[0, 2] == pytest.approx(-0.001 * 0.1 * G, rel=1e-4)
    assert hung.moment[0, 1] == pytest.approx(0.001 * 0.1 * G * 0.05, rel=1e-3)


def test_bullet_refuses() -> None:
    with pytest.raises(EngineError, match="carries neither strips nor the drag"):
        _run(SWUNG.format(post=POST), BulletEngine())


@pytest.mark.parametrize(
    ("strip", "said"),
    [
        ("on: pots, at: 0 0 0 mm, length: 1 m, weight: 8 g/m", "not a body of this file"),
        ("on: post, length: 1 m, weight: 8 g/m", "it hangs on a point or an edge"),
        ("on: post, at: 0 0 0 mm, length: 1 m", "it needs a material or a weight"),
        ("on: post, at: 0 0 0 mm, length: 1 m, width: 4 mm, of: stray", "not a fabric of the catalogue"),
        ("on: post, at: 0 0 0 mm, length: 1 m, of: straw", "a strip at one point has a width"),
        ("on: post, at: 0 0 0 mm, length: 1 m, weight: 8 g/m, drag: 9", "not a drag coefficient"),
        ("on: post, along: [0 0 0 mm], length: 1 m, weight: 8 g/m", "two points or more"),
        (
            "on: post, at: 0 0 0 mm, to: {on: post, at: 2000 0 0 mm}, length: 1 m, weight: 8 g/m",
            "its two ends are 2000 mm apart",
        ),
    ],
)
def test_what_is_wrong_is_said(strip: str, said: str) -> None:
    with pytest.raises(RigError, match=said):
        _hung(f"bodies: {{{POST}}}\nstrips: {{rag: {{{strip}}}}}\nrun: {{for: 1 s}}\n")


def test_wind_in_the_run_needs_a_direction() -> None:
    with pytest.raises(RigError, match="how fast and where to"):
        _hung(f"bodies: {{{POST}}}\nwind: {{speed: 3 m/s}}\nrun: {{for: 1 s, wind: true}}\n")


def test_a_strip_heavier_than_its_arm_stays_steady() -> None:
    """24 g on an arm of some 6 g, dropped: both engines tell one peak."""
    text = """
bodies:
  {post}
  arm: {{parts: [{{rod: 6 mm, of: pine, from: 0 0 1000 mm, to: 400 0 1000 mm}}]}}
joints: {{pin: {{pin: [post, arm], at: 0 0 1000 mm, axis: y}}}}
strips: {{rag: {{on: arm, at: 380 0 1000 mm, length: 400 mm, width: 40 mm, weight: 60 g/m}}}}
run: {{for: 700 ms}}
"""
    one, two = (joint_loads(_run(text.format(post=POST), engine, 2.5e-4)) for engine in ENGINES)
    assert one.lines[0].value == pytest.approx(two.lines[0].value, rel=0.01)
    assert 3.0 < one.lines[0].value < 4.0


def test_a_recording_holds_what_strips_did(tmp_path: Path) -> None:
    recording = _run(SWUNG.format(post=POST).replace("for: 2 s", "for: 200 ms"), ENGINES[0], 1e-3)
    save_recording(recording, tmp_path / "rags.npz")
    again = load_recording(tmp_path / "rags.npz")
    assert np.array_equal(again.track.outer_force, recording.track.outer_force)
    assert energy(again) == energy(recording)
    peaks = {p.key: p.value for p in joint_loads(again).lines}
    assert peaks.keys() == {"strip.rag.load", "air.arm.load"}
    assert peaks["strip.rag.load"] > 0.1


def test_strips_are_drawn_where_they_hang(tmp_path: Path) -> None:
    recording = _run(SWUNG.format(post=POST).replace("for: 2 s", "for: 300 ms"), ENGINES[0], 1e-3)
    prop = recording.assembly
    (drape,) = drapes(prop)
    corners = placed(drape, frames_now(prop)).vertices
    assert corners[:, 0].min() == pytest.approx(0.2, abs=0.01)
    assert corners[:, 0].max() == pytest.approx(0.59, abs=0.01)
    assert corners[:, 2].max() == pytest.approx(1.0, abs=1e-6)
    assert corners[:, 2].min() == pytest.approx(0.6, abs=2e-3)  # the longest threads of the ragged edge
    # a moment later the ribbon passes within the thickness of its folds of the points of the chains
    track = with_strips(prop, recording.track)
    last = list(along(prop, recording.laws.outside, recording.track))[-1]
    now = placed(drape, track.frames[-1]).vertices
    for point in last.places:
        assert np.linalg.norm(now - point, axis=1).min() < 0.012
    file = write_glb(prop, recording.track, tmp_path / "rags.glb")
    text = file.read_bytes()
    document = json.loads(text[20 : 20 + int.from_bytes(text[12:16], "little")])
    (skin,) = document["skins"]
    assert len(skin["joints"]) == len(frames_now(prop))
    assert "rag" in [mesh["name"] for mesh in document["meshes"]]
