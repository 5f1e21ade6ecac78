"""Threaded rod: stress areas of the standards, mass, strength and notch."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from simprop.errors import RigError
from simprop.geometry.placement import AS_DRAWN
from simprop.parts.kinds import PARTS
from simprop.parts.part import Shape
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

G = 9.80665
INCH = 0.0254
# ISO 898-1 table 4, mm^2; ASME B1.1, in^2.
METRIC = {
    "M3": 5.03,
    "M4": 8.78,
    "M5": 14.2,
    "M6": 20.1,
    "M8": 36.6,
    "M10": 58.0,
    "M12": 84.3,
    "M16": 157,
    "M20": 245,
}
UNC = {"6-32": 0.00909, "8-32": 0.0140, "10-24": 0.0175, "1/4-20": 0.0318, "5/16-18": 0.0524, "3/8-16": 0.0775,
       "1/2-13": 0.1419, "5/8-11": 0.226, "3/4-10": 0.334}  # fmt: skip


def placed(size: str) -> Shape:
    said = {"threaded_rod": size, "from": "0 0 0 mm", "to": "0 0 1000 mm"}
    return PARTS.read(said).place(AS_DRAWN, Path(), "it")


@pytest.mark.parametrize("size", [*METRIC, *UNC])
def test_stress_areas_are_those_of_the_standards(size: str) -> None:
    section = placed(size).section()
    assert section is not None
    want = METRIC[size] * 1e-6 if size in METRIC else UNC[size] * INCH**2
    assert section.area == pytest.approx(want, rel=3e-3)


def test_it_weighs_by_its_pitch_diameter() -> None:
    """M8: pitch diameter 7.188 mm (ISO 724); M10 9.026 mm: 0.502 kg/m."""
    assert placed("M8").mass == pytest.approx(7850 * pi / 4 * 7.188e-3**2, rel=1e-4)
    rod = placed("M10")
    assert rod.mass == pytest.approx(0.502, rel=2e-3)
    assert rod.weight.inertia[2, 2] == pytest.approx(rod.mass * 9.026e-3**2 / 8, rel=1e-3)
    assert rod.piece(rod.path[0], rod.path.mean(axis=0)).mass == pytest.approx(rod.mass / 2)


RIG = """
rig: 1
name: hanger
bodies:
  post: {fixed: true, parts: [{block: 60 x 60 x 20 mm, of: pine, at: 0 0 1010 mm}]}
  arm:
    parts:
      - {threaded_rod: M8, from: 0 0 1000 mm, to: 300 0 1000 mm, name: rod}
      - {lump: 1 kg, at: 300 0 1000 mm}
joints: {hub: {fixed: [post, arm], at: 0 0 1000 mm}}
run: {for: 10 ms}
"""


def test_it_bends_by_its_stress_area_and_tires_at_its_notches() -> None:
    """(m + M / 2) g L over pi d^3 / 32 with d = 8 - 0.9382 x 1.25 mm; a change is the next metric size."""
    run = simulate(parse_rig(RIG), "mujoco", settle=False)
    own = placed("M8").mass * 0.3
    bending = next(c for c in run.strength.checks if c.name.startswith("bending"))
    modulus = pi / 32 * (8e-3 - 0.9382 * 1.25e-3) ** 3
    assert bending.demand == pytest.approx((1 + own / 2) * G * 0.3 / modulus, rel=1e-3)
    life = next(c for c in run.strength.checks if c.group == "fatigue" and c.place.startswith("arm"))
    assert "stress factor 2.8 of its notches" in life.assumed
    assert placed("M8").stronger()[0][0] == "M10 threaded rod"
    assert placed("1/4-20").stronger()[0][0] == "5/16-18 threaded rod"


def test_a_thread_that_is_none_is_a_fault() -> None:
    with pytest.raises(RigError, match="not a thread of the catalogue"):
        parse_rig(RIG.replace("M8", "M9"))
