"""Pictures of simulated runs of shipped rigs: overlays say what the loads say, and nothing leaves the frame."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.text import Text

from simprop.assembly.assemble import assemble
from simprop.errors import RenderError
from simprop.loads.joints import JointLoads
from simprop.picture.chart import curves, drive_plots, paths, plots
from simprop.picture.chart.curves import load_rose, torque_against_angle
from simprop.picture.chart.plots import plot_loads
from simprop.picture.clip.compare import overlaid
from simprop.picture.export.channels import all_channels
from simprop.picture.render.extras import given, load_extras, value_at
from simprop.picture.render.film import Shot, frame_margin, prepare, reached
from simprop.picture.render.marks import gauge_text
from simprop.picture.sheet_set import write_sheets
from simprop.report.comparison import rows
from simprop.rig.load import load_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

RIGS = sorted((Path(__file__).parent.parent.parent / "rigs").glob("*.yaml"))


def simulated(rig: Path, seconds: float) -> Run:
    assembly = assemble(load_rig(rig, {"run.for": f"{seconds} s"}))
    return simulate(assembly, settle=False)


@pytest.fixture(scope="module")
def peeper_run() -> Run:
    return simulated(next(r for r in RIGS if r.stem == "wall_peeper"), 1.8)


@pytest.fixture(scope="module")
def peeper_loads(peeper_run: Run) -> JointLoads:
    return peeper_run.loads


def test_arrow_and_flash_say_what_the_loads_say(peeper_loads: JointLoads) -> None:
    worst = peeper_loads.worst
    assert worst is not None
    extras = load_extras(peeper_loads, slow=0.25)
    (arrow,), (flash,) = extras.arrows, extras.flashes
    assert arrow.label == worst.name
    shown = float(np.linalg.norm(value_at(arrow.time, arrow.force, worst.time)))
    assert shown == pytest.approx(worst.value, rel=1e-9)
    assert (flash.time, flash.text) == (worst.time, f"peak: {worst.name} {worst.value:.3g} N")
    joint = [j.name for j in peeper_loads.recording.assembly.joints].index(worst.name)
    assert flash.point == pytest.approx(peeper_loads.wrenches.point[worst.row, joint])


def test_gauge_reads_what_the_motor_gives(peeper_loads: JointLoads) -> None:
    (gauge,) = load_extras(peeper_loads).gauges
    (motor,) = peeper_loads.motors
    row = motor.peak.row
    assert gauge.load[row] == pytest.approx(motor.peak.value)
    assert np.abs(given(peeper_loads)[0][1][row]) == pytest.approx(motor.peak.value)
    now = float(gauge.time[len(gauge.time) // 2])
    first, second, share = gauge_text(gauge, now)
    assert first.startswith("drive ")
    assert "rpm" in second
    assert " A" in second
    assert motor.able is not None
    assert share == pytest.approx(float(value_at(gauge.time, gauge.load, now)) / motor.able)


def test_unknown_joint_names_the_nearest(peeper_loads: JointLoads, tmp_path: Path) -> None:
    with pytest.raises(RenderError, match="did you mean 'wrist'"):
        load_extras(peeper_loads, ["wrst"])
    with pytest.raises(RenderError, match="did you mean 'wrist'"):
        load_rose(peeper_loads, "wrst", tmp_path / "no.svg")
    with pytest.raises(RenderError, match="did you mean 'drive'"):
        torque_against_angle(peeper_loads, tmp_path / "no.svg", "drve")


def test_all_sheets(peeper_loads: JointLoads, tmp_path: Path) -> None:
    told: list[tuple[int, int]] = []
    made = write_sheets(peeper_loads, tmp_path, progress=lambda d, n: told.append((d, n)))
    worst = peeper_loads.worst
    assert worst is not None
    assert [p.name for p in made] == [
        "contact.png",
        "ghost.png",
        "schematic.svg",
        "structure.svg",
        "path_neck.svg",
        "torque_drive.svg",
        f"rose_{worst.name}.svg",
    ]
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(p.name for p in made)
    assert told[-1] == (7, 7)


def test_plots(peeper_loads: JointLoads, tmp_path: Path) -> None:
    assert plot_loads(peeper_loads, tmp_path / "loads.svg").stat().st_size > 5000
    twice = overlaid(["one", "two"], [peeper_loads, peeper_loads], tmp_path / "both.svg")
    assert twice.stat().st_size > 5000


def test_plots_can_be_read_on_a_telephone(
    peeper_run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All that is written is 11 pixels high or more where a plot is 390 wide (common practice, no source)."""
    pages: list[Any] = []
    for module in (plots, curves, paths, drive_plots):
        monkeypatch.setattr(module, "save", lambda page, path, *more: pages.append(page))
    loads, recording = peeper_run.loads, peeper_run.recording
    plot_loads(loads, tmp_path / "a.png")
    torque_against_angle(loads, tmp_path / "b.png")
    load_rose(loads, "shaft", tmp_path / "c.png")
    paths.pole_path(recording.assembly, recording.track, "neck", tmp_path / "d.png")
    drive_plots.cue_plot(recording, tmp_path / "e.png")
    drive_plots.motor_curves("wiper", tmp_path / "f.png")
    assert len(pages) == 6
    for page in pages:
        page.draw_without_rendering()
        said = [t for t in page.findobj(Text) if t.get_text() and t.get_visible()]
        assert len(said) > 8
        assert min(t.get_fontsize() for t in said) * 390 / (72 * page.get_size_inches()[0]) >= 11


