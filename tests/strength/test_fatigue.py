"""Cycle counting, stress against cycles, Miner's sum and life in nights."""

import numpy as np
import pytest

from simprop.catalog.strengths import FatigueLine, strength_of
from simprop.checking.life import life_check
from simprop.checking.setting import Setting
from simprop.rules import fatigue

PSI = 6894.757293168
REVERSED = FatigueLine(100e6, 1e6, 5.0, False, False)


def wave(amplitude, cycles, mean=0.0, points=200):
    return mean + amplitude * np.sin(2 * np.pi * cycles * np.linspace(0, 1, cycles * points + 1))


def test_rainflow_example_of_astm_e1049():
    """ASTM E1049, figure 6: ranges 3 (0.5), 4 (1.5), 6 (0.5), 8 (1.0), 9 (0.5)."""
    cycles = fatigue.count_cycles(np.array([-2.0, 1, -3, 5, -1, 3, -4, 4, -2]))
    found = {r: float(cycles[cycles[:, 0] == r, 2].sum()) for r in np.unique(cycles[:, 0])}
    assert found == {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}


@pytest.mark.parametrize(
    ("stress", "cycles"), [(1000, 9.67e6), (1200, 3952102.4), (1500, 1322475.6), (2000, 322400)]
)
def test_pvc_life_from_zero(stress, cycles):
    """Water-works fatigue literature, N = 5.05e21 S^-4.906, S in psi, stress from zero."""
    pvc = strength_of("PVC")
    half = np.array(stress * PSI / 2)
    found = fatigue.cycles_to_failure(pvc.fatigue, pvc.ultimate, half, half)
    assert float(found) == pytest.approx(cycles, rel=5e-3)


def test_constant_amplitude_history_lasts_as_the_line_says():
    history = wave(150e6, 400)
    wear = fatigue.damage(REVERSED, 1e12, fatigue.count_cycles(history))
    assert 400 / wear == pytest.approx(1e6 * (100 / 150) ** 5, rel=5e-3)


def test_constant_pvc_history_from_zero_lasts_as_the_line_says():
    pvc = strength_of("PVC")
    history = wave(750 * PSI, 300, mean=750 * PSI)
    wear = fatigue.damage(pvc.fatigue, pvc.ultimate, fatigue.count_cycles(history))
    assert 300 / wear == pytest.approx(1322475.6, rel=1e-2)


def test_two_levels_add_up_by_miner():
    """n1/N1 + n2/N2, each level alone; the change of level itself adds one half cycle at most."""
    high, low = wave(200e6, 50), wave(120e6, 300)
    both = fatigue.damage(REVERSED, 1e12, fatigue.count_cycles(np.concatenate([high, low])))
    hand = 50 * (200 / 100) ** 5 / 1e6 + 300 * (120 / 100) ** 5 / 1e6
    assert both == pytest.approx(hand, rel=1e-2)


def test_cycle_with_a_mean_uses_goodman():
    """Textbooks on machine design: 60 + 80 MPa with Se 160, Su 440: n = 1.7959; 45 + 70 with 110, 310: 1.5751."""
    for amplitude, mean, endurance, ultimate, n in ((60, 80, 160, 440, 1.7959), (45, 70, 110, 310, 1.5751)):
        at = fatigue.reversed_amplitude(np.array(n * amplitude), np.array(n * mean), ultimate)
        assert float(at) == pytest.approx(endurance, rel=1e-4)
    equal = fatigue.reversed_amplitude(np.array(50e6), np.array(100e6), 400e6)
    assert float(equal) == pytest.approx(50e6 / 0.75)
    assert np.isinf(fatigue.reversed_amplitude(np.array(1.0), np.array(5.0), 5.0))


def test_pressing_mean_is_no_help():
    assert fatigue.reversed_amplitude(np.array(10.0), np.array(-20.0), 40.0) == 10.0


def test_endless_line_forgives_small_cycles_and_others_do_not():
    steel = FatigueLine(120e6, 1e6, 8.0, False, True)
    small = np.array([[200e6, 0.0, 1e9]])
    assert fatigue.damage(steel, 400e6, small) == 0.0
    assert fatigue.damage(FatigueLine(120e6, 1e6, 8.0, False, False), 400e6, small) > 100


def test_life_in_nights_of_a_steady_prop():
    """60 cycles a minute at 1500 psi from zero, 4 h a night: 1.3225e6 / 14400 = 91.8 nights."""
    pvc = strength_of("PVC")
    setting = Setting(23.0, 30.0, 4.0, None, False, ())
    history = wave(750 * PSI, 60, mean=750 * PSI)[:-1]
    check = life_check(
        "rod", history, line=pvc.fatigue, ultimate=pvc.ultimate, setting=setting, step=60 / len(history)
    )
    assert check.capacity == pytest.approx(91.84, rel=1e-2)
    assert check.verdict == "fail"  # a factor of 4 on 30 nights is asked for
    rare = Setting(23.0, 30.0, 4.0, 2.0, False, ())
    check = life_check(
        "rod", history, line=pvc.fatigue, ultimate=pvc.ultimate, setting=rare, step=60 / len(history)
    )
    assert check.capacity == pytest.approx(91.84 * 30, rel=1e-2)


def test_small_wiggles_are_left_out_but_turning_points_stay():
    noisy = wave(1.0, 5) + 1e-4 * np.sin(np.arange(1001) * 2.9)
    assert len(fatigue.turning_points(noisy)) == 12
    assert fatigue.turning_points(np.array([2.0, 2.0])).tolist() == [2.0, 2.0]
