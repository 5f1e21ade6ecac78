"""Wire, shared supply and fuse."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simprop.errors import SimpropError
from simprop.laws.supply import (
    CORD_CURRENT,
    Load,
    Source,
    fuse,
    share,
    wire_diameter,
    wire_resistance,
)


@pytest.mark.parametrize(
    ("gauge", "inch", "ohm_kft"),
    # AWG formula and copper wire tables, solid, 20 degC
    [
        (24, 0.0201, 25.7),
        (22, 0.0253, 16.1),
        (20, 0.0320, 10.15),
        (18, 0.0403, 6.39),
        (16, 0.0508, 4.016),
        (14, 0.0641, 2.53),
        (12, 0.0808, 1.59),
        (10, 0.1019, 1.00),
        (15, 0.057068206, None),  # ASTM B258
    ],
)
def test_wire_table(gauge, inch, ohm_kft):
    assert wire_diameter(gauge) / 0.0254 == pytest.approx(inch, rel=2e-3)
    if ohm_kft is not None:
        assert wire_resistance(gauge, 304.8) == pytest.approx(ohm_kft, rel=5e-3)


def test_hot_wire():
    # NEC chapter 9 table 8, solid, 75 degC: 4.89 ohm/kft for 16 AWG, 7.77 for 18
    assert wire_resistance(16, 304.8, 75.0) == pytest.approx(4.89, rel=5e-3)
    assert wire_resistance(18, 304.8, 75.0) == pytest.approx(7.77, rel=5e-3)


@pytest.mark.parametrize(
    ("gauge", "solid", "stranded"),
    # NEC chapter 9 table 8, uncoated copper at 75 degC, ohm/kft
    [
        (18, 7.77, 7.95),
        (16, 4.89, 4.99),
        (14, 3.07, 3.14),
        (12, 1.93, 1.98),
        (10, 1.21, 1.24),
    ],
)
def test_warm_wire_solid_and_stranded(gauge, solid, stranded):
    assert wire_resistance(gauge, 304.8, 75.0) == pytest.approx(solid, rel=5e-3)
    assert wire_resistance(gauge, 304.8, 75.0, stranded=True) == pytest.approx(stranded, rel=7e-3)


def test_aluminium_wire():
    # NEC chapter 9 table 8, aluminium at 75 degC, stranded (from memory): 3.25 ohm/kft for 12 AWG, 5.17 for 14
    for gauge, ohm in ((12, 3.25), (14, 5.17)):
        got = wire_resistance(gauge, 304.8, 75.0, stranded=True, metal="aluminium")
        assert got == pytest.approx(ohm, rel=7e-3)


def test_cord_current():
    assert CORD_CURRENT[18] == 10.0  # NEC 400.5


def test_stiff_supply_gives_its_voltage():
    got = share(Source(12.0), [Load(1.25, 6.0), Load(0.5, 2.0)])
    assert got.voltage == 12.0
    assert got.current == pytest.approx((7.5, 5.0))
    assert not got.limited


def test_two_motors_share_a_limit():
    # V (1.25 + 0.5) - 1.25 * 6 - 0.5 * 2 = 5  ->  V = 13.5 / 1.75
    got = share(Source(12.0, limit=5.0), [Load(1.25, 6.0), Load(0.5, 2.0)])
    assert got.limited
    assert got.voltage == pytest.approx(13.5 / 1.75)
    assert got.total == pytest.approx(5.0)


def test_a_motor_spinning_faster_than_the_sagging_voltage_draws_nothing_through_a_diode():
    loads = [Load(1.25, 9.0), Load(0.5, 0.0)]
    got = share(Source(12.0, limit=2.0), loads)
    assert got.voltage == pytest.approx(4.0)
    assert got.current == pytest.approx((0.0, 2.0))
    relay = share(Source(12.0, limit=2.0), [Load(1.25, 9.0, feeds_back=True), Load(0.5, 0.0)])
    assert relay.current[0] < 0 < relay.current[1]
    assert relay.total == pytest.approx(2.0)


def test_a_supply_too_weak_for_the_fixed_currents():
    assert share(Source(5.0, limit=0.5), [Load(0.0, fixed=0.8)]).voltage == 0.0


@given(
    st.floats(3, 24),
    st.floats(0.5, 10),
    st.floats(0.0, 1.0),
    st.lists(st.tuples(st.floats(0.05, 2), st.floats(0, 20), st.booleans()), min_size=1, max_size=4),
)
def test_both_bounds_hold_and_one_is_reached(voltage, limit, resistance, rows):
    got = share(Source(voltage, limit, resistance), [Load(g, e, 0.0, b) for g, e, b in rows])
    assert got.total <= limit + 1e-9
    drop = voltage - got.voltage - resistance * got.total
    assert drop >= -1e-7
    if got.voltage > 0:
        assert math.isclose(got.total, limit, abs_tol=1e-7) or abs(drop) < 1e-7
        assert got.limited or abs(drop) < 1e-7


def test_fuse():
    assert fuse(5.0) == 7.5
    assert fuse(5.0, 16) == 7.5
    assert fuse(9.0, 16) is None  # 15 A fuse on a wire good for 10 A
    assert fuse(100.0) is None


def test_nonsense_gauge():
    with pytest.raises(SimpropError):
        wire_diameter(-3)


@pytest.mark.parametrize(("rise", "ratio"), [(80.0, 1.3144), (65.0, 1.25545)])
def test_copper_resists_more_when_hot(rise, ratio):
    # 1 + 0.00393 dT, standard temperature coefficient of copper (from memory)
    assert wire_resistance(16, 1.0, 20 + rise) / wire_resistance(16, 1.0) == pytest.approx(ratio, rel=1e-9)