def test_a_ram_has_a_row_each_way_and_its_stroke(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    pages: list[Any] = []
    monkeypatch.setattr(drive_plots, "save", lambda page, path, *more: pages.append(page))
    run = simulated(next(r for r in RIGS if r.stem == "well_lid"), 7.0)
    drive_plots.cue_plot(run.recording, tmp_path / "cues.png")
    sheet, stroke = pages[0].axes
    assert [t.get_text() for t in sheet.get_yticklabels()] == ["lift forward", "lift back"]
    forth, back = sheet.patches
    assert (forth.get_x(), forth.get_width()) == pytest.approx((0.5, 3.5))
    assert back.get_x() == pytest.approx(6.0)
    assert forth.get_hatch() is None
    assert back.get_hatch() == "////"
    assert forth.get_y() != back.get_y()
    assert stroke.get_ylabel() == "lift,\nmm"
    assert 80 < stroke.lines[0].get_ydata().max() < 100


def test_drives_of_one_kind_have_one_unit() -> None:
    """A servo that snaps a beak turns fast, but to and fro: degrees, as the servo that turns the head."""
    owl = simulated(next(r for r in RIGS if r.stem == "barn_owl"), 3.0)
    assert [(m.name, m.unit) for m in drive_plots.motions(owl.recording)] == [
        ("neck", "deg"),
        ("beak", "deg"),
    ]
    peeper = simulated(next(r for r in RIGS if r.stem == "wall_peeper"), 1.8)
    assert [m.unit for m in drive_plots.motions(peeper.recording)] == ["rpm"]


def test_figures_of_a_run(peeper_run: Run, peeper_loads: JointLoads) -> None:
    """Travel of a point on the mast is twice the throw of 50 mm (in-line slider-crank)."""
    table = {r.quantity: r.values[0] for r in rows([peeper_run])}
    assert table["neck: travel up and down"] == pytest.approx(100.0, abs=0.5)
    worst = peeper_loads.worst
    assert worst is not None
    assert table[f"{worst.name}: peak force"] == worst.value


def test_channels_hold_the_peaks(peeper_loads: JointLoads) -> None:
    recording = peeper_loads.recording
    table = all_channels(recording.assembly, recording.track, peeper_loads)
    worst = peeper_loads.worst
    assert worst is not None
    assert table[f"joint.{worst.name}.force [N]"].max() == pytest.approx(worst.value)
    assert {len(v) for v in table.values()} == {len(recording.track.time)}


@pytest.mark.parametrize("rig", RIGS, ids=lambda p: p.stem)
@pytest.mark.parametrize("size", [(640, 480), (1280, 720)], ids=["small", "wide"])
def test_nothing_leaves_the_frame(rig: Path, size: tuple[int, int]) -> None:
    loads = simulated(rig, 1.0).loads
    recording = loads.recording
    for extras in (Shot().extras, load_extras(loads)):
        shot = replace(Shot(size=size), extras=extras)
        film = prepare(recording.assembly, recording.track, shot)
        margin = frame_margin(shot)
        for k in (0, film.count // 2, film.count - 1):
            if len(film.cameras) > 1:
                continue
            seen = film.camera(k).seen(reached(recording.assembly, recording.track, shot).kept)[:, :2]
            assert (seen >= [margin.left * size[0] - 1e-6, margin.top * size[1] - 1e-6]).all()
            assert (seen <= [(1 - margin.right) * size[0] + 1e-6, (1 - margin.bottom) * size[1] + 1e-6]).all()


CLOSE = [r for r in RIGS if not load_rig(r).camera.whole]
"""Rigs that don't ask for all of themselves in the picture."""


@pytest.mark.parametrize("rig", CLOSE, ids=lambda p: p.stem)
def test_what_moves_is_large_in_the_frame(rig: Path) -> None:
    """What the moving bodies sweep takes a third of the frame's height, or half of its width, in a whole run."""
    assembly = assemble(load_rig(rig))
    loads = simulate(assembly, settle=False).loads
    recording = loads.recording
    shot = replace(Shot(), extras=load_extras(loads))
    film = prepare(recording.assembly, recording.track, shot)
    moving = reached(recording.assembly, recording.track, shot).moving
    seen = film.camera(0).seen(moving)[:, :2]
    wide, tall = np.ptp(seen, axis=0) / shot.size
    assert tall >= 1 / 3 or wide >= 1 / 2
    assert (seen >= 0).all()
    assert (seen <= shot.size).all()


def test_whole_frames_the_scenery_too(peeper_run: Run) -> None:
    assembly, track = peeper_run.assembly, peeper_run.track
    whole = reached(assembly, track, Shot(whole=True))
    assert whole.kept == pytest.approx(whole.everything)


def test_a_load_that_is_weight_alone_is_said_so_and_has_no_peak() -> None:
    owl = load_extras(simulated(next(r for r in RIGS if r.stem == "barn_owl"), 2.5).loads)
    assert [a.note for a in owl.arrows] == ["weight alone"]
    assert owl.flashes == []
