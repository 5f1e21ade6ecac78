"""Pixels to places and back, the tilt taken out, and what a picture can tell."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin
from typing import get_args

import numpy as np
import pytest

from simprop.errors import RigError
from simprop.tracing.placing import (
    AXES,
    corners,
    extent,
    faults_in,
    fineness,
    in_view,
    in_world,
    middle,
    pixel_of,
    place_of,
    placed,
    scale,
    turned,
)
from simprop.tracing.types import Level, Placing, View

TILTED = Placing("sketch.png", (800, 600), "front", ((100, 400), (500, 100)), 1.0, (0.2, 0.3), "level")
"""From mark 1 400 pixels to the right and 300 up: 500, so a pixel is 2 mm (3, 4, 5)."""
PLACINGS = (
    TILTED,
    Placing("a.png", (4000, 3000), "side", ((512.25, 2100.5), (3200, 2011)), 0.75, (-0.1, 1.2), "level"),
    Placing("a.png", (3000, 4000), "front", ((1500, 3600), (1434, 310)), 1.83, (0.0, 0.0), "upright"),
    Placing("a.png", (640, 480), "front", ((40, 50), (600, 470)), 0.3, (0.4, -0.2)),
)


@pytest.mark.parametrize("placing", PLACINGS)
def test_both_ways_are_inverse(placing: Placing) -> None:
    for pixel in np.random.default_rng(1).uniform(-500, 5000, (50, 2)):
        back = pixel_of(placing, place_of(placing, (pixel[0], pixel[1])))
        assert back == pytest.approx(pixel, abs=1e-8)


def test_tilt_by_hand() -> None:
    """The line level: along it 500 pixels are 1 m to the right; square to it 250 pixels (-150, 200 up) are 0.5 m up."""
    assert scale(TILTED) == pytest.approx(0.002)
    assert np.degrees(turned(TILTED)) == pytest.approx(-36.8699, abs=1e-4)  # the smaller angle of 3, 4, 5
    assert place_of(TILTED, (100, 400)) == pytest.approx((0.2, 0.3))
    assert place_of(TILTED, (500, 100)) == pytest.approx((1.2, 0.3))
    assert place_of(TILTED, (-50, 200)) == pytest.approx((0.2, 0.8))


def test_upright_by_hand() -> None:
    """300 pixels to the right and 400 up become 1 m up; 400 to the right and 300 down become 1 m to the right."""
    placing = Placing("a.png", (900, 900), "side", ((400, 500), (700, 100)), 1.0, (0.0, 0.0), "upright")
    assert place_of(placing, (700, 100)) == pytest.approx((0.0, 1.0))
    assert place_of(placing, (800, 800)) == pytest.approx((1.0, 0.0))


@pytest.mark.parametrize("level", get_args(Level))
def test_marks_set_the_other_way_round_lie_the_same(level: Level) -> None:
    steep = ((300.0, 550.0), (280.0, 50.0))
    marks = steep if level == "upright" else ((100.0, 310.0), (700.0, 290.0))
    one = Placing("a.png", (800, 600), "front", marks, 0.5, (0.0, 0.0), level)
    other = Placing("a.png", (800, 600), "front", marks[::-1], 0.5, place_of(one, marks[1]), level)
    assert turned(other) == pytest.approx(turned(one))
    assert corners(other) == pytest.approx(np.array(corners(one)))


@pytest.mark.parametrize("placing", PLACINGS)
def test_against_a_similarity_solved_for(placing: Placing) -> None:
    """The four unknowns of x' = a x - b y + c, y' = b x + a y + d from the two marks (numpy)."""
    (x1, y1), (x2, y2) = ((x, -y) for x, y in placing.marks)
    way = placing.distance * np.array(
        {
            "level": (np.sign(x2 - x1), 0.0),
            "upright": (0.0, np.sign(y2 - y1)),
            "as it lies": np.array((x2 - x1, y2 - y1)) / hypot(x2 - x1, y2 - y1),
        }[placing.level]
    )
    rows = [[x1, -y1, 1, 0], [y1, x1, 0, 1], [x2, -y2, 1, 0], [y2, x2, 0, 1]]
    a, b, c, d = np.linalg.solve(rows, [*placing.at, *(placing.at + way)])
    w, h = placing.size
    for (x, y), found in zip(((0, 0), (w, 0), (w, h), (0, h)), corners(placing), strict=True):
        assert found == pytest.approx((a * x + b * y + c, b * x - a * y + d), abs=1e-9)
    assert middle(placing) == pytest.approx(np.mean(corners(placing), axis=0))
    assert extent(placing) == pytest.approx((w * hypot(a, b), h * hypot(a, b)))


@pytest.mark.parametrize("view", get_args(View))
def test_views_are_seen_from_where_they_say(view: View) -> None:
    """To the right x up is towards the eye: -y from the front, +x from the side."""
    right, up, away = AXES[view]
    towards = np.cross(np.eye(3)[right], np.eye(3)[up])
    assert towards.tolist() == {"front": [0, -1, 0], "side": [1, 0, 0]}[view]
    assert abs(towards[away]) == 1
    assert in_view(view, in_world(view, (0.1, 0.2), 0.3)) == (0.1, 0.2)


@pytest.mark.parametrize("placing", PLACINGS)
def test_fineness_against_picks_by_chance(placing: Placing) -> None:
    """Marks and a corner picked 4000 times half a pixel off: the spread of the worst corner (JCGM 101:2008)."""
    chance = np.random.default_rng(2)
    w, h = placing.size
    marks = np.array([complex(x, -y) for x, y in placing.marks])
    picks = marks + 0.5 * (chance.normal(size=(4000, 2)) + 1j * chance.normal(size=(4000, 2)))
    line = abs(marks[1] - marks[0])
    worst = 0.0
    for corner in (0, w, w - 1j * h, -1j * h):
        pick = corner + 0.5 * (chance.normal(size=4000) + 1j * chance.normal(size=4000))
        place = (pick - picks[:, 0]) / (picks[:, 1] - picks[:, 0]) * placing.distance
        worst = max(worst, float(np.sqrt(np.var(place) / 2)))
    step, pixel = fineness(placing), placing.distance / line
    mantissa = f"{step:e}"[0]
    coarser = step * {"1": 2.0, "2": 2.5, "5": 2.0}[mantissa]
    assert pixel <= step
    assert step <= max(1.03 * worst, 2.5 * pixel)
    assert coarser > 0.97 * worst


def test_a_pixel_is_the_finest() -> None:
    """Marks at both ends of the picture tell more than a pixel does; marks close together much less."""
    wide = Placing("a.png", (1000, 10), "front", ((0, 5), (1000, 5)), 0.47, (0, 0))
    assert fineness(wide) == 5e-4
    # A corner is 1414 and 1400 pixels from the marks: 0.47 mm x 0.5 x sqrt(1 + (1414^2 + 1400^2) / 20^2) = 23.4 mm.
    near = Placing("a.png", (1000, 1000), "front", ((0, 0), (20, 0)), 0.0094, (0, 0))
    assert fineness(near) == 0.02


def test_what_cant_be_laid() -> None:
    def said(**other: object) -> str:
        whole: dict[str, object] = {
            "file": "a.png", "size": (800, 600), "view": "front", "marks": ((100, 300), (600, 310)),
            "distance": "500 mm", "at": "0 0 mm", "level": "level", **other,
        }  # fmt: skip
        with pytest.raises(RigError) as caught:
            placed(**whole)  # type: ignore[arg-type]
        return str(caught.value)

    assert "on one spot" in said(marks=((100, 300), (100, 300)))
    assert "mark 2 is beside the picture" in said(marks=((100, 300), (801, 300)))
    assert "nearer to upright" in said(marks=((100, 300), (110, 600)))
    assert "nearer to level" in said(level="upright")
    assert "above zero" in said(distance="0 mm")
    assert "above zero" in said(distance="-5 mm")
    assert "needs a unit" in said(distance="500")
    assert "kg is not a unit of length" in said(distance="5 kg")
    assert "2 numbers and one unit" in said(at="0 0 0 mm")
    near = said(at="shaff", points={"shaft": (0.1, 0.2, 0.3)})
    assert "did you mean 'shaft'" in near
    both = said(distance="x", at="y", marks=((1, 1), (1, 1)))
    assert len(both.splitlines()) == 3


def test_mark_at_a_point_of_the_rig() -> None:
    marks = ((100.0, 300.0), (600.0, 300.0))
    points = {"shaft": (0.1, 0.2, 0.3)}
    front = placed("a.png", (800, 600), "front", marks, "20 in", "shaft", points=points)
    side = placed("a.png", (800, 600), "side", marks, "20 in", "shaft", points=points)
    assert (front.at, side.at) == ((0.1, 0.3), (0.2, 0.3))
    assert front.distance == pytest.approx(0.508)
    assert placed("a.png", (800, 600), "front", marks, "1 ft", "[3 in, -10 mm]").at == pytest.approx(
        (0.0762, -0.01)
    )
    assert faults_in(front) == []


def test_a_line_turned_by_a_little() -> None:
    """Every tilt up to 40 degrees either way is taken out whole."""
    for tilt in np.radians(np.arange(-40, 41, 8)):
        marks = ((400.0, 300.0), (400 + 200 * cos(tilt), 300 - 200 * sin(tilt)))
        placing = Placing("a.png", (800, 600), "front", marks, 0.2, (0.0, 0.0), "level")
        assert place_of(placing, marks[1]) == pytest.approx((0.2, 0.0), abs=1e-12)
        assert abs(turned(placing)) <= radians(40) + 1e-9 < pi / 4
