"""Traces, captions, arrows, gauges, flashes, cues: legible, in the frame, and hiding nothing."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.types import Assembly
from simprop.engine.acting.program import script
from simprop.engine.world import Trajectory
from simprop.errors import RenderError
from simprop.picture.render import marks, overlay
from simprop.picture.render.arrows import _box, arrow_text, settled_places
from simprop.picture.render.extras import Arrow, CueRow, Extras, Flash, Gauge, cue_rows, slowed
from simprop.picture.render.film import Film, Shot, draw, prepare, reached, smoothed, still
from simprop.picture.render.frame import Painter
from simprop.picture.render.marks import draw_cues, gauge_height, gauge_text, strip_height
from simprop.picture.render.overlay import INK, PAPER, band, font, style_for, text_size, trace, write
from simprop.picture.render.scene import reach
from simprop.picture.render.strokes import stroke
from simprop.rig.model import Rig

SIZES = [(640, 480), (1280, 720), (420, 480), (560, 420)]


def everything(run: Trajectory) -> Extras:
    n = len(run.time)
    wave = 2 * np.pi * run.time
    point = np.tile([0.0, 0.0, 0.6], (n, 1))
    force = np.stack([40 * np.cos(wave), 0 * wave, 40 * np.sin(wave)], axis=1)
    return Extras(
        [Arrow("wrist", run.time, point, force)],
        [Gauge("drive", run.time, np.abs(np.sin(wave)), 2.0, 0 * wave + 3, 0 * wave + 1.5)],
        [Flash("peak: wrist 40 N", 1.0, point[0])],
        [CueRow("drive", ((0.0, 0.5), (1.0, 2.0))), CueRow("lantern", ((0.2, 1.4),))],
        ticks=0.1,
        slow=0.25,
    )


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("view", ["front", "side", "three_quarter", "top"])
def test_nothing_leaves_the_frame_or_hides_behind_text(
    peeper: Assembly, run: Trajectory, size: tuple[int, int], view: str
) -> None:
    shot = Shot(size=size, view=view, watch=["wrist", "crankpin"], extras=everything(run))
    film = prepare(peeper, run, shot)
    seen = film.camera(0).seen(reached(peeper, run, shot).kept)
    style = style_for(size)
    top = gauge_height(1, style)
    bottom = size[1] - style.band - strip_height(2, style)
    assert seen[:, 0].min() >= 0.03 * size[0]
    assert seen[:, 0].max() <= 0.97 * size[0]
    assert seen[:, 1].min() >= top
    # the scale bar and the words of a flash stand between what is seen and the strip
    assert seen[:, 1].max() <= bottom - style.text - 20 * style.unit


def test_follow_keeps_all_moving_bodies_in_the_frame(peeper: Assembly, run: Trajectory) -> None:
    shot = Shot(size=(640, 480), view="follow", watch=["wrist"])
    film = prepare(peeper, run, shot)
    assert len(film.cameras) == film.count
    for k in range(0, film.count, 5):
        for body in (1, 2, 3):
            points = film.scene.hulls[body] @ film.poses.turn[k, body].T + film.poses.shift[k, body]
            seen = film.camera(k).seen(points)[:, :2]
            assert (seen > 0).all()
            assert (seen < [640, 480 - style_for((640, 480)).band]).all()


def test_follow_needs_a_point(peeper: Assembly, run: Trajectory) -> None:
    with pytest.raises(RenderError, match="needs a watched point"):
        prepare(peeper, run, Shot(view="follow", watch=[]))


@pytest.mark.parametrize("size", [*SIZES, (1920, 1080), (720, 1280)])
def test_letters_are_tall_enough_on_a_telephone(
    size: tuple[int, int], run: Trajectory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At least 11 pixels of font in a clip shown 390 wide: the smallest that stays readable (common practice of screen
    design, no source)."""
    used: list[int] = []
    monkeypatch.setattr(marks, "write", lambda image, text, at, tall, *more: used.append(tall))
    monkeypatch.setattr(overlay, "write", lambda image, text, at, tall, *more: used.append(tall))
    extras, style = everything(run), style_for(size)
    page = np.zeros((size[1], size[0], 3), np.uint8)
    marks.draw_gauges(page, extras.gauges * 3, 0.5, style)
    draw_cues(page, extras.cues, 0.5, 2.0, style)
    overlay.band(page, "Wall peeper", "12 V 5 A   1.00 s", style)
    assert len(used) == 10
    assert min(used) * 390 / size[0] >= 11


