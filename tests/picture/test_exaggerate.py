"""Bending drawn larger than it is: so many times, joined up, and said."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import actuate
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.geometry.turning import of_vector, rotate
from simprop.picture.render.exaggerate import carried, exaggerated
from simprop.picture.render.film import Shot, prepare, still
from simprop.picture.render.framing import movers
from simprop.rig.load import parse_rig
from tests.bending.rigs import LENGTH, PIPE, STIFF, mast

LOOP = f"""
rig: 1
name: Loop
bodies:
  ground: {{fixed: true}}
  crank: {{parts: [{{bar: 25 x 5 mm, of: steel, from: 0 0 0 mm, to: 0 0 100 mm}}]}}
  rod:
    bends: {{pieces: 6}}
    parts: [{{{PIPE}, from: 0 0 100 mm, to: 600 0 100 mm}}]
  rocker: {{parts: [{{bar: 25 x 5 mm, of: steel, from: 600 0 0 mm, to: 600 0 100 mm}}]}}
  flag: {{parts: [{{ball: 40 mm, mass: 0.1 kg, at: 300 0 160 mm}}]}}
joints:
  shaft: {{pin: [ground, crank], at: 0 0 0 mm, axis: y}}
  one: {{pin: [crank, rod], at: 0 0 100 mm, axis: y}}
  two: {{pin: [rod, rocker], at: 600 0 100 mm, axis: y}}
  foot: {{pin: [ground, rocker], at: 600 0 0 mm, axis: y}}
  pole: {{fixed: [rod, flag], at: 300 0 100 mm}}
