"""The page of a prop moves as its recording does, opens offline in a browser, plays, and fits a phone."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pygltflib
import pytest
from scipy.spatial.transform import Rotation, Slerp

from simprop.assembly.types import Assembly
from simprop.commands.page import page_of
from simprop.engine.world import Trajectory
from simprop.picture.render.cords import with_cords
from simprop.picture.render.strips import with_strips
from simprop.recording import load_recording, save_recording
from simprop.rig.load import load_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.page.held import Held, Replay, held

RIGS = Path(__file__).parents[2] / "rigs"
LARGEST = 4e6
"""Size of a page, bytes."""
NEAR = 1e-3
"""How far anything may be from the recording, m."""
TRIED = {
    "wall_peeper": {"run.for": "0.4 s"},
    "flap_owl": {"run.for": "0.3 s"},  # springs
    "well_ghost": {"run.for": "0.6 s"},  # a cord on a drum
    "night_watch": {"run.for": "0.15 s"},  # strips of straw
}
DRAWN_IN_SOFTWARE = ("--use-angle=swiftshader", "--enable-unsafe-swiftshader")
QUIET = ("log: ", "warning: THREE.Clock", "warning: [.WebGL")
"""What the viewer says of itself, and what a browser says of drawing without a graphics card."""


def written(name: str, folder: Path) -> tuple[Run, Path]:
    """A run and its page, made of its recording."""
    run = simulate(load_rig(RIGS / f"{name}.yaml", TRIED[name]), settle=False)
    save_recording(run.recording, folder / "recording.npz")
    page_of(folder / "recording.npz", {}, None, None, settle=False)
    return Run(load_recording(folder / "recording.npz")), folder / "moving.html"


@pytest.fixture(scope="module")
def peeper(tmp_path_factory: pytest.TempPathFactory) -> tuple[Run, Path]:
    return written("wall_peeper", tmp_path_factory.mktemp("peeper"))


@pytest.mark.parametrize("name", TRIED)
def test_moves_as_recorded(name: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    made = request.getfixturevalue("peeper") if name == "wall_peeper" else written(name, tmp_path)
    run, file = made
    assert file.stat().st_size < LARGEST
    assert off(run, held(file.read_text())) < NEAR


def off(run: Run, found: Held) -> float:
    """How far anything in a page is from the recording at ten of its times, m."""
    times = np.unique([t for t, _ in found.messages])
    track = with_strips(run.assembly, with_cords(run.assembly, run.track))
    assert abs(times[-1] - run.track.time[-1]) < 0.05
    worst = 0.0
    for time in times[np.unique(np.linspace(0, len(times) - 1, 10).astype(int))]:
        shown = found.until(time)
        worst = max(worst, *bodies_off(run.assembly, run.track, shown, time))
        worst = max(worst, *cords_off(run.assembly, track, (found, shown), time), 0.0)
        worst = max(worst, *strips_off(run.assembly, track, (found, shown), time), 0.0)
    return worst


def corners(glb: bytes) -> np.ndarray:
    """Vertices of a .glb in its own frame, (v, 3) m."""
    file = pygltflib.GLTF2.load_from_bytes(glb)
    blob, rows = file.binary_blob(), []
    for primitive in file.meshes[0].primitives:
        accessor = file.accessors[primitive.attributes.POSITION]
        start = file.bufferViews[accessor.bufferView].byteOffset
        rows.append(np.frombuffer(blob, "<f4", 3 * accessor.count, start).reshape(-1, 3))
    return np.concatenate(rows)


def bodies_off(assembly: Assembly, track: Trajectory, shown: Replay, time: float) -> Iterator[float]:
    """Each body's vertices against its recorded places and turns, taken between rows by scipy's Slerp."""
    drawn = 0
    for i, body in enumerate(assembly.bodies):
        name = f"/prop/{body.name}"
        if name not in shown.props:
            continue
        drawn += 1
        local = corners(shown.props[name]["glb_data"])
        at = np.clip(time, track.time[0], track.time[-1])
        place = [np.interp(at, track.time, track.position[:, i, k]) for k in range(3)]
        turn = Slerp(track.time, Rotation.from_quat(track.rotation[:, i]))(at)
        yield float(np.linalg.norm(place + turn.apply(local) - shown.at(name, local), axis=1).max())
    assert drawn >= len([b for b in assembly.bodies if not b.fixed])


def cords_off(
    assembly: Assembly, track: Trajectory, page: tuple[Held, Replay], time: float
) -> Iterator[float]:
    """The ends of the pieces of each cord, and of springs and straight drives."""
    found, shown = page
    ends = [
        np.array(
            [[np.interp(time, track.time, line[:, k, i]) for i in range(3)] for k in range(line.shape[1])]
        )
        for line in (track.line_start, track.line_end)
    ]
    first = len(assembly.rig.lines)
    if assembly.rig.cords:
        points = np.concatenate(
            [found.array(shown.props[f"/cords/{c}"]["points"]) for c in assembly.rig.cords]
        ).reshape(-1, 2, 3)
        yield float(np.abs(points - np.stack([e[first:] for e in ends], axis=1)).max())
    for k, (name, _) in enumerate(assembly.rig.lines):
        node = f"/prop/{name}/length"
        if node in shown.props:
            seen = shown.at(node, np.array([[0.0, 0, 0], [1.0, 0, 0]]))
            yield float(np.linalg.norm(seen - [ends[0][k], ends[1][k]], axis=1).max())


def strips_off(
    assembly: Assembly, track: Trajectory, page: tuple[Held, Replay], time: float
) -> Iterator[float]:
    """The frames of all strips, whose order is that of the nodes."""
    if not assembly.rig.strips:
        return
    _, shown = page
    row = int(np.argmin(np.abs(track.frame_time - time)))  # type: ignore[attr-defined]
    frames = track.frames[row]  # type: ignore[attr-defined]
    places = np.array([place for place, _ in shown.bones.values()])
    assert len(places) == len(frames)
    near = np.linalg.norm(places[:, None] - frames[None, :, :, 3], axis=2).min(axis=1)
    yield float(near.max())
