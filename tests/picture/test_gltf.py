"""The .glb as a general-purpose reader sees it (pygltflib for the animation, trimesh for the shapes)."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation, Slerp

from simprop.assembly.types import Assembly
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.geometry.turning import matrices
from simprop.picture.export.gltf import key_rows, write_glb
from simprop.picture.render.motion import poses_at
from tests.picture.props import motion

pygltflib = pytest.importorskip("pygltflib")
KINDS = {"SCALAR": 1, "VEC3": 3, "VEC4": 4}


@pytest.fixture(scope="module")
def glb(peeper: Assembly, run: Trajectory, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_glb(peeper, run, tmp_path_factory.mktemp("glb") / "peeper.glb")


def rows(document: object, index: int) -> np.ndarray:
    entry = document.accessors[index]  # type: ignore[attr-defined]
    view = document.bufferViews[entry.bufferView]  # type: ignore[attr-defined]
    width = KINDS[entry.type]
    data = document.binary_blob()  # type: ignore[attr-defined]
    start = (view.byteOffset or 0) + (entry.byteOffset or 0)
    count = entry.count * width
    kind = {5126: "f", 5125: "I"}[entry.componentType]
    return np.array(struct.unpack_from(f"<{count}{kind}", data, start)).reshape(entry.count, width)


def test_animation_matches_the_recording(glb: Path, peeper: Assembly, run: Trajectory) -> None:
    """Every vertex of every moving body within 1e-4 m at ten times, keys interpolated as glTF says."""
    document = pygltflib.GLTF2().load(str(glb))
    (animation,) = document.animations
    names = [node.name for node in document.nodes]
    times = np.linspace(0.013, 1.977, 10)
    at = times + run.time[0]
    poses = poses_at(peeper, run, at)
    for b, body in enumerate(peeper.bodies):
        if body.fixed:
            continue
        node = names.index(body.name)
        tracks = {
            c.target.path: animation.samplers[c.sampler] for c in animation.channels if c.target.node == node
        }
        keys = rows(document, tracks["translation"].input)[:, 0]
        places = rows(document, tracks["translation"].output)
        shift = np.stack([np.interp(times, keys, places[:, k]) for k in range(3)], axis=1)
        turn = Slerp(keys, Rotation.from_quat(rows(document, tracks["rotation"].output)))(times).as_matrix()
        mesh = document.meshes[document.nodes[node].mesh]
        points = np.concatenate([rows(document, p.attributes.POSITION) for p in mesh.primitives])
        shown = np.einsum("nij,vj->nvi", turn, points) + shift[:, None]
        exact = np.einsum("nij,vj->nvi", poses.turn[:, b], points) + poses.shift[:, b, None]
        assert np.linalg.norm(shown - exact, axis=2).max() < 1e-4


def test_file_is_well_formed(glb: Path) -> None:
    """The rules of the glTF 2.0 specification that readers trip over."""
    data = glb.read_bytes()
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    document = pygltflib.GLTF2().load(str(glb))
    assert document.buffers[0].byteLength <= len(document.binary_blob())
    for entry in document.accessors:
        view = document.bufferViews[entry.bufferView]
        assert view.byteOffset % 4 == 0
        assert view.byteOffset + view.byteLength <= document.buffers[0].byteLength
    for mesh in document.meshes:
        for primitive in mesh.primitives:
            position = document.accessors[primitive.attributes.POSITION]
            values = rows(document, primitive.attributes.POSITION)
            assert position.min == pytest.approx(values.min(axis=0).tolist(), abs=1e-6)
            assert position.max == pytest.approx(values.max(axis=0).tolist(), abs=1e-6)
            assert rows(document, primitive.indices).max() < position.count
            normals = rows(document, primitive.attributes.NORMAL)
            assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0, abs=1e-4)
    for sampler in document.animations[0].samplers:
        keys = document.accessors[sampler.input]
        values = rows(document, sampler.input)[:, 0]
        assert (np.diff(values) > 0).all()
        assert keys.min[0] == 0.0
        assert keys.max[0] == pytest.approx(float(values[-1]))
        assert document.accessors[sampler.output].count == keys.count


def test_shapes_stand_upright_for_a_y_up_viewer(glb: Path, peeper: Assembly) -> None:
    scene = trimesh.load(str(glb))
    low, high = scene.bounds
    assert low[1] == pytest.approx(0.0, abs=0.005)
    assert 1.0 < high[1] < 1.4
    assert len(scene.geometry) > 40


def test_keys_are_as_many_as_it_takes(peeper: Assembly) -> None:
    slow, fast = motion(peeper, 1.0, turns=0.2), motion(peeper, 1.0, turns=4.0)
    reach = np.array([0.5, 0.1, 0.2, 0.5])
    few, many = key_rows(slow, reach, 5e-5), key_rows(fast, reach, 5e-5)
    assert len(few) < len(many) <= len(fast.time)
    assert many[0] == 0
    assert many[-1] == len(fast.time) - 1


def test_quaternions_of_the_recording_are_used(run: Trajectory) -> None:
    assert matrices(run.rotation[100]) == pytest.approx(
        Rotation.from_quat(run.rotation[100]).as_matrix(), abs=1e-12
    )


def test_other_endings_are_refused(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    with pytest.raises(RenderError, match=r"doesn't end in \.glb"):
        write_glb(peeper, run, tmp_path / "peeper.gltf")
