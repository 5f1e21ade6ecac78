"""Laws of fasteners against published values."""

from math import pi

import numpy as np
import pytest

from simprop.catalog import fasteners
from simprop.errors import SimpropError, UnknownNameError
from simprop.rules import (
    bolts,
    clamps,
    glue,
    nuts,
    pins,
    rivets,
    rod_ends,
    setscrews,
    sheet_screws,
    sockets,
    toggles,
    tube_holes,
    washers,
    welds,
    wood_joints,
)

INCH, PSI, POUND = 0.0254, 6894.757293168, 4.4482216152605
PITCH = {"M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0, "M8": 1.25, "M10": 1.5}
THREADS = {"8-32": 32, "10-24": 24, "1/4-20": 20, "5/16-18": 18, "3/8-16": 16}


@pytest.mark.parametrize("name", PITCH)
def test_metric_stress_areas(name):
    """The catalogue's areas (ISO 898-1 tables) against the formula pi/4 (d - 0.9382 p)^2."""
    bolt = fasteners.bolt(name)
    assert bolt.area == pytest.approx(pi / 4 * (bolt.diameter - 0.9382e-3 * PITCH[name]) ** 2, rel=5e-3)


@pytest.mark.parametrize("name", THREADS)
def test_inch_stress_areas(name):
    """The catalogue's areas (ASME B1.1) against 0.7854 (D - 0.9743/n)^2."""
    bolt = fasteners.bolt(name)
    assert bolt.area == pytest.approx(pi / 4 * (bolt.diameter - 0.9743 * INCH / THREADS[name]) ** 2, rel=6e-3)


@pytest.mark.parametrize(("name", "proof"), [("M3", 2920), ("M4", 5090), ("M6", 11660), ("M10", 33630)])
def test_proof_loads_of_class_8_8(name, proof):
    """ISO 898-1: 580 MPa x area."""
    assert fasteners.grade("8.8").proof * fasteners.bolt(name).area == pytest.approx(proof, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "shear"), [("M3", 1930), ("M4", 3370), ("M5", 5450), ("M6", 7720), ("M8", 14050)]
)
def test_shear_of_class_8_8(name, shear):
    """EN 1993-1-8: 0.6 x 800 x area / 1.25."""
    bolt, grade = fasteners.bolt(name), fasteners.grade("8.8")
    found = bolts.shear_capacity(bolt.diameter, bolt.area, grade.ultimate, grade.shear_factor, 1)
    assert found == pytest.approx(shear, rel=2e-3)


def test_double_shear_is_twice_single():
    one = bolts.shear_capacity(6e-3, 20.1e-6, 400e6, 0.6, 1)
    assert one == pytest.approx(3859.2)  # M6 class 4.6, EN 1993-1-8 table 3.4
    assert bolts.shear_capacity(6e-3, 20.1e-6, 400e6, 0.6, 2) == 2 * one
    assert bolts.shear_capacity(6e-3, 20.1e-6, 400e6, 0.6, 1, threads_in=False) > one


@pytest.mark.parametrize(("name", "proof"), [("1/4-20", 1750), ("5/16-18", 2880), ("3/8-16", 4260)])
def test_proof_of_grade_2(name, proof):
    """SAE J429: 55 ksi x area."""
    assert fasteners.grade("2").proof * fasteners.bolt(name).area / POUND == pytest.approx(proof, rel=2e-3)


def test_clamp_load():
    """Fastener tables: 1/4-20 grade 2 at 75 % of proof 1312 lbf."""
    clamp = bolts.clamp_load(55e3 * PSI, 0.0318 * INCH**2)
    assert clamp / POUND == pytest.approx(1312, rel=1e-3)


@pytest.mark.parametrize(
    ("bolt", "wall", "stress", "load"),
    [(0.25, 0.109, 2000, 109.0), (0.25, 0.109, 7000, 382), (0.3125, 0.113, 1500, 105.9375)],
)
def test_bearing_in_pipe_walls(bolt, wall, stress, load):
    """Statics, F = 2 d t s, in lbf."""
    found = tube_holes.bearing_load(stress * PSI, bolt * INCH, wall * INCH) / POUND
    assert found == pytest.approx(load, rel=2e-3)


