"""What parts show to the wind, and what a fastener goes through, by hand."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simprop.geometry.placement import AS_DRAWN
from simprop.parts.kinds import PARTS
from simprop.parts.part import Shape

X, Y, Z = np.eye(3)
QUARTER = np.array([[0.0, -1, 0], [1, 0, 0], [0, 0, 1]])


def placed(**said: object) -> Shape:
    return PARTS.read(said).place(AS_DRAWN, Path(), "it")


PIPE = {"pipe": {"outside": "20 mm", "wall": "2 mm", "of": "steel"}, "from": "0 0 0 mm", "to": "0 0 500 mm"}
BAR = {"bar": "40 x 10 mm", "of": "steel", "thin": "y", "from": "0 0 0 mm", "to": "0 0 500 mm"}
BLOCK = {"block": "100 x 200 x 300 mm", "of": "steel", "at": "0 0 0 mm"}
DISC = {"disc": "200 mm", "thick": "10 mm", "of": "steel", "at": "0 0 0 mm", "axis": "y"}
BALL = {"ball": "200 mm", "of": "steel", "at": "0 0 0 mm"}
FACES = [
    (PIPE, X, 0.02 * 0.5),
    (PIPE, Z, 0.0),
    (BAR, X, 0.01 * 0.5),
    (BAR, Y, 0.04 * 0.5),
    (BLOCK, X, 0.06),
    (BLOCK, (X + Y) / np.sqrt(2), (0.06 + 0.03) / np.sqrt(2)),
    (DISC, Y, np.pi * 0.01),
    (DISC, X, 0.2 * 0.01),
    (BALL, Z, np.pi * 0.01),
]


@pytest.mark.parametrize(("said", "way", "area"), FACES)
def test_face_to_the_wind(said: dict[str, object], way: np.ndarray, area: float) -> None:
    part = placed(**said)
    assert part.face(way) == pytest.approx(area, abs=1e-12)
    turned = part.moved(QUARTER, np.array([1.0, 2.0, 3.0]))
    assert turned.face(QUARTER @ way) == pytest.approx(area, abs=1e-12)


@pytest.mark.parametrize(
    ("said", "axis", "expected"),
    [
        (PIPE, Y, (True, 0.02, 0.002)),
        (BAR, Y, (False, 0.01, 0.01)),
        (BAR, X, (False, 0.04, 0.04)),
        (BLOCK, Z, (False, 0.3, 0.3)),
        (BLOCK, np.zeros(3), (False, 0.1, 0.1)),
        (DISC, Y, (False, 0.01, 0.01)),
        (DISC, Z, (False, 0.2, 0.2)),
    ],
)
def test_what_a_fastener_goes_through(
    said: dict[str, object], axis: np.ndarray, expected: tuple[bool, float, float]
) -> None:
    found = placed(**said).moved(QUARTER, np.zeros(3)).through(QUARTER @ axis)
    assert found is not None
    assert (found.tube, found.size, found.wall) == pytest.approx(expected)
    assert placed(**BALL).through(axis) is None


def test_stretches_make_up_the_whole() -> None:
    """Masses of the stretches of a bent tube add up, and their first moments vanish about its centre of mass."""
    tube = {"tube": PIPE["pipe"], "through": ["400 0 0 mm", "0 0 0 mm", "0 0 300 mm"]}
    part = placed(**tube)
    weights = [s.weight for s in part.stretches()]
    assert sum(w.mass for w in weights) == pytest.approx(part.mass)
    assert sum(w.mass * (w.centre - part.weight.centre) for w in weights) == pytest.approx(
        np.zeros(3), abs=1e-12
    )
