"""Plots, sheets, drawings and tables of numbers."""

from __future__ import annotations

import csv
import xml.etree.ElementTree as Xml
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from simprop.assembly.types import Assembly
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.picture.chart.drawings import schematic
from simprop.picture.chart.paths import arrows_along, pole_path, strokes_apart
from simprop.picture.chart.plots import (
    DASHES,
    INKS,
    Marked,
    Panel,
    draw_panel,
    figure,
    in_columns,
    loads_plot,
    spread,
    thinned,
)
from simprop.picture.chart.sheets import contact_sheet, cycle_span, motion_ghost
from simprop.picture.export.channels import chosen, write_csv


def svg_text(path: Path) -> str:
    Xml.parse(path)
    return path.read_text()


def test_thinning_keeps_every_extreme() -> None:
    rng = np.random.default_rng(7)
    values = rng.normal(size=50_000)
    values[31_234], values[12_345] = 40.0, -40.0
    _, kept = thinned(np.arange(50_000.0), values)
    assert len(kept) < 2000
    assert (kept.max(), kept.min()) == (40.0, -40.0)


def test_plot_is_written_whole(tmp_path: Path) -> None:
    time = np.linspace(0, 2, 2001)
    path = loads_plot(
        time,
        {"wrist": np.sin(9 * time), "tee": np.cos(9 * time)},
        [Marked("wrist", 0.17, 1.0, "N")],
        tmp_path / "loads.png",
    )
    image = np.asarray(Image.open(path).convert("RGB"))
    assert image.shape[1] > 900
    assert [p.name for p in tmp_path.iterdir()] == ["loads.png"]
    blue = np.array([0x00, 0x72, 0xB2])
    assert (np.abs(image.astype(int) - blue).max(axis=2) < 12).sum() > 200


def test_same_plot_same_bytes(tmp_path: Path) -> None:
    time = np.linspace(0, 1, 101)
    a, b = (loads_plot(time, {"x": time}, [], tmp_path / n / "p.svg").read_bytes() for n in ("a", "b"))
    assert a == b


def test_lines_stay_apart_in_grey() -> None:
    """Two lines are told apart by their dashes or by at least 12 % of grey (luma of ITU-R BT.601)."""
    grey = [
        sum(int(c[i : i + 2], 16) * w for i, w in ((1, 0.299), (3, 0.587), (5, 0.114))) / 255 for c in INKS
    ]
    for i in range(len(INKS)):
        for j in range(i + 1, len(INKS)):
            assert DASHES[i] != DASHES[j] or abs(grey[i] - grey[j]) > 0.12


def test_labels_are_spread_and_keep_their_order() -> None:
    places = spread([1.0, 1.01, 0.99, 5.0], 0.5, 0.0, 10.0)
    order = np.argsort(places)
    assert order.tolist() == [2, 0, 1, 3]
    assert np.diff(np.sort(places)).min() >= 0.5 - 1e-6


def test_cycle_span_is_one_turn(run: Trajectory) -> None:
    from dataclasses import replace

    angle = (2 * np.pi * run.time)[:, None]
    turning = replace(run, coordinate=angle, applied=np.ones((len(run.time), 5, 1)))
    start, end = cycle_span(turning)
    assert end - start == pytest.approx(1.0, abs=0.01)
    assert cycle_span(run) == (run.time[0], run.time[-1])