def test_pin_in_two_walls_by_solving_the_beam():
    """An independent form: a stiff pin on two supports with an overhanging load."""
    load, outside, wall, gap = 80.0, 0.0267, 0.0029, 0.001
    far = outside - wall
    arm = gap + wall / 2
    near, away = np.linalg.solve([[1, 1], [0, far]], [load, -load * arm])
    assert tube_holes.near_wall_load(load, outside, wall, gap) == pytest.approx(near)
    assert near + away == pytest.approx(load)


def test_tear_out_needs_an_edge():
    with pytest.raises(SimpropError):
        tube_holes.tear_out_load(1e6, 2e-3, 6e-3, 3e-3)


@pytest.mark.parametrize(
    ("gravity", "gauge", "value"),
    [(0.42, "#6", 69), (0.42, "#8", 82), (0.42, "#12", 109), (0.50, "#10", 135), (0.55, "#8", 141)],
)
def test_wood_screw_withdrawal(gravity, gauge, value):
    """AWC NDS, 2850 G^2 D, lbf per inch."""
    screw = fasteners.wood_screw(f"{gauge} wood")
    found = wood_joints.screw_withdrawal(gravity, screw.diameter) / POUND * INCH
    assert found == pytest.approx(value, abs=0.6)


@pytest.mark.parametrize(
    ("gravity", "size", "value"), [(0.42, 0.25, 173), (0.50, 0.375, 305), (0.55, 0.3125, 307)]
)
def test_lag_withdrawal(gravity, size, value):
    """AWC NDS, 1800 G^1.5 D^0.75, lbf per inch."""
    assert wood_joints.lag_withdrawal(gravity, size * INCH) / POUND * INCH == pytest.approx(value, abs=0.6)


@pytest.mark.parametrize(
    ("gauge", "gravity", "value"),
    [
        ("#6", 0.42, 57),
        ("#6", 0.50, 72),
        ("#8", 0.42, 69),
        ("#8", 0.50, 88),
        ("#10", 0.42, 83),
        ("#10", 0.50, 107),
    ],
)
def test_wood_screw_lateral(gauge, gravity, value):
    """NDS yield modes, 3/4 in side member, root diameter, deep penetration, lbf."""
    screw = fasteners.wood_screw(f"{gauge} wood")
    bearing = wood_joints.dowel_bearing(gravity, screw.diameter)
    modes = wood_joints.lateral_modes(
        screw.root, screw.bending_yield, 0.05, 0.75 * INCH, main_bearing=bearing, side_bearing=bearing
    )
    assert min(modes.values()) / POUND == pytest.approx(value, abs=1.5)


@pytest.mark.parametrize(
    ("main_angle", "side_angle", "value"), [(0, 0, 480), (90, 0, 300), (0, 90, 300), (90, 90, 220)]
)
def test_bolt_in_two_boards(main_angle, side_angle, value):
    """AWC NDS table 12A, 1/2 in bolt, two 1-1/2 in boards of Douglas fir-larch, lbf rounded to tens; from memory."""
    main, side = (wood_joints.dowel_bearing(0.5, 0.5 * INCH, np.radians(a)) for a in (main_angle, side_angle))
    modes = wood_joints.lateral_modes(
        0.5 * INCH,
        45e3 * PSI,
        1.5 * INCH,
        1.5 * INCH,
        main_bearing=main,
        side_bearing=side,
        angle=np.radians(max(main_angle, side_angle)),
    )
    assert min(modes, key=modes.get) == "II"
    assert min(modes.values()) / POUND == pytest.approx(value, abs=5)


def test_lag_through_a_steel_plate_across_the_grain():
    """AWC NDS table 12K, 3/8 in lag, 10 gauge steel, spruce-pine-fir, across the grain: 130 lbf; from memory."""
    lag = fasteners.wood_screw("3/8 in lag")
    modes = wood_joints.lateral_modes(
        lag.root,
        lag.bending_yield,
        3.5 * INCH,
        0.134 * INCH,
        main_bearing=wood_joints.dowel_bearing(0.42, lag.diameter, np.pi / 2),
        side_bearing=61.85e3 * PSI,
        angle=np.pi / 2,
        nominal=lag.diameter,
    )
    assert min(modes, key=modes.get) == "IIIs"
    assert min(modes.values()) / POUND == pytest.approx(130, abs=5)


