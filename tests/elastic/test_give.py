"""Give of joints and shares by least work, against closed forms of statically indeterminate structures."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from simprop.elastic.frame import Beam, answer, field_of
from simprop.elastic.give import edge_give, pin_give, tilt_give
from simprop.elastic.sharing import alone, share
from simprop.errors import SimpropError


def _share(x, free, give, carry=None, known=None, matrix=None):
    """Shares of a body's load, given what its places get of each component."""
    free = np.linalg.qr(free)[0]
    if carry is None:
        return share(
            x,
            free,
            give,
            np.zeros((len(x), 0, 0, free.shape[2])),
            np.zeros((len(x), 0, 0)),
            np.zeros((0, 0, 0)),
        )
    load = known + np.einsum("nqc,nc->nq", carry, x)
    return share(x, free, give, (carry @ free)[:, None], load[:, None], matrix[None])


def test_a_thin_soft_wall_gives_more() -> None:
    steel = pin_give(6e-3, (3e-3, 3e-3), (205e9, 205e9))
    plastic = pin_give(6e-3, (3e-3, 2.8e-3), (205e9, 2.76e9))
    assert_allclose(plastic - steel, 0.8 / (2.8e-3 * 2.76e9) - 0.8 / (3e-3 * 205e9), rtol=1e-12)
    for wrong in (
        (0.0, (1.0, 1.0), (1.0, 1.0)),
        (1.0, (0.0, 1.0), (1.0, 1.0)),
        (1.0, (1.0, 1.0), (-1.0, 1.0)),
    ):
        with pytest.raises(SimpropError):
            pin_give(*wrong)


def test_tilting_and_edges() -> None:
    """A rigid bar on many even springs; two springs at the edges."""
    x = np.linspace(-0.01, 0.01, 4001)
    rate = 1e8 / len(x)
    assert_allclose(1 / tilt_give(1e-8, 0.02), rate * np.sum(x**2), rtol=1e-3)
    assert_allclose(1 / edge_give(1e-8, 0.02), 2 * 0.5e8 * 0.01**2, rtol=1e-12)


def test_bolt_group_under_a_moment() -> None:
    """Four bolts on a square take M r / sum r^2 each, square to their arms (any text on machine elements)."""
    arms = np.array([[1, 1], [1, -1], [-1, -1], [-1, 1]]) * 0.03
    rows = np.zeros((3, 8))
    for k, (x, y) in enumerate(arms):
        rows[0, 2 * k], rows[1, 2 * k + 1], rows[2, 2 * k], rows[2, 2 * k + 1] = 1, 1, -y, x
    moment = 5.0
    start = np.linalg.lstsq(rows[:, :4], np.array([0, 0, moment]), rcond=None)[0]
    x = np.concatenate([start, np.zeros(4)])[None]
    free = np.linalg.svd(rows)[2][3:].T[None]
    got = _share(x, free, np.eye(8) * 2e-9)[0].reshape(4, 2)
    assert_allclose(np.linalg.norm(got, axis=1), moment / (4 * np.hypot(0.03, 0.03)), rtol=1e-9)
    assert_allclose(np.einsum("ki,ki->k", got, arms), 0.0, atol=1e-9)


@pytest.mark.parametrize("give", [0.0, 2e-4])
def test_shaft_in_three_bearings(give: float) -> None:
    """Load P in the middle of one of two equal spans L: stiff bearings give 13, 22 and -3 thirty-seconds of P
    (three-moment equation); bearings that give follow from the force method, worked out apart."""
    span, rate, load = 0.4, 50.0, 32.0
    bar = Beam(np.zeros(3), np.array([2 * span, 0, 0]), 1e9, (rate, rate), 1e9, np.array([0.0, 1, 0]))
    places = np.array([[0.0, 0, 0], [span, 0, 0], [2 * span, 0, 0], [span / 2, 0, 0]])
    carry = np.zeros((1, 36, 3))
    for k in range(3):
        carry[0, 6 * k + 2, k] = 1.0
    known = np.zeros((1, 36))
    known[0, 20] = -load
    x, free = np.array([[load / 2, load / 2, 0.0]]), np.array([[[1.0], [-2.0], [1.0]]])
    got = _share(x, free, np.eye(3) * give, carry, known, answer([bar], places).matrix)[0]
    # middle bearing X on a beam of 2 L held at its ends: sag under P at L / 2 and lift by X
    long = 2 * span
    sag = load * (long / 4) * (3 * long**2 - 4 * (long / 4) ** 2) / (48 * rate)
    ends = load * 0.5 * give  # the middle sinks by half of what the ends sink: (3/4 + 1/4) P / 2
    middle = (sag + ends) / (long**3 / (48 * rate) + give * 1.5)
    assert_allclose(got[1], middle, rtol=1e-6)
    if give == 0.0:
        assert_allclose(got, np.array([13, 22, -3]) / 32 * load, rtol=1e-6)


def test_a_lid_that_turns_shares_its_own_weight() -> None:
    """A lid on hinges at its two ends bears half its weight on each, however it is turned; alone, one bears all."""
    weight = np.array([0.0, 0.0, -20.0])
    bar = Beam(
        np.zeros(3), np.array([0.8, 0, 0]), 1e8, (400.0, 400.0), 300.0, np.array([0.0, 1, 0]), mass=2.0
    )
    places = np.array([[0.1, 0, 0], [0.7, 0, 0]])
    carry = np.zeros((2, 24, 4))
    for k in range(2):
        carry[:, 6 * k + 2, 2 * k] = carry[:, 6 * k + 4, 2 * k + 1] = 1.0
    known = np.zeros((2, 24))
    known[:, 12:] = field_of(weight / 2.0, np.zeros((2, 3)), np.zeros((2, 3)), np.zeros((2, 3)))
    # balance: z1 + z2 = 20, m1 + m2 - 0.1 z1 - 0.7 z2 + 0.4 * 20 = 0
    rows = np.array([[1.0, 0, 1.0, 0], [-0.1, 1.0, -0.7, 1.0]])
    x = np.tile(np.linalg.lstsq(rows, np.array([20.0, -8.0]), rcond=None)[0], (2, 1))
    free = np.tile(np.linalg.svd(rows)[2][2:].T, (2, 1, 1))
    give = np.diag([1e-8, 1e-3, 1e-8, 1e-3])
    got = _share(x, free, give, carry, known, answer([bar], places).matrix)
    assert_allclose(got[:, [0, 2]], 10.0, rtol=1e-6)
    one = alone(x, free, np.array([True, True, False, False]))
    assert_allclose(one[:, 2:], 0.0, atol=1e-6)
    assert_allclose(one[:, 0], 20.0, rtol=1e-6)


def test_directions_that_are_missing_do_no_harm() -> None:
    x, half = np.array([[6.0, 0.0]]), 0.5**0.5
    free = np.array([[[0.0, half, 0.0], [0.0, -half, 0.0]]])
    none = np.zeros((1, 0, 0, 3)), np.zeros((1, 0, 0)), np.zeros((0, 0, 0))
    assert_allclose(share(x, free, np.diag([1.0, 2.0]), *none), [[4.0, 2.0]])
