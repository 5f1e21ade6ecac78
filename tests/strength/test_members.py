"""Stress, bending and buckling of members against handbooks."""

from math import pi

import numpy as np
import pytest

from simprop.catalog.strengths import at_temperature, strength_of
from simprop.rules import sections, stress
from simprop.rules.stress import SectionLoads

INCH, PSI, POUND = 0.0254, 6894.757293168, 4.4482216152605
HALF = sections.tube(0.840 * INCH, 0.622 * INCH)
THREE_QUARTER = sections.tube(1.050 * INCH, 0.824 * INCH)
ONE = sections.tube(1.315 * INCH, 1.049 * INCH)


def loads(**values):
    names = ("axial", "shear_u", "shear_v", "torque", "moment_u", "moment_v")
    return SectionLoads(*(np.array([values.get(n, 0.0)]) for n in names))


def test_torsion_stress():
    """Elementary mechanics of materials: 3/4 in Schedule 40, 10 N*m: 4.3251409 MPa."""
    found = stress.equivalent(THREE_QUARTER, loads(torque=10.0))[0] / np.sqrt(3)
    assert found / 1e6 == pytest.approx(4.3251409, rel=1e-4)


def test_combined_stress():
    """Von Mises of 3 N*m bending and 2 N*m torsion in 1/2 in Schedule 40: 5.1945737 MPa."""
    assert stress.equivalent(HALF, loads(moment_u=3.0, torque=2.0))[0] / 1e6 == pytest.approx(
        5.1945737, rel=1e-4
    )


def test_combined_stress_by_principal_stresses():
    """An independent form: von Mises of the two principal stresses."""
    normal, shear = 3.0, 2.0
    s1 = normal / 2 + np.hypot(normal / 2, shear)
    s2 = normal / 2 - np.hypot(normal / 2, shear)
    assert stress.von_mises(np.array(normal), np.array(shear)) == pytest.approx(
        np.sqrt(s1**2 - s1 * s2 + s2**2)
    )
    assert stress.largest_principal(np.array(normal), np.array(shear)) == pytest.approx(s1)


def test_fibres_agree_with_the_largest_bending_stress():
    both = loads(moment_u=1.2, moment_v=-0.7)
    for section in (HALF, sections.rectangle(0.025, 0.006)):
        edge = stress.fibres(section, both, 720)
        assert edge.max() == pytest.approx(section.bending(both.moment_u, both.moment_v)[0], rel=1e-4)
        assert edge.min() == pytest.approx(-edge.max(), rel=1e-9)


def test_cantilever_with_end_load():
    """Structural handbooks, P L^3 / 3 E I: 24 in of 1/2 in Schedule 40, 5 lbf, 400 ksi: 3.370029 in."""
    length, load = 24 * INCH, 5 * POUND
    x = np.linspace(0, length, 201)
    bend = stress.deflection(x, load * (length - x), 400e3 * PSI * HALF.inertia_u, 0.0, None)
    assert bend[-1] / INCH == pytest.approx(3.370029, rel=1e-4)


def test_simple_beam_with_load_in_the_middle():
    """P L^3 / 48 E I: 48 in of 3/4 in Schedule 40, 10 lbf: 1.5552298 in."""
    length, load = 48 * INCH, 10 * POUND
    x = np.linspace(0, length, 401)
    moment = load / 2 * np.minimum(x, length - x)
    bend = stress.deflection(x, moment, 400e3 * PSI * THREE_QUARTER.inertia_u, 0.0, length)
    assert -bend.min() / INCH == pytest.approx(1.5552298, rel=2e-4)


def test_cantilever_under_its_own_weight():
    """w L^4 / 8 E I: 1.2 m of 1 in Schedule 40 at 4.67 N/m, 2.76 GPa: 12.063682 mm."""
    x = np.linspace(0, 1.2, 801)
    bend = stress.deflection(x, 4.67 * (1.2 - x) ** 2 / 2, 2.76e9 * ONE.inertia_u, 0.0, None)
    assert bend[-1] * 1e3 == pytest.approx(12.063682, rel=1e-3)


def test_euler_columns():
    """Theory of elastic stability: fixed ends carry four times, a cantilever a quarter of pinned ends."""
    pinned = stress.euler_load(200e9, 1e-9, 1.0)
    assert pinned == pytest.approx(pi**2 * 200)
    assert stress.euler_load(200e9, 1e-9, 1.0, "fixed") == pytest.approx(4 * pinned)
    assert stress.euler_load(200e9, 1e-9, 1.0, "cantilever") == pytest.approx(pinned / 4)


def test_pvc_weakens_with_heat():
    """Three industry tables: 0.62 at 100 degF; nothing is known above 140 degF."""
    weaker = strength_of("PVC").weaker
    assert at_temperature(weaker, (100 - 32) / 1.8) == pytest.approx(0.62, rel=1e-6)
    assert at_temperature(weaker, (105 - 32) / 1.8) == pytest.approx(0.56, rel=1e-6)
    assert at_temperature(weaker, 10.0) == 1.0
    assert at_temperature(weaker, 61.0) is None
    assert at_temperature((), 40.0) is None


def test_wide_bend_only_thins_its_wall_and_tight_thin_bend_concentrates():
    wide = stress.elbow_factor(0.0213, 0.00277, 0.5)
    assert wide == pytest.approx(1 + 0.0213 / 1.0)
    # h = t R / r^2 = 0.1: 0.9 / h^(2/3) = 4.177 (ASME B31.3 appendix D form)
    radius, wall = 0.05, 0.002
    bend = 0.1 * ((0.1 - wall) / 2) ** 2 / wall
    assert stress.elbow_factor(0.1, wall, bend) == pytest.approx(4.177 * (1 + radius / bend), rel=1e-3)


def test_materials_all_have_a_strength_or_are_known_to_have_none():
    from simprop.catalog.load import table

    soft = {
        "foam",
        "rigid foam",
        "cloth",
        "papier mache",
        "straw",
        "leather",
        "rubber",
        "latex",
        "PTFE",
        "lead",
        "MDF",
        "hardboard",
        "EVA foam",
        "foam board",
        "corrugated plastic",
    }
    for name in table("materials"):
        assert (strength_of(name) is None) == (name in soft), name
    assert set(table("strengths")) <= set(table("materials"))


def test_weight_checks_of_the_strength_table():
    """ASTM A36: 250 and 400 MPa; ASTM D1784 cell 4: 7000 psi; 6061-T6 extrusion minimum 241 and 262 MPa."""
    assert strength_of("steel").yield_strength == 250e6
    assert strength_of("PVC").yield_strength / PSI == pytest.approx(7000)
    assert strength_of("6061-T6").ultimate == 262e6