run: {{for: 1 s}}
"""


UP = ("mast", np.zeros(3), np.array([0.0, 0.0, 1.0]))


def held(assembly: Assembly, moved: dict[int, tuple[np.ndarray, np.ndarray]]) -> Trajectory:
    """Two rows of a motion: the start pose, and one where some bodies lie at a place with a rotation vector."""
    count = len(assembly.bodies)
    position = np.array([[b.com for b in assembly.bodies]] * 2)
    rotation = np.zeros((2, count, 4))
    rotation[..., 3] = 1.0
    for i, (place, vector) in moved.items():
        position[1, i], rotation[1, i] = place, of_vector(vector)
    none, three = np.zeros((2, 0)), np.zeros((2, count, 3))
    lines = np.zeros((2, 0, 3))
    return Trajectory(
        0.04, np.array([0.0, 0.04]), position, rotation, three, three, three, three, none, none,
        np.zeros((2, 5, 0)), none, lines, lines, none, none,
    )  # fmt: skip


def nodes(assembly: Assembly, line: tuple[str, np.ndarray, np.ndarray]) -> list[tuple[int, float]]:
    """Pieces of a member and where their nodes lie along it, m: half-way between seams, and its ends."""
    name, start, way = line
    (member,) = (m for m in assembly.members if m.whole.name == name)
    cuts = sorted(float((assembly.joints[j].point - start) @ way) for j in member.seams)
    places = [0.0, *((a + b) / 2 for a, b in itertools.pairwise(cuts)), LENGTH]
    order = sorted(member.bodies, key=lambda i: float((assembly.bodies[i].com - start) @ way))
    return list(zip(order, places, strict=True))


def under_load(assembly: Assembly, force: float) -> Trajectory:
    """The mast with a force across its end, N: its nodes as the chain of springs has them, small turns."""
    moved = {}
    for i, z in nodes(assembly, UP):
        gone, turned = bent(force, z)
        arm = np.array([0.0, 0.0, z]) - assembly.bodies[i].com
        vector = np.array([0.0, turned, 0.0])
        moved[i] = (np.array([gone, 0.0, z]) - rotate(of_vector(vector), arm), vector)
    return held(assembly, moved)


def bent(force: float, x: float) -> tuple[float, float]:
    """Deflection, m, and slope of a cantilever with a force at its end: P x^2 (3 L - x) / (6 E I), any handbook."""
    return force * x**2 * (3 * LENGTH - x) / (6 * STIFF), force * x * (2 * LENGTH - x) / (2 * STIFF)


def test_bending_is_drawn_so_many_times_and_what_hangs_on_it_follows() -> None:
    assembly = assemble(parse_rig(mast(0.3, bends="{pieces: 4}")))
    force = 3 * STIFF / LENGTH**3 * 1e-5
    true = under_load(assembly, force)
    five = exaggerated(assembly, actuate(assembly), true, 5.0)
    for i, z in nodes(assembly, UP):
        arm = np.array([0.0, 0.0, z]) - assembly.bodies[i].com
        place = five.position[1, i] + rotate(five.rotation[1, i], arm)
        assert place[0] == pytest.approx(5 * bent(force, z)[0], abs=1e-9)
        assert Rotation.from_quat(five.rotation[1, i]).as_rotvec()[1] == pytest.approx(
            5 * bent(force, z)[1], abs=1e-9
        )
    assert five.position[0] == pytest.approx(true.position[0], abs=1e-12)
    assert exaggerated(assembly, actuate(assembly), true, 1.0) is true


def test_a_loop_is_kept_closed() -> None:
    """A rod between two pins sags: five times in its middle; its pins and all rigid bodies stay, a flag follows."""
    assembly = assemble(parse_rig(LOOP))
    sag = 0.01
    moved = {}
    for i, x in nodes(assembly, ("rod", np.array([0.0, 0.0, 0.1]), np.array([1.0, 0.0, 0.0]))):
        z, slope = -sag * math.sin(math.pi * x / 0.6), -sag * math.pi / 0.6 * math.cos(math.pi * x / 0.6)
        vector = np.array([0.0, -slope, 0.0])
        arm = np.array([x, 0.0, 0.1]) - assembly.bodies[i].com
        moved[i] = (np.array([x, 0.0, 0.1 + z]) - rotate(of_vector(vector), arm), vector)
    flag = next(i for i, b in enumerate(assembly.bodies) if b.name == "flag")
    moved[flag] = (assembly.bodies[flag].com + np.array([0, 0, -sag]), np.zeros(3))
    true = held(assembly, moved)
    five = exaggerated(assembly, actuate(assembly), true, 5.0)
    for joint in assembly.joints:
        if joint.give is None:
            places = [
                five.position[1, i] + rotate(five.rotation[1, i], joint.point - assembly.bodies[i].com)
                for i in (joint.first, joint.second)
            ]
            assert places[0] == pytest.approx(places[1], abs=1e-9), joint.name
    for i, body in enumerate(assembly.bodies):
        if body.member is None and body.name != "flag":
            assert five.position[1, i] == pytest.approx(true.position[1, i], abs=1e-12)
    assert five.position[1, flag] - assembly.bodies[flag].com == pytest.approx(
        [0, 0, -5 * sag], abs=0.005 * 5 * sag
    )


def test_much_drawn_larger_it_keeps_its_length() -> None:
    """An arc of 0.15 rad becomes one of 1.5 rad: as long, with its end where that of such an arc is."""
    assembly = assemble(parse_rig(mast(bends="{pieces: 4}")))
    moved = {}
    for i, z in nodes(assembly, UP):
        angle, radius = 0.15 * z / LENGTH, LENGTH / 0.15
        place = radius * np.array([1 - math.cos(angle), 0.0, math.sin(angle)])
        vector = np.array([0.0, angle, 0.0])
        arm = np.array([0.0, 0.0, z]) - assembly.bodies[i].com
        moved[i] = (place - rotate(of_vector(vector), arm), vector)
    track = exaggerated(assembly, actuate(assembly), held(assembly, moved), 10.0)
    end = LENGTH / 1.5 * np.array([1 - math.cos(1.5), 0.0, math.sin(1.5)])
    drawn = [
        track.position[1, i] + rotate(track.rotation[1, i], np.array([0.0, 0.0, z]) - assembly.bodies[i].com)
        for i, z in nodes(assembly, UP)
    ]
    assert drawn[-1] == pytest.approx(end, abs=0.01 * LENGTH)
    chords = [float(np.linalg.norm(b - a)) for a, b in itertools.pairwise(drawn)]
    half = 0.75 / len(
        chords
    )  # rigid halves that meet in a seam: each chord is the element's by the cosine of that
    assert sum(chords) == pytest.approx(LENGTH * math.cos(half), rel=0.002)


def test_a_clip_says_so() -> None:
    """Only the picture of what is drawn larger differs, with words in its band."""
    assembly = assemble(parse_rig(mast(bends="{pieces: 4}")))
    track = under_load(assembly, 3 * STIFF / LENGTH**3 * 0.004)
    shot = Shot(size=(420, 480), title="")
    plain, said = (
        still(prepare(assembly, track, replace(shot, note=note)), 0) for note in ("", "bend drawn 5 times")
    )
    rows, columns, _ = np.nonzero(plain != said)
    assert rows.min() > 440
    assert np.ptp(columns) > 100


def test_a_point_on_a_piece_goes_with_it_and_nothing_is_nothing() -> None:
    """Arrows at joints follow; a rig that doesn't bend is refused."""
    assembly = assemble(parse_rig(mast(bends="{pieces: 4}")))
    true = under_load(assembly, 3 * STIFF / LENGTH**3 * 1e-5)
    five = exaggerated(assembly, actuate(assembly), true, 5.0)
    tip, _ = nodes(assembly, UP)[-1]
    point = true.position[:, tip] + rotate(
        true.rotation[:, tip], np.array([0.0, 0.0, LENGTH]) - assembly.bodies[tip].com
    )
    assert carried(true, five, tip, point)[1, 0] == pytest.approx(5 * point[1, 0], abs=1e-9)
    rigid = assemble(parse_rig(mast(bends="false")))
    with pytest.raises(RenderError, match="nothing bends"):
        exaggerated(rigid, actuate(rigid), held(rigid, {}), 2.0)


def test_a_member_is_framed_as_a_whole() -> None:
    """Its piece at the foot hardly moves, and still belongs to what the camera takes as moving."""
    assembly = assemble(parse_rig(mast(0.3, bends="{pieces: 8}")))
    vector = np.array([0.0, 0.4, 0.0])
    moved = {
        i: (rotate(of_vector(vector), b.com), vector) for i, b in enumerate(assembly.bodies) if not b.fixed
    }
    film = prepare(assembly, held(assembly, moved), Shot())
    assert set(assembly.members[0].bodies) <= set(movers(assembly, film.scene, film.poses))
