"""Members that bend as they are drawn: one smooth skin, more of the bend, and the same skin in the glTF file."""

from __future__ import annotations

import itertools
import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from simprop.commands.clip import drawn_track
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.geometry.turning import matrices
from simprop.picture.export.gltf import write_glb
from simprop.picture.render.bent import finely, skin
from simprop.picture.render.exaggerate import exaggerated
from simprop.picture.render.film import Shot, prepare, still
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.bending.rigs import LENGTH, MASS, OUTSIDE, STIFF, mast

G = 9.80665
WEIGHT = 0.3


@cache
def hung(begin: str = "sagged", bends: str = "{pieces: 6}") -> Run:
    """A pipe that sticks out sideways with a weight at its end, at rest."""
    run = f"{{for: 20 ms, step: 1 ms, begin: {begin}}}"
    text = mast(WEIGHT, bends=bends, to="600 0 0 mm", run=run)
    return simulate(parse_rig(text), "exudyn", settle=False)


def straight_rows(run: Run) -> dict[str, np.ndarray]:
    """Places and turns of the start pose in every row."""
    still = np.zeros_like(run.track.rotation)
    still[..., 3] = 1.0
    coms = np.array([b.com for b in run.assembly.bodies])
    return {"position": np.broadcast_to(coms, run.track.position.shape), "rotation": still}


def drawn(
    run: Run, track: Trajectory, row: int, blended: bool = True, plainly: bool = False
) -> list[tuple[int, np.ndarray]]:
    """Vertices of each length of the member in the world, with its piece; `plainly`: without the cubic between."""
    turn, shift = matrices(track.rotation[row]), track.position[row]
    found = []
    for i in run.assembly.members[0].bodies:
        for shape, bends in finely(run.assembly, i):
            for surface in shape.surfaces() if bends else []:
                follow = skin(run.assembly, i, surface.vertices)
                base, moved = follow.place, follow.place + follow.offset
                if plainly or not blended:
                    coms = np.array([b.com for b in run.assembly.bodies])
                    base, moved = surface.vertices, surface.vertices + coms[i] - coms[follow.other]
                own = base @ turn[i].T + shift[i]
                there = np.einsum("vij,vj->vi", turn[follow.other], moved) + shift[follow.other]
                found.append((i, own + follow.share[:, None] * (there - own) if blended else own))
    return found


def test_the_middle_line_is_the_deflection_curve() -> None:
    """P x^2 (3 L - x) / 6 E I and the pipe's own weight w x^2 (x^2 + 6 L^2 - 4 L x) / 24 E I, any handbook."""
    run = hung()
    tip = WEIGHT * G * LENGTH**3 / (3 * STIFF)
    before = drawn(run, replace(run.track, **straight_rows(run)), 5)
    rings = 0
    for (_, straight), (_, bent) in zip(before, drawn(run, run.track, 5), strict=True):
        for x in np.unique(np.round(straight[:, 0], 6)):
            ring = bent[np.abs(straight[:, 0] - x) < 2e-6]
            if len(ring) < 8:
                continue
            own = MASS * G / LENGTH * x**2 * (x**2 + 6 * LENGTH**2 - 4 * LENGTH * x) / (24 * STIFF)
            exact = WEIGHT * G * x**2 * (3 * LENGTH - x) / (6 * STIFF) + own
            middle = (ring[:, 2].max() + ring[:, 2].min()) / 2
            assert -middle == pytest.approx(exact, abs=0.01 * tip)
            rings += 1
    assert rings > 40


