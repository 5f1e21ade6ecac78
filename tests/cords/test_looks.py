"""Cords are drawn along their whole way, and slack ones hang through."""

from __future__ import annotations

import json
import struct
from math import pi

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.picture.chart.pieces import pieces, pose_at
from simprop.picture.export.gltf import write_glb
from simprop.picture.render.cords import along_cords, with_cords
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.cords.test_cords import DRUM, FALL, WHEEL, two

STILL = np.array([0.0, 0.0, 0.0, 1.0])


def drawn(text):
    assembly = assemble(parse_rig(text))
    position = np.array([[b.com for b in assembly.bodies]])
    start, end = along_cords(assembly, position, np.tile(STILL, (1, len(assembly.bodies), 1)))
    assert np.allclose(start[0, 1:], end[0, :-1], atol=1e-9)  # one line
    return assembly, np.concatenate([start[0], end[0, -1:]])


def length(path):
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())


def test_it_goes_round_a_wheel():
    _, path = drawn(two(WHEEL))
    assert path[:, 2].max() == pytest.approx(0.55, abs=1e-6)
    assert length(path) == pytest.approx(1.0 + 0.05 * pi, rel=1e-3)


def test_a_slack_cord_is_drawn_as_long_as_it_is_and_sags_aside():
    _, path = drawn(FALL.replace("slack: 50 mm", "slack: 20 mm"))
    assert length(path) == pytest.approx(0.52, rel=5e-3)
    assert np.abs(path[:, :2]).max() > 0.03


def test_a_drum_has_a_turn_on_it():
    _, path = drawn(DRUM)
    assert length(path) == pytest.approx(0.3 + 2 * pi * 0.02, rel=3e-3)


def test_drawings_and_exports_have_it(tmp_path):
    assembly = assemble(
        parse_rig(
            two(WHEEL, more="post: {fixed: true, parts: [{block: 20 x 20 x 300 mm, of: pine, at: 0 0 0 mm}]}")
        )
    )
    names = [p.name for p in pieces(assembly, pose_at(assembly, None, 0.0), looks=True)]
    assert names.count("cord rope") == 1
    run = simulate(assembly.rig, "mujoco", settle=False, step=5e-3)
    track = with_cords(assembly, run.recording.track)
    assert track.line_start.shape[1] > run.recording.track.line_start.shape[1]
    path = write_glb(assembly, run.recording.track, tmp_path / "a.glb")
    content = path.read_bytes()
    (size,) = struct.unpack("<I", content[12:16])
    nodes = [n.get("name", "") for n in json.loads(content[20 : 20 + size])["nodes"]]
    assert sum(n.startswith("rope") for n in nodes) > 20
