"""Cross-sections against tables and independent forms."""

from math import pi

import numpy as np
import pytest

from simprop.rules import sections

INCH = 0.0254
# Section values of Schedule 40 PVC pipe on the least wall of ASTM D1785, in^2, in^4, in^3 (property tables)
PIPES = [
    (0.840, 0.109, 0.2503, 0.017092, 0.04069),
    (1.050, 0.113, 0.3326, 0.037036, 0.07055),
    (1.315, 0.133, 0.4939, 0.087343, 0.1328),
    (1.660, 0.140, 0.6685, 0.19471, 0.2346),
    (1.900, 0.145, 0.7995, 0.30989, 0.3262),
    (2.375, 0.154, 1.075, 0.66575, 0.5606),
]


@pytest.mark.parametrize(("outside", "wall", "area", "inertia", "modulus"), PIPES)
def test_pipe_table(outside, wall, area, inertia, modulus):
    section = sections.tube(outside * INCH, (outside - 2 * wall) * INCH)
    assert section.area / INCH**2 == pytest.approx(area, rel=5e-4)
    assert section.inertia_u / INCH**4 == pytest.approx(inertia, rel=2e-4)
    assert section.modulus_u / INCH**3 == pytest.approx(modulus, rel=5e-4)
    assert section.torsion == pytest.approx(2 * section.inertia_u)


def test_pipe_dimensions_agree_with_the_package_fluids():
    """General-purpose pipe tables: fluids.nearest_pipe on the D1785 table."""
    fluids = pytest.importorskip("fluids")
    from simprop.catalog.load import pipe

    for size, name in ((0.5, "1/2 in PVC"), (0.75, "3/4 in PVC"), (1, "1 in PVC"), (2, "2 in PVC")):
        _, inside, outside, _ = fluids.nearest_pipe(NPS=size, schedule="40D1785")
        ours = pipe(name)
        section = sections.tube(ours.outside, ours.outside - 2 * ours.wall)
        assert section.inertia_u == pytest.approx(pi / 64 * (outside**4 - inside**4), rel=1e-3)


# Torsion of rectangles, Timoshenko and Goodier, Theory of Elasticity: J = k1 a b^3, tau = T / (k2 a b^2)
RECTANGLES = [
    (1.0, 0.1406, 0.208),
    (1.5, 0.196, 0.231),
    (2.0, 0.229, 0.246),
    (3.0, 0.263, 0.267),
    (10.0, 0.312, 0.312),
]


@pytest.mark.parametrize(("ratio", "k1", "k2"), RECTANGLES)
def test_rectangle_torsion_table(ratio, k1, k2):
    constant, modulus = sections.rectangle_torsion(ratio, 1.0)
    assert constant / ratio == pytest.approx(k1, abs=6e-4)
    assert modulus / ratio == pytest.approx(k2, abs=6e-4)


def test_rectangle_torsion_against_roarks_polynomials():
    """Roark's Formulas for Stress and Strain, table of torsion, rectangle 2a x 2b (an independent fit)."""
    a, b = 0.0125, 0.0015
    constant, modulus = sections.rectangle_torsion(2 * a, 2 * b)
    roark = a * b**3 * (16 / 3 - 3.36 * b / a * (1 - b**4 / (12 * a**4)))
    r = b / a
    peak = 3 / (8 * a * b**2) * (1 + 0.6095 * r + 0.8865 * r**2 - 1.8023 * r**3 + 0.91 * r**4)
    assert constant == pytest.approx(roark, rel=1e-3)
    assert modulus == pytest.approx(1 / peak, rel=4e-3)


def test_cross_hole_section_by_counting_squares():
    outside, inside, hole = 21.336e-3, 15.7988e-3, 6.35e-3
    n = 2000
    grid = ((np.arange(n) + 0.5) / n - 0.5) * outside
    x, y = np.meshgrid(grid, grid)
    r = np.hypot(x, y)
    there = (r < outside / 2) & (r > inside / 2) & (np.abs(x) > hole / 2)
    square = (outside / n) ** 2
    net = sections.tube_with_cross_hole(outside, inside, hole)
    assert net.area == pytest.approx(there.sum() * square, rel=1e-3)
    assert net.inertia_u == pytest.approx((y**2 * there).sum() * square, rel=1e-3)
    assert net.inertia_v == pytest.approx((x**2 * there).sum() * square, rel=1e-3)


def test_vanishing_hole_leaves_the_section():
    whole, net = sections.tube(0.02, 0.016), sections.tube_with_cross_hole(0.02, 0.016, 1e-9)
    assert net.inertia_u == pytest.approx(whole.inertia_u, rel=1e-6)
    assert net.area == pytest.approx(whole.area, rel=1e-6)


def test_shear_of_rod_and_thin_tube():
    """Gere and Timoshenko, Mechanics of Materials: 4/3 V/A for a circle, 2 V/A for a thin ring."""
    assert sections.tube(0.02).shear_factor == pytest.approx(4 / 3)
    assert sections.tube(0.02, 0.01998).shear_factor == pytest.approx(2.0, abs=1e-3)