def test_gauges_fit_their_cells_on_a_telephone() -> None:
    """Words of two gauges, the second as long as the shipped rigs have them, are not cut."""
    t, one = np.array([0.0, 1.0]), np.ones(2)
    style = style_for((640, 480))
    for able, load in ((0.37, 0.1), (7.59, 7.1), (294.52, 290.0)):
        first, second, _ = gauge_text(Gauge("mouth", t, load * one, able, 4.7 * one, 12.34 * one), 0.5)
        assert max(text_size(text, style.text)[0] for text in (first, second)) < 300
    assert first == "mouth 290 of 295 N·m"


def test_cue_bars_are_told_apart_in_grey() -> None:
    """Done is thin, on is filled, to come is an outline: by rows across the middle of each bar, brightness alone."""
    style = style_for((640, 480))
    page = np.full((480, 640, 3), 120, np.uint8)
    windows = ((0.0, 1.0), (2.0, 3.0), (4.0, 5.0))
    draw_cues(page, [CueRow("drive", windows)], 2.5, 6.0, style)
    grey = page.astype(float) @ [0.299, 0.587, 0.114]
    top = 480 - style.band - strip_height(1, style)
    strip = grey[top : 480 - style.band]
    left = 10 * style.unit + text_size("drive", style.text)[0] + 8 * style.unit
    middle = [round(left + (630 - left) * t / 6) for t in (0.4, 2.3, 4.5)]
    bright = [strip[:, x] > strip[:, round(left + (630 - left) * 1.5 / 6)].max() + 30 for x in middle]
    done, on, come = (int(b.sum()) for b in bright)
    edges = [int(np.abs(np.diff(b.astype(int))).sum()) for b in bright]
    assert edges == [2, 2, 4]  # one band, one band, two lines
    assert on >= 2 * done > 0
    assert come >= 2


def test_more_cues_than_fit_are_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []
    monkeypatch.setattr(marks, "write", lambda image, text, *more: said.append(text))
    rows = [CueRow(f"lamp {k}", ((0.0, 1.0),)) for k in range(9)]
    draw_cues(np.zeros((480, 640, 3), np.uint8), rows, 0.5, 2.0, style_for((640, 480)))
    assert said == [*(f"lamp {k}" for k in range(5)), "and 4 more"]


def test_arrows_stay_behind_what_moves(peeper: Assembly, run: Trajectory) -> None:
    """Where something moves in front, an arrow and a trace change the picture by less than a third."""
    shot = Shot(watch=["wrist"], extras=everything(run))
    film = prepare(peeper, run, shot)
    painter = Painter(film.scene, film.lighting, film.size)
    bare = painter.paint(film.poses.turn[20], film.poses.shift[20], film.camera(20)).astype(int)
    cover = painter.moving_cover() == 1
    marked = draw(Film(**{**vars(film), "overlays": ()}), painter, 20).astype(int)
    away = np.abs(marked - bare).max(axis=2)
    assert away[cover].max() <= 0.31 * 255
    assert away[~cover].max() > 120