def test_a_lag_holds_by_its_thread_alone():
    """AWC NDS appendix L: a 3 in lag has 2 in of thread, 5/32 in of it tip; a wood screw has two thirds."""
    assert wood_joints.thread_length(3 * INCH, 0.25 * INCH, lag=True) == pytest.approx((2 - 5 / 32) * INCH)
    assert wood_joints.thread_length(1.5 * INCH, 0.19 * INCH) == pytest.approx(1.0 * INCH)
    with pytest.raises(SimpropError):
        wood_joints.penetration_share(3.9 * 0.25 * INCH, 0.25 * INCH, lag=True)
    assert wood_joints.penetration_share(8 * 0.25 * INCH, 0.25 * INCH, lag=True) == 1.0


def test_lateral_mode_iv_by_plastic_hinges():
    """An independent form: two plastic hinges at a distance x apart: Z = Fe D x, 2 M = Fe D x^2 / 2 x 2 / 2."""
    d, fyb, fe = 3.3e-3, 600e6, 25e6
    modes = wood_joints.lateral_modes(d, fyb, 1.0, 1.0, main_bearing=fe, side_bearing=fe)
    hinge = fyb * d**3 / 6
    # each member: a hinge at depth x, load Fe D x; moments about the shear plane: 2 M = Fe D x^2
    x = np.sqrt(2 * hinge / (fe * d))
    assert modes["IV"] * 2.2 == pytest.approx(fe * d * x, rel=1e-9)


def test_too_shallow_a_screw_earns_nothing():
    with pytest.raises(SimpropError):
        wood_joints.penetration_share(0.02, 0.004)
    assert wood_joints.penetration_share(0.04, 0.004) == 1.0


@pytest.mark.parametrize(("wall", "size", "load"), [(0.060, 0.190, 145), (0.048, 0.250, 153)])
def test_sheet_screw_pull_out(wall, size, load):
    """AISI S100: 0.85 t d Fu / 3 with Fu = 45 ksi, lbf."""
    found = sheet_screws.pull_out(wall * INCH, size * INCH, 45e3 * PSI) / sheet_screws.SAFETY / POUND
    assert found == pytest.approx(load, rel=1e-2)


def test_sheet_screw_tilts_in_thin_walls_and_bears_in_thick_ones():
    thin = sheet_screws.sideways(1e-3, 1e-3, 4e-3, 310e6, 310e6)
    thick = sheet_screws.sideways(1e-3, 3e-3, 4e-3, 310e6, 310e6)
    assert thin == pytest.approx(4.2 * np.sqrt(1e-9 * 4e-3) * 310e6)
    assert thick == pytest.approx(2.7 * 1e-3 * 4e-3 * 310e6)
    assert thin < sheet_screws.sideways(1e-3, 1.1e-3, 4e-3, 310e6, 310e6) < thick


def test_solvent_joint():
    """1/2 in socket: a third bonded 545 lbf, full depth 1634 lbf at 900 psi (ASTM D2564, D2466)."""
    size = (0.840 * INCH, fasteners.socket("1/2 in").depth, 900 * PSI)
    assert sockets.glued_pull(*size) / POUND == pytest.approx(545, rel=2e-3)
    assert sockets.glued_pull(*size, share=1.0) / POUND == pytest.approx(1634, rel=2e-3)
    assert sockets.lap_shear(1.0) is None
    assert [round(sockets.lap_shear(h) / PSI) for h in (2, 16, 72)] == [250, 500, 900]


def test_small_pipe_is_loose_in_the_next_socket():
    """1/2 in pipe in a 3/4 in socket: 0.206 in of play at the bottom, 16.0 deg of tilt."""
    socket = fasteners.socket("3/4 in")
    assert (socket.bottom - 0.840 * INCH) / INCH == pytest.approx(0.206, abs=1e-3)
    assert np.degrees(sockets.free_tilt(0.840 * INCH, socket.bottom, socket.depth)) == pytest.approx(
        16.0, abs=0.1
    )