def test_contact_sheet(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    path = contact_sheet(peeper, run, tmp_path / "sheet.png", columns=3, rows=2)
    image = np.asarray(Image.open(path)).astype(int)
    assert image.shape == (2 * 306 + 6, 3 * 326 + 6, 3)
    first, second = image[6:280, 6:326], image[6:280, 332:652]
    assert np.abs(first - second).mean() > 0.5
    with pytest.raises(RenderError, match="1 to 100 pictures"):
        contact_sheet(peeper, run, tmp_path / "no.png", columns=0)


def test_motion_ghost_shows_more_than_one_position(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    from simprop.picture.render.film import Shot

    shot = Shot(size=(320, 240), watch=[])
    many = np.asarray(
        Image.open(motion_ghost(peeper, run, tmp_path / "a.png", count=5, shot=shot, span=(0.25, 0.75)))
    ).astype(int)
    few = np.asarray(
        Image.open(motion_ghost(peeper, run, tmp_path / "b.png", count=2, shot=shot, span=(0.7499, 0.75)))
    ).astype(int)
    assert many.shape == few.shape
    assert (np.abs(many - few)[:200].max(axis=2) > 15).mean() > 0.004
    with pytest.raises(RenderError, match="2 to 24"):
        motion_ghost(peeper, run, tmp_path / "c.png", count=1)


def test_schematic_is_a_drawing_with_sizes(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    text = svg_text(schematic(peeper, run, tmp_path / "drawing.svg"))
    assert text.count("<path") > 80
    assert schematic(peeper, None, tmp_path / "drawing.pdf").read_bytes().startswith(b"%PDF")


def test_pole_path(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    svg_text(pole_path(peeper, run, "crankpin", tmp_path / "path.svg"))
    with pytest.raises(RenderError, match="did you mean"):
        pole_path(peeper, run, "crankpn", tmp_path / "no.svg")


def test_strokes_that_lie_on_each_other_are_drawn_apart() -> None:
    """Up and down on one line: up on the right of the way up, down on the right of the way down, 0.05 of it apart."""
    t = np.linspace(0, 2 * np.pi, 1001)
    flat = np.stack([0 * t, -100 * np.cos(t)], axis=1)
    apart, moved = strokes_apart(flat)
    assert moved
    up, down = apart[200:300, 0], apart[700:800, 0]
    assert up == pytest.approx(5.0)
    assert down == pytest.approx(-5.0)
    assert apart[:, 1] == pytest.approx(flat[:, 1])
    ring = np.stack([100 * np.sin(t), -100 * np.cos(t)], axis=1)
    assert strokes_apart(ring) == (ring, False)


def test_arrows_point_the_way_a_path_goes() -> None:
    t = np.linspace(0, 2 * np.pi, 1001)
    ring = np.stack([np.sin(t), np.cos(t)], axis=1)  # clockwise from the top
    found = arrows_along(ring, 0.1)
    assert len(found) == 6
    for tail, tip in found:
        assert tail[0] * tip[1] - tail[1] * tip[0] < 0
        assert np.hypot(*(tip - tail)) == pytest.approx(0.1)


def test_csv_of_chosen_channels(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    path = write_csv(peeper, run, tmp_path / "run.csv", patterns=["body.mast.z"], every=0.1)
    with path.open() as file:
        head, *rows = list(csv.reader(file))
    assert head == ["time [s]", "body.mast.z [m]"]
    table = np.array(rows, dtype=float)
    assert table[:, 0] == pytest.approx(0.0005 + 0.1 * np.arange(len(table)))
    assert table[:, 1] == pytest.approx(np.interp(table[:, 0], run.time, run.position[:, 3, 2]), abs=1e-8)


def test_csv_leaves_unknown_values_empty(peeper: Assembly, run: Trajectory, tmp_path: Path) -> None:
    from dataclasses import replace

    gap = run.position.copy()
    gap[3, 3, 2] = np.nan
    path = write_csv(peeper, replace(run, position=gap), tmp_path / "run.csv", patterns=["body.mast.z"])
    assert path.read_text().splitlines()[4].endswith(",")


def test_csv_pattern_that_matches_nothing() -> None:
    with pytest.raises(RenderError, match=r"did you mean 'joint\.wrist\.force'"):
        chosen(["time [s]", "joint.wrist.force [N]"], ["joint.wrst.force"])


def test_pulses_are_drawn_as_their_mean_over_a_light_band() -> None:
    """A square wave of 100 Hz between 0 and 4, three quarters on: the line stands at 3, the band reaches both."""
    time = np.arange(0.0, 7.0, 1e-4)
    found = in_columns(time, 4.0 * ((time * 100) % 1.0 < 0.75))
    assert found.ripples
    assert len(found.mean) == 700
    assert np.abs(found.mean - 3.0).max() < 0.2
    assert (float(found.low.max()), float(found.high.min())) == (0.0, 4.0)
    _, panes = figure(6.0, 3.0)
    draw_panel(panes[0, 0], time, Panel("load, N*m", {"turn": 4.0 * ((time * 100) % 1.0 < 0.75)}))
    (line,) = panes[0, 0].lines
    assert np.abs(np.asarray(line.get_ydata()) - 3.0).max() < 0.2
    assert len(panes[0, 0].collections) == 1
    assert not in_columns(time, np.sin(time)).ripples
    unknown = in_columns(time, np.where(time < 1.0, np.nan, 1.0))
    assert np.isnan(unknown.mean[0])
    assert unknown.mean[-1] == 1.0


def test_a_start_that_would_flatten_the_rest_is_cut_off_and_said() -> None:
    time = np.arange(0.0, 2.0, 1e-3)
    load = np.where(time < 0.1, 15.0, 1.0 + 0.5 * np.sin(6 * time))
    _, panes = figure(6.0, 3.0, 2, 1)
    for pane, start in zip(panes[:, 0], (time < 0.1, None), strict=True):
        draw_panel(pane, time, Panel("load, N*m", {"turn": load}, (), None, start))
    cut, whole = panes[:, 0]
    assert cut.get_ylim()[1] < 2.5  # 1.5 while it runs, and room for words
    assert [t.get_text() for t in cut.texts if "off the scale" in t.get_text()] == [
        "a start goes to 15, off the scale"
    ]
    assert whole.get_ylim()[1] > 15.0