def test_values_cover_nothing_that_moves(peeper: Assembly, run: Trajectory) -> None:
    n = len(run.time)
    points = {"wrist": (0.0, 0.0, 0.56), "shaft": (0.0, 0.0, 0.30)}
    arrows = [
        Arrow(name, run.time, np.tile(at, (n, 1)), np.tile([0.0, 0.0, 40.0], (n, 1)))
        for name, at in points.items()
    ]
    film = prepare(peeper, run, Shot(extras=Extras(arrows)))
    painter, camera, style = (
        Painter(film.scene, film.lighting, film.size),
        film.camera(0),
        style_for((640, 480)),
    )
    painter.paint(film.poses.turn[0], film.poses.shift[0], camera)
    cover, room = painter.moving_cover(), (0.0, 0.0, 640.0, 400.0)
    places = settled_places(arrows, [(0.0, camera, cover)], 0.2, style, room)
    boxes = []
    for arrow, place in zip(arrows, places, strict=True):
        tip = camera.seen(arrow.point[0] + [0, 0, 0.2])[:2]
        wide = text_size(arrow_text(arrow, 40.0), style.text)[0]
        x0, y0, x1, y1 = (
            round(v) for v in _box(place, camera.seen(arrow.point[0])[:2], tip, wide, room, style)
        )
        assert cover[y0:y1, x0:x1].mean() < 0.02
        boxes.append((x0, y0, x1, y1))
    one, two = boxes
    assert one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]


def test_caption_has_contrast() -> None:
    """Contrast of text against its band is above 4.5, the bound of WCAG 2.1 for text."""

    def light(rgb: np.ndarray) -> float:
        v = rgb / 255
        v = np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)
        return float(v @ [0.2126, 0.7152, 0.0722])

    for ground in (0, 120, 255):
        page = np.full((480, 640, 3), ground, np.uint8)
        band(page, "Wall peeper", "12 V 5 A   1.00 s", style_for((640, 480)))
        foot = page[-28:].reshape(-1, 3).astype(float)
        bright, dark = max(light(p) for p in foot[::3]), light(np.median(foot, axis=0))
        assert (bright + 0.05) / (dark + 0.05) > 4.5


def test_text_stays_inside_and_is_shortened() -> None:
    page = np.zeros((480, 320, 3), np.uint8)
    band(
        page,
        "a very long name of a prop that can't fit beside the time" * 2,
        "12 V 5 A   1.00 s",
        style_for((320, 480)),
    )
    assert (page[:448] == 0).all()


def test_words_side_by_side_share_a_base_line() -> None:
    assert text_size("drive", 14)[1] == text_size("xx", 14)[1] == text_size("57.3 rpm", 14)[1]
    assert font(14) is font(14)


def test_halo_surrounds_letters() -> None:
    page = np.full((40, 120, 3), 128, np.uint8)
    write(page, "wrist", (10, 10), 16, INK, PAPER)
    assert page.min() < 60
    assert page.max() > 220


def test_trace_fades_and_marks_now() -> None:
    style = style_for((640, 480))
    page = np.full((480, 640, 3), 128, np.uint8)
    path = np.stack([np.linspace(50, 600, 101), np.full(101, 200.0)], axis=1)
    trace(page, path, 100, np.linspace(0, 4, 101), (230, 111, 0), style)

    def strength(x: int) -> float:
        return float(np.abs(page[200, x].astype(float) - 128).max())

    assert strength(550) > 2 * strength(100) > 0
    assert page[200, 599].tolist() == [230, 111, 0]


def test_line_crossing_itself_is_not_darker() -> None:
    page = np.full((60, 60, 3), 255, np.uint8)
    stroke(page, [(5, 5), (55, 55), (55, 5), (5, 55)], (0, 0, 0), 6.0, 0.5)
    assert page.min() >= 127


def test_stroke_outside_the_picture_is_left_out() -> None:
    page = np.full((20, 20, 3), 9, np.uint8)
    stroke(page, [(-50, -50), (-10, -5)], (255, 0, 0), 3.0)
    stroke(page, [(float("nan"), 1.0)], (255, 0, 0), 3.0)
    assert (page == 9).all()


def test_slow_motion_covers_the_run_once() -> None:
    extras = Extras(flashes=(Flash("", 1.0, None),), slow=0.25, span=0.1)
    times = slowed(2.0, 25.0, 1.0, extras)
    steps = np.diff(times)
    assert times[0] == 0.0
    assert 1.96 <= times[-1] <= 2.0 + 1e-9
    assert steps.min() == pytest.approx(0.01, rel=1e-6)
    assert steps.max() == pytest.approx(0.04, rel=1e-6)
    assert abs(times[int(np.argmin(steps))] - 1.0) < 0.12
    assert slowed(2.0, 25.0, 1.0, Extras()) == pytest.approx(np.arange(51) / 25, abs=1e-9)