def test_pieces_meet_without_a_step() -> None:
    run = hung()
    track = exaggerated(run.assembly, run.laws, run.track, 10.0)

    def worst(blended: bool) -> float:
        rows = drawn(run, track, 5, blended)
        gaps = []
        for (i, one), (j, two) in itertools.pairwise(rows):
            if i != j:  # the last ring of a piece and the first of the next
                near = np.linalg.norm(one[:, None] - two[None], axis=2).min(axis=1)
                gaps.append(np.sort(near)[: len(near) // 4].max())
        return float(max(gaps))

    assert worst(blended=True) < 1e-6
    assert worst(blended=False) > 1e-4


def test_straight_it_looks_as_the_rigid_one() -> None:
    shot = Shot(size=(320, 240), plain=True, view="front")
    pictures = []
    for bends in ("{pieces: 6}", "false"):
        run = hung("straight", bends)
        film = prepare(run.assembly, run.track, shot, times=np.array([0.0]))
        pictures.append(still(film, 0).astype(int))
    apart = np.abs(pictures[0] - pictures[1])
    assert (apart.max(axis=2) > 24).mean() < 0.002
    assert apart.mean() < 0.3


def test_five_times_the_bend() -> None:
    run = hung()
    more = exaggerated(run.assembly, run.laws, run.track, 5.0)
    tip = run.assembly.members[0].bodies[-1]
    gone = [t.position[5, tip] - run.assembly.bodies[tip].com for t in (run.track, more)]
    assert gone[1][2] / gone[0][2] == pytest.approx(5.0, rel=0.06)  # finite turns: a little less
    assert drawn_track(run, 1.0) is run.track
    assert exaggerated(run.assembly, run.laws, run.track, 1.0).position == pytest.approx(
        run.track.position, abs=1e-9
    )


def test_nothing_that_bends_can_t_be_exaggerated() -> None:
    with pytest.raises(RenderError, match="nothing bends"):
        drawn_track(hung("straight", "false"), 5.0)


def test_the_skin_in_the_file_is_the_one_of_the_clip(tmp_path: Path) -> None:
    run = hung()
    path = write_glb(run.assembly, run.track, tmp_path / "mast.glb")
    data = path.read_bytes()
    size = int.from_bytes(data[12:16], "little")
    head, blob = json.loads(data[20 : 20 + size]), data[28 + size :]

    def rows(index: int) -> np.ndarray:
        entry = head["accessors"][index]
        view = head["bufferViews"][entry["bufferView"]]
        kind = {5126: "<f4", 5125: "<u4", 5123: "<u2"}[entry["componentType"]]
        width = {"SCALAR": 1, "VEC3": 3, "VEC4": 4, "MAT4": 16}[entry["type"]]
        start = view["byteOffset"]
        return np.frombuffer(blob, kind, entry["count"] * width, start).reshape(entry["count"], width)

    (skin_,) = head["skins"]
    node = next(n for n in head["nodes"] if "skin" in n)
    bind = rows(skin_["inverseBindMatrices"]).reshape(-1, 4, 4).transpose(0, 2, 1)
    joints = []
    for number in skin_["joints"]:
        own, matrix = head["nodes"][number], np.eye(4)
        matrix[:3, :3] = matrices(np.array([own["rotation"]]))[0]
        matrix[:3, 3] = own["translation"]
        joints.append(matrix)
    pull = np.array(joints) @ bind
    found = []
    for primitive in head["meshes"][node["mesh"]]["primitives"]:
        at = primitive["attributes"]
        place = np.hstack([rows(at["POSITION"]), np.ones((head["accessors"][at["POSITION"]]["count"], 1))])
        which, weight = rows(at["JOINTS_0"]), rows(at["WEIGHTS_0"])
        assert weight.sum(axis=1) == pytest.approx(1.0, abs=1e-6)
        found.append(np.einsum("vk,vkij,vj->vi", weight, pull[which], place)[:, :3])
    plain, clip = (np.concatenate([v for _, v in drawn(run, run.track, 0, plainly=p)]) for p in (True, False))
    assert np.concatenate(found) == pytest.approx(plain, abs=2e-6)
    tip = (
        WEIGHT * G * LENGTH**3 / (3 * STIFF)
    )  # a skin of joints has no cubic: within k h^2 / 8 of the clip's
    assert np.abs(plain - clip).max() < 0.02 * tip
    assert np.ptp(clip[:, 1]) == pytest.approx(OUTSIDE, rel=0.02)
