"""Tipping, sliding and walking against hand calculations."""

import numpy as np
import pytest

from simprop.rules import stability

G = 9.80665


def block(mass, base, height, acceleration):
    """Ground reaction of a block on a truck that accelerates sideways, as `tipping` wants it."""
    rate = np.array([[mass * acceleration, 0.0, 0.0]])
    turning = np.cross([[0.0, 0.0, height / 2]], rate)
    weight = np.array([[0.0, 0.0, -mass * G]])
    force, moment = stability.ground_reaction(rate, turning, weight, np.zeros((1, 3)))
    corners = np.array([[-base / 2, -0.5], [base / 2, -0.5], [base / 2, 0.5], [-base / 2, 0.5]])
    return force, moment, corners


def test_block_tips_at_the_incline_equivalent_acceleration():
    """a = g b / h: as a block on an incline of slope b/h."""
    mass, base, height = 8.0, 0.3, 1.2
    for share in (0.99, 1.01):
        force, moment, corners = block(mass, base, height, share * G * base / height)
        holding, over = stability.tipping(force, moment, mass * G, np.zeros(2), stability.edges(corners))
        assert float((over / holding).max()) == pytest.approx(share, rel=1e-9)


@pytest.mark.parametrize(
    ("mass", "base", "height", "push"), [(12.0, 0.6, 1.5, 23.53596), (9.5, 0.5, 1.7, 13.700467)]
)
def test_push_that_tips_a_prop(mass, base, height, push):
    """Statics, m g (b/2) / h."""
    force, moment, corners = block(mass, base, 1.0, 0.0)
    pushed = force - np.array([[push, 0.0, 0.0]])
    turned = moment - np.cross([[0.0, 0.0, height]], [[push, 0.0, 0.0]])
    holding, over = stability.tipping(pushed, turned, mass * G, np.zeros(2), stability.edges(corners))
    assert float((over / holding).max()) == pytest.approx(1.0, rel=1e-4)


def test_centre_of_pressure_is_the_same_thing():
    """holding - tipping = R_z x distance of the centre of pressure inside the edge."""
    rng = np.random.default_rng(3)
    force = np.column_stack([rng.normal(0, 5, 50), rng.normal(0, 5, 50), rng.uniform(60, 120, 50)])
    moment = rng.normal(0, 10, (50, 3))
    outline = stability.edges(np.array([[-0.3, -0.2], [0.3, -0.2], [0.3, 0.2], [-0.3, 0.2]]))
    holding, over = stability.tipping(force, moment, 100.0, np.array([0.05, 0.02]), outline)
    pressure = np.stack([-moment[:, 1], moment[:, 0]], axis=1) / force[:, 2:]
    for e in range(4):
        inside = (outline[0][e] - pressure) @ outline[1][e]
        assert holding[e] - over[:, e] == pytest.approx(force[:, 2] * inside)


def test_triangle_has_three_edges_with_outward_normals():
    points, normals = stability.edges(np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [0.2, 0.2]]))
    assert len(normals) == 3
    middle = np.array([1 / 3, 1 / 3])
    assert (np.einsum("ei,ei->e", normals, points - middle) > 0).all()
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0)


def test_wind():
    """Drag equation: 0.20 m^2, Cd 1.0, 8 m/s: 7.84 N."""
    assert stability.wind_force(8.0, 0.2) == pytest.approx(7.84, rel=1e-4)


def test_slide_limit_and_lift_off():
    use = stability.slide_use(np.array([[30.0, 40.0, 100.0], [0.0, 1.0, -2.0], [0.0, 0.0, 0.0]]), 0.5)
    assert use.tolist() == [1.0, np.inf, 0.0]


def test_sliding_block_comes_to_rest_after_a_push():
    """A pulse of twice the friction for time T: it slides mu g T^2 (v = mu g T, then brakes as long again)."""
    mass, mu, step, pulse = 10.0, 0.3, 1e-4, 0.5
    n = int(2 * pulse / step)
    need = np.zeros((n, 3))
    need[:, 2] = mass * G
    need[: n // 2, 0] = -2 * mu * mass * G
    assert stability.walk(need, mu, mass, step) == pytest.approx(mu * G * pulse**2, rel=2e-3)
    need[:, 0] *= 0.49
    assert stability.walk(need, mu, mass, step) == 0.0


def test_ballast_and_stakes_make_up_for_a_lacking_moment():
    assert stability.ballast(98.0665, 0.5, G) == pytest.approx(20.0)
    assert stability.ballast(-5.0, 0.5, G) == 0.0
    assert 2 * 0.5 * stability.stake_pull(100.0, 0.5, 2) == pytest.approx(100.0)
