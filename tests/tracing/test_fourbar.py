"""A four-bar drawn as a picture, traced from its pixels, and run: its lengths and its swing come out."""

from __future__ import annotations

from itertools import product
from math import acos, cos, degrees, dist, hypot, radians, sin
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageDraw

from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from simprop.tracing.adding import with_bar, with_pin, with_point
from simprop.tracing.pictures import read_picture
from simprop.tracing.placing import fineness, in_world, place_of, placed
from simprop.tracing.types import Pair

GROUND, CRANK, COUPLER, ROCKER = 0.1, 0.04, 0.12, 0.08
PIXEL = 0.000473
"""Of the picture, m."""
TILT = radians(3)
BARS = (("post", "o2", "o4"), ("crank", "o2", "a"), ("coupler", "a", "b"), ("rocker", "o4", "b"))
INKS = {
    "o2": (200, 0, 0),
    "a": (0, 160, 0),
    "b": (0, 0, 200),
    "o4": (200, 160, 0),
    "one": (200, 0, 200),
    "two": (0, 160, 200),
}
NEARLY_EMPTY = """\
rig: 1
name: Traced
motors: {drive: {joint: o2, motor: {given: {speed: [0 s 0 rpm, 0.2 s 60 rpm, 1.5 s 60 rpm]}}}}   # before a motor
run: {for: 1.5 s}
"""


def _pins() -> dict[str, Pair]:
    """The pins with the crank at 40 degrees, and two marks 300 mm apart on one level below, m."""
    ax, ay = CRANK * cos(radians(40)), CRANK * sin(radians(40))
    way = hypot(GROUND - ax, -ay)
    along = (COUPLER**2 - ROCKER**2 + way**2) / (2 * way)
    across = (COUPLER**2 - along**2) ** 0.5
    ux, uy = (GROUND - ax) / way, -ay / way
    b = ax + along * ux - across * uy, ay + along * uy + across * ux
    return {"o2": (0, 0), "a": (ax, ay), "b": b, "o4": (GROUND, 0), "one": (-0.1, -0.06), "two": (0.2, -0.06)}


def _drawn(file: Path) -> None:
    """A picture of it, tilted: bars as pencil lines, pins and marks as dots of their own inks."""
    image = Image.new("RGB", (900, 640), (245, 243, 235))
    draw = ImageDraw.Draw(image)

    def pixel(x: float, y: float) -> Pair:
        x, y = (x * cos(TILT) - y * sin(TILT)) / PIXEL, (x * sin(TILT) + y * cos(TILT)) / PIXEL
        return 331.4 + x, 402.7 - y

    pins = {name: pixel(*place) for name, place in _pins().items()}
    for _, first, second in BARS:
        draw.line((*pins[first], *pins[second]), fill=(90, 90, 90), width=5)
    for name, (x, y) in pins.items():
        draw.ellipse((x - 6, y - 6, x + 6, y + 6), fill=INKS[name])
    image.save(file)


def _traced(file: Path) -> str:
    """The rig from the picture's pixels, each place read as a whole pixel."""
    picture = read_picture(file)
    spots = {
        name: tuple(np.round(np.argwhere((picture.pixels == ink).all(axis=2)).mean(axis=0))[::-1])
        for name, ink in INKS.items()
    }
    placing = placed(
        file.name, picture.size, "front", (spots["one"], spots["two"]), "300 mm", "-100 -60 mm", "level"
    )
    step = fineness(placing)
    assert step == 5e-4
    text = NEARLY_EMPTY
    for name in ("o2", "a", "b", "o4"):
        text = with_point(text, name, in_world("front", place_of(placing, spots[name]), 0.0), step)
    for name, first, second in BARS:
        text = with_bar(text, name, first, second, "bar: 20 x 3 mm, of: steel", fixed=name == "post")
    for name, pair in (("o2", ("post", "crank")), ("a", ("crank", "coupler")), ("b", ("coupler", "rocker"))):
        text = with_pin(text, name, pair, name, "front")
    return with_pin(text, "o4", ("post", "rocker"), "o4", "front")


def _swing(ground: float, crank: float, coupler: float, rocker: float) -> float:
    """Between crank and coupler in one line and folded on each other, degrees (law of cosines)."""
    out, back = (
        acos((ground**2 + rocker**2 - way**2) / (2 * ground * rocker))
        for way in (coupler + crank, coupler - crank)
    )
    return degrees(out - back)


def test_a_fourbar_traced_from_a_picture(tmp_path: Path) -> None:
    _drawn(tmp_path / "sketch.png")
    text = _traced(tmp_path / "sketch.png")
    assert all(line in text.splitlines() for line in NEARLY_EMPTY.splitlines())
    rig = parse_rig(text)
    lengths = [dist(rig.points[first][:3], rig.points[second][:3]) for _, first, second in BARS]
    true = (GROUND, CRANK, COUPLER, ROCKER)
    assert max(abs(a - b) for a, b in zip(lengths, true, strict=True)) < 0.001
    run = simulate(rig, settle=False)
    names = [joint.name for joint in run.assembly.joints]
    swing = np.degrees(np.ptp(run.track.coordinate[:, names.index("o4")]))
    assert swing == pytest.approx(_swing(*lengths), abs=0.1)
    off = [
        _swing(*(v + s * 0.001 for v, s in zip(true, signs, strict=True)))
        for signs in product((-1, 1), repeat=4)
    ]
    assert min(off) < swing < max(off)
    assert max(off) - min(off) < 12  # 73.8 degrees: a millimetre each way is worth some