def test_prying_by_integrating_the_pressure():
    """An independent form: linear pressure over the depth, integrated."""
    depth, outside, top = 0.0175, 0.0213, 10e6
    s = np.linspace(-depth / 2, depth / 2, 100001)
    pressure = top * s / (depth / 2)
    moment = np.trapezoid(pressure * outside * s, s)
    assert sockets.prying_moment(outside, depth, top) == pytest.approx(moment, rel=1e-6)


def test_set_screw_on_a_half_inch_shaft():
    """Machine-design textbook table 7-4: 1/4 in cup point 1000 lbf, 250 lbf*in on a 1/2 in shaft."""
    holding = fasteners.set_screw("1/4 in").holding
    assert setscrews.hub_torque(holding, 0.5 * INCH) / POUND / INCH == pytest.approx(250, rel=1e-3)
    assert setscrews.hub_pull(1.0, 2) < 2.0


def test_roll_pin_table_and_torque():
    """ISO 8752: 3 mm 6.32 kN, 6 mm 26.04 kN in double shear."""
    assert fasteners.roll_pin("6 mm").double_shear == 26040
    assert pins.pin_shear(6320, 1) == 3160
    assert pins.cross_pin_torque(6320, 0.01) == pytest.approx(2 * (6320 / 2) * 0.005)


def test_shaft_bearing_torque_by_integrating():
    stress, pin, shaft = 100e6, 3e-3, 12e-3
    r = np.linspace(-shaft / 2, shaft / 2, 100001)
    torque = np.trapezoid(stress * r / (shaft / 2) * pin * r, r)
    assert pins.shaft_bearing_torque(stress, pin, shaft) == pytest.approx(torque, rel=1e-6)


def test_band_clamp_against_capstan():
    """Ideal band: 2 pi mu T."""
    assert clamps.band_pull(1000.0, 0.25, 1.0) == pytest.approx(2 * pi * 0.25 * 1000)
    assert clamps.band_torque(1000.0, 0.25, 0.02, 1.0) == pytest.approx(2 * pi * 0.25 * 1000 * 0.02)


def test_weld():
    """EN 1993-1-8 4.5.3.3 with S235: fvw.d = 360 / (sqrt 3 x 0.8 x 1.25) = 207.8 MPa."""
    assert welds.fillet_load(1e-3, 1.0, 360e6) == pytest.approx(207.8e3, rel=1e-3)
    assert welds.throat(1.0) == pytest.approx(0.7071, abs=1e-4)


def test_rivets_rod_ends_toggles_glue_washers():
    assert fasteners.rivet("3/16 in steel").shear / POUND == pytest.approx(540)  # IFI 114 grade 30
    assert rivets.rivet_use(1.0, -5.0, 2.0, 1.0) == 0.5
    assert rod_ends.rod_end_load(4000, 0.1, True) == 400
    assert toggles.toggle_pull(True) is None
    assert toggles.toggle_pull(False) / POUND == pytest.approx(25)
    assert glue.glue_load(1e-3, "end to end") < 0.2 * glue.glue_load(1e-3, "side to side")
    assert washers.side_clearance(0.03, 0.0107, 0.0134) == pytest.approx(0.0059)


def test_only_a_locking_nut_stays_on_a_moving_joint():
    assert nuts.nut_warning("plain", moving=False) is None
    assert "works loose" in nuts.nut_warning("plain", moving=True)
    assert nuts.nut_warning("double", moving=True) is None
    assert "121" in nuts.nut_warning("nylon insert", moving=True, temperature=130.0)


def test_unknown_names_say_what_is_near():
    with pytest.raises(UnknownNameError) as error:
        fasteners.bolt("1/4-21")
    assert error.value.nearest == "1/4-20"


def test_next_sizes():
    assert fasteners.next_size("1/4-20", "bolt") == "5/16-18"
    assert fasteners.next_size("M6", "bolt") == "M8"
    assert fasteners.next_size("1/8 in aluminium rivet", "rivet") == "5/32 in aluminium rivet"
    assert fasteners.next_size("3/8-16", "bolt") is None
