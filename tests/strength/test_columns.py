"""Columns between Euler and crushing, by formula and from a rig file."""

import numpy as np
import pytest

import simprop
from simprop.rules.columns import column_load, twisting_load
from simprop.rules.profiles import angle


def test_a_stocky_steel_rod():
    """12 mm, 240 mm between pins, L/r = 80, Fy 250 MPa, E 200 GPa: 20.1 kN by AISC 360 E3 (from memory), below the
    parabola of machine design texts, Sy A (1 - Sy (L/r)^2 / (4 pi^2 E)) = 22.5 kN, and far below Sy A = 28.3 kN."""
    area, inertia = np.pi / 4 * 12e-3**2, np.pi / 64 * 12e-3**4
    euler = np.pi**2 * 200e9 * inertia / 0.24**2
    found = column_load(euler, 250e6 * area)
    assert found == pytest.approx(20.1e3, rel=3e-3)
    assert found < 250e6 * area * (1 - 250e6 * 80**2 / (4 * np.pi**2 * 200e9))


def test_ends_of_the_curves():
    assert column_load(1e9, 1e3) == pytest.approx(1e3, rel=1e-6)
    assert column_load(1e9, 1e3, timber=True) == pytest.approx(1e3, rel=1e-5)
    assert column_load(1e3, 1e9, timber=True) == pytest.approx(1e3, rel=1e-5)
    assert column_load(1e3, 2.25e3) == pytest.approx(0.877e3, rel=2e-3)  # the two branches meet
    # Cp for le/d = 26.2, Emin 0.44e6 psi, Fc* 1350 psi: FcE/Fc* = 0.3904, Cp = 0.869 - 0.517 = 0.352, worked by hand
    assert column_load(0.3904, 1.0, timber=True) == pytest.approx(0.352, abs=5e-4)


def test_a_strut_in_a_rig():
    text = """
rig: 1
name: Strut
bodies:
  post: {fixed: true}
  strut: {parts: [{rod: 12 mm, of: steel, from: 0 0 0 mm, to: 0 0 240 mm, mass: 1 g}]}
  load: {parts: [{lump: 10 kg, at: 0 0 240 mm}]}
joints:
  a: {pin: [post, strut], at: 0 0 0 mm, axis: y}
  b: {pin: [strut, load], at: 0 0 240 mm, axis: y}
  g: {slider: [post, load], at: 0 0 240 mm, along: z}
stand: {anchored: true}
run: {for: 0.2 s}
"""
    found = simprop.simulate(simprop.parse_rig(text), settle=False).strength
    check = next(c for c in found.checks if c.name == "buckling")
    assert check.capacity == pytest.approx(20.1e3, rel=0.02)  # E of the catalogue's steel


def test_an_open_column_twists_as_it_bends() -> None:
    """An equal angle: bending about its axis of symmetry joins with twisting (AISC 360 E4-3, from memory).

    F = (Fy + Fz) / (2 H) (1 - sqrt(1 - 4 Fy Fz H / (Fy + Fz)^2)), H = 1 - off^2 / r0^2.
    """
    angle_25 = angle(25e-3, 25e-3, 1e-3)
    off = float(np.hypot(angle_25.centre_u, angle_25.centre_v))
    polar = (angle_25.inertia_u + angle_25.inertia_v) / angle_25.area
    square = polar + off**2
    share = 1 - off**2 / square
    weak, strong = sorted((angle_25.inertia_u, angle_25.inertia_v))
    modulus, shear, length = 69e9, 26e9, 0.2
    about_weak, about_strong = (np.pi**2 * modulus * i / length**2 for i in (weak, strong))
    twist = shear * angle_25.torsion / square
    both = about_strong + twist
    joined = both / 2 / share * (1 - np.sqrt(1 - 4 * about_strong * twist * share / both**2))
    in_order = (about_weak, about_strong) if angle_25.inertia_u == weak else (about_strong, about_weak)
    found = twisting_load(*in_order, shear * angle_25.torsion, square, (angle_25.centre_u, angle_25.centre_v))
    assert joined < min(about_weak, twist)
    assert found == pytest.approx(joined, rel=1e-6)
