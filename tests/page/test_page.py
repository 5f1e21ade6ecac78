"""The page of a prop moves as its recording does, opens offline in a browser, plays, and fits a phone."""

from __future__ import annotations

import html
import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pygltflib
import pytest
from PIL import Image
from scipy.spatial.transform import Rotation, Slerp
from typer.testing import CliRunner

from simprop.assembly.types import Assembly
from simprop.cli import app
from simprop.commands.page import page_of
from simprop.engine.world import Trajectory
from simprop.errors import RenderError, WriteError
from simprop.picture.render.cords import with_cords
from simprop.picture.render.motion import poses_at
from simprop.picture.render.scene import build_scene
from simprop.picture.render.strips import with_strips
from simprop.recording import load_recording, save_recording
from simprop.rig.load import load_rig, parse_rig
from simprop.rig.model import Rig
from simprop.run.run import Run
from simprop.run.simulate import simulate
from tests.notes.browser import Watched, opened
from tests.page.held import Held, Replay, held

RIGS = Path(__file__).parents[2] / "rigs"
LARGEST = 4e6
"""Size of a page, bytes."""
NEAR = 1e-3
"""How far anything may be from the recording, m."""
TRIED = {
    "wall_peeper": {"run.for": "0.4 s"},
    "well_ghost": {"run.for": "0.6 s"},  # a cord on a drum
    "night_watch": {"run.for": "0.15 s"},  # strips of straw
}
BENDING = """
rig: 1
name: Springy arm
bodies:
  post: {fixed: true, parts: [{bar: 30 x 30 mm, of: pine, from: 0 0 0 mm, to: 0 0 500 mm}]}
  arm: {bends: {pieces: 3}, parts: [{pipe: 1/2 in PVC, from: 0 0 500 mm, to: 900 0 500 mm}]}
joints: {hook: {pin: [post, arm], at: 0 0 500 mm, axis: y}}
springs: {up: {extension: [post, arm], from: 0 0 200 mm, to: 300 0 500 mm, free_length: 250 mm, rate: 500 N/m}}
run: {for: 0.3 s}
"""
DRAWN_IN_SOFTWARE = ("--use-angle=swiftshader", "--enable-unsafe-swiftshader")
QUIET = ("log: ", "warning: THREE.Clock", "warning: [.WebGL")
"""What the viewer says of itself, and what a browser says of drawing without a graphics card."""


def written(rig: Rig, folder: Path) -> tuple[Run, Path]:
    """A run and its page, made of its recording."""
    run = simulate(rig, settle=False)
    save_recording(run.recording, folder / "recording.npz")
    page_of(folder / "recording.npz", {}, None, None, settle=False)
    return Run(load_recording(folder / "recording.npz")), folder / "moving.html"


@pytest.fixture(scope="module")
def peeper(tmp_path_factory: pytest.TempPathFactory) -> tuple[Run, Path]:
    return written(
        load_rig(RIGS / "wall_peeper.yaml", TRIED["wall_peeper"]), tmp_path_factory.mktemp("peeper")
    )