def test_extras_are_drawn(peeper: Assembly, run: Trajectory) -> None:
    bare = prepare(peeper, run, Shot(watch=["wrist"], caption=""), times=np.array([0.98, 1.0, 1.04]))
    full = prepare(
        peeper,
        run,
        Shot(watch=["wrist"], caption="", extras=everything(run)),
        times=np.array([0.98, 1.0, 1.04]),
    )
    same = prepare(
        peeper,
        run,
        Shot(watch=["wrist"], caption="", extras=Extras()),
        times=np.array([0.98, 1.0, 1.04]),
        camera=full.camera(0),
        lit=full.lighting,
    )
    a, b = still(full, 2).astype(int), still(same, 2).astype(int)
    difference = np.abs(a - b).max(axis=2) > 30
    assert difference[:40].mean() > 0.3  # gauges
    assert difference[410:450].mean() > 0.2  # cues
    x, y = full.camera(0).seen(np.array([0.0, 0.0, 0.6]))[:2]
    assert difference[int(y) - 60 : int(y) + 60, int(x) - 60 : int(x) + 120].mean() > 0.02  # arrow and ring
    assert bare.count == 3


def rig_with(**more: object) -> Rig:
    parts = [{"block": "100 x 100 x 100 mm", "of": "pine", "at": "0 0 50 mm"}]
    motor = {
        "dc": {
            "rated_voltage": "12 V",
            "no_load_speed": "45 rpm",
            "stall_torque": "2 N*m",
            "stall_current": "4 A",
        }
    }
    drive = {"joint": "j", "motor": motor, **more.pop("drive", {})}  # type: ignore[dict-item]
    return Rig.model_validate(
        {
            "rig": 1,
            "name": "cued",
            "bodies": {"a": {"fixed": True, "parts": parts}, "b": {"parts": parts}},
            "joints": {"j": {"pin": ["a", "b"], "at": "0 0 0 mm", "axis": "y"}},
            "motors": {"drive": drive},
            "run": {"for": "6 s"},
            **more,
        }
    )


def rows_of(rig: Rig) -> list[CueRow]:
    return cue_rows(rig, script(rig).events, 6.0)


def test_cue_rows_of_windows() -> None:
    assert rows_of(rig_with()) == []
    rows = rows_of(rig_with(drive={"on": ["0.5 s to 4 s", "9 s to 10 s"]}))
    assert [r.name for r in rows] == ["drive"]
    assert rows[0].windows[0] == (0.5, 4.0)


def test_cue_rows_of_cues() -> None:
    scene = {"do": [{"at": "1 s", "on": "drive"}, {"at": "3 s", "off": "drive"}]}
    assert rows_of(rig_with(cues={"scenes": {"rise": scene}})) == [CueRow("drive", ((1.0, 3.0),))]


def test_forward_and_backward_are_two_rows() -> None:
    do = [
        {"at": "1 s", "forward": "drive"},
        {"at": "3 s", "backward": "drive"},
        {"at": "4 s", "off": "drive"},
    ]
    assert rows_of(rig_with(cues={"scenes": {"press": {"do": do}}})) == [
        CueRow("drive forward", ((1.0, 3.0),)),
        CueRow("drive backward", ((3.0, 4.0),)),
    ]


def test_smoothing_keeps_a_straight_path() -> None:
    path = np.stack([np.linspace(0, 1, 50)] * 3, axis=1)
    assert smoothed(path, 5)[10:-10] == pytest.approx(path[10:-10], abs=1e-12)
    assert smoothed(path, 0) is path


def test_plain_film_has_no_text(peeper: Assembly, run: Trajectory) -> None:
    film = prepare(peeper, run, Shot(size=(320, 240), plain=True))
    painter = Painter(film.scene, film.lighting, film.size)
    bare = painter.paint(film.poses.turn[3], film.poses.shift[3], film.camera(3))
    assert (draw(film, painter, 3) == bare).all()
    assert len(reach(film.scene, film.poses)) > 1000