@pytest.mark.parametrize("name", TRIED)
def test_moves_as_recorded(name: str, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    if name == "wall_peeper":
        run, file = request.getfixturevalue("peeper")
    else:
        run, file = written(load_rig(RIGS / f"{name}.yaml", TRIED[name]), tmp_path)
    assert file.stat().st_size < LARGEST
    assert off(run, held(file.read_text())) < NEAR


def test_bends_and_stretches_as_recorded(tmp_path: Path) -> None:
    pytest.importorskip("exudyn")
    run, file = written(parse_rig(BENDING), tmp_path)
    found = held(file.read_text())
    assert off(run, found) < NEAR

    for time in (0.0, 0.125, 0.25):
        skin, drawn, flat = skins(run, found, time)
        assert np.linalg.norm(skin - drawn, axis=1).max() < 0.1 * NEAR
    assert np.linalg.norm(flat - drawn, axis=1).max() > 10 * NEAR, "what was tried did bend"


def skins(run: Run, found: Held, time: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The arm as in the page, as the renderer draws it, and as its first piece would carry it unbent, (v, 3) m each."""
    shown = found.until(time)
    props = shown.props["/prop/arm/bends"]
    places = found.array(props["vertices"]).reshape(-1, 3)
    which = found.array(props["skin_indices"]).reshape(-1, 4)
    share = found.array(props["skin_weights"]).reshape(-1, 4)
    rest = found.array(props["bone_positions"]).reshape(-1, 3)
    skin, flat = np.zeros(places.shape), np.zeros(places.shape)
    for k, start in enumerate(rest):
        place, turn = shown.bones["/prop/arm/bends", k]
        moved = place + Rotation.from_quat(turn[[1, 2, 3, 0]]).apply(places - start)
        skin += np.where(which == k, share, 0.0).sum(axis=1)[:, None] * moved
        flat = moved if k == 0 else flat
    poses, scene = poses_at(run.assembly, run.track, np.array([time])), build_scene(run.assembly)
    own = np.isin(scene.owner, run.assembly.members[0].bodies)
    one, two = (
        np.einsum("vij,vj->vi", poses.turn[0, to[own]], at[own]) + poses.shift[0, to[own]]
        for to, at in ((scene.owner, scene.vertices), (scene.other, scene.vertices + scene.offset))
    )
    return skin, one + scene.share[own, None] * (two - one), flat


def off(run: Run, found: Held) -> float:
    """How far anything in a page is from the recording at ten of its times, m."""
    times = np.arange(round(found.duration * 24)) / 24
    track = with_strips(run.assembly, with_cords(run.assembly, run.track))
    assert abs(times[-1] - run.track.time[-1]) < 0.05
    worst = 0.0
    for time in times[np.unique(np.linspace(0, len(times) - 1, 10).astype(int))]:
        shown = found.until(time)
        worst = max(worst, *bodies_off(run.assembly, run.track, shown, time))
        worst = max(worst, *bones_off(run.assembly, run.track, shown, time), 0.0)
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
    drawn = []
    for i, body in enumerate(assembly.bodies):
        name = f"/prop/{body.name}"
        if name not in shown.props:
            continue
        drawn.append(name)
        local = corners(shown.props[name]["glb_data"])
        at = np.clip(time, track.time[0], track.time[-1])
        place = [np.interp(at, track.time, track.position[:, i, k]) for k in range(3)]
        turn = Slerp(track.time, Rotation.from_quat(track.rotation[:, i]))(at)
        yield float(np.linalg.norm(place + turn.apply(local) - shown.at(name, local), axis=1).max())
    assert drawn
    assert all(f"/prop/{b.name}" in drawn for b in assembly.bodies if b.shapes and b.member is None)


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


def bones_off(assembly: Assembly, track: Trajectory, shown: Replay, time: float) -> Iterator[float]:
    """Each piece of what bends, at its middle and 0.2 m beside it."""
    at = np.clip(time, track.time[0], track.time[-1])
    beside = np.array([[0.0, 0.0, 0.0], [0.2, 0.0, 0.0], [0.0, 0.2, 0.0]])
    for member in assembly.members:
        for k, i in enumerate(member.bodies):
            place, turn = shown.bones[f"/prop/{member.whole.name}/bends", k]
            seen = place + Rotation.from_quat(turn[[1, 2, 3, 0]]).apply(beside)
            true = Slerp(track.time, Rotation.from_quat(track.rotation[:, i]))(at).apply(beside)
            true += [np.interp(at, track.time, track.position[:, i, k]) for k in range(3)]
            yield float(np.linalg.norm(seen - true, axis=1).max())


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


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with opened(*DRAWN_IN_SOFTWARE) as found:
        yield found


def test_opens_offline_plays_and_fits_a_phone(peeper: tuple[Run, Path], browser: Any) -> None:
    watched = Watched(browser, peeper[1], 390)
    watched.page.set_viewport_size({"width": 390, "height": 560})
    inner = watched.page.frame_locator("iframe")
    clock = inner.locator("input").first
    clock.wait_for(timeout=60_000)
    seen = set()
    for _ in range(60):  # 0.4 s of motion, over and over
        seen.add(clock.input_value())
        if len(seen) >= 3:
            break
        watched.page.wait_for_timeout(50)
    assert len(seen) >= 3, seen
    low, start, again = (hat(watched, inner, time) for time in ("0.4", "0", "0.4"))
    assert 4.0 < low - start < 40.0, "the hat goes down on the screen by 43 mm of a metre"
    assert abs(again - low) < 1.5
    assert watched.wider() <= 0
    watched.page.set_viewport_size({"width": 1280, "height": 800})
    assert watched.wider() <= 0
    assert watched.unseen() == []
    assert watched.elsewhere == []
    assert [line for line in watched.said if not line.startswith(QUIET)] == []
    watched.page.close()


def hat(watched: Watched, inner: Any, time: str) -> float:
    """Mean row of the pixels that are as yellow as straw in the picture at a time, however coarse it is drawn."""
    told = inner.locator(".mantine-Notification-closeButton")  # that it is drawn in software
    told.evaluate_all("all => all.forEach(each => each.click())")
    clock = inner.locator("input").first
    before = -1.0
    for _ in range(20):  # a slow machine draws late, and a clock that runs writes over what is put in
        if float(clock.input_value()) != float(time):
            clock.fill(time)
            clock.press("Enter")
            before = -1.0
        watched.page.wait_for_timeout(700)
        now = _straw(inner)
        if abs(now - before) < 0.05 and float(clock.input_value()) == float(time):
            return now
        before = now
    raise AssertionError("the picture doesn't come to rest")


def _straw(inner: Any) -> float:
    with Image.open(BytesIO(inner.locator("canvas").last.screenshot())) as picture:
        seen = np.asarray(picture.convert("RGB"), dtype=float)
    rows = np.nonzero((seen[..., 0] - seen[..., 2] > 70) & (seen[..., 1] > 120))[0]
    assert len(rows) > 50, "a straw hat is seen"
    return float(rows[rows < np.median(rows) + 40].mean())


def test_has_words_tables_and_the_licence(peeper: tuple[Run, Path]) -> None:
    run, file = peeper
    text = file.read_text()
    assert run.rig.about in html.unescape(text)
    worst = run.loads.worst
    assert worst is not None
    assert f"{worst.sort} {worst.name}" in text
    assert "local codes and licensed practice decide" in text.lower()
    assert "id=&quot;licence&quot;" in text
    words = [m for _, m in held(text).messages if m["type"] == "LabelMessage"]
    assert {m["props"]["text"] for m in words} >= {"x", "y", "z"}


def test_without_the_viewer_says_what_to_type(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "viser", None)
    out = tmp_path / "page.html"
    result = CliRunner().invoke(app, ["page", str(RIGS / "wall_peeper.yaml"), "--out", str(out)])
    assert isinstance(result.exception, RenderError)
    assert 'pip install "simprop[live]"' in str(result.exception)
    assert list(tmp_path.iterdir()) == []


def test_another_ending_is_refused(tmp_path: Path) -> None:
    with pytest.raises(WriteError, match=r"ends in \.html"):
        page_of(RIGS / "wall_peeper.yaml", {}, None, tmp_path / "page.pdf", settle=False)
    assert list(tmp_path.iterdir()) == []
