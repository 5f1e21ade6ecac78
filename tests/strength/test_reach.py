"""Gaps, lever force and energy."""

import numpy as np
import pytest
from scipy.optimize import lsq_linear

from simprop.geometry.convex import Convex, segment_gap
from simprop.geometry.gaps import gap_over
from simprop.geometry.turning import matrices
from simprop.report import strength as write
from simprop.report.writers import plain
from simprop.rig.load import parse_rig
from simprop.rules import reach
from simprop.run.simulate import simulate


def run_of(text):
    return simulate(parse_rig(text), settle=False)


def test_gaps_of_iso_13854():
    """ISO 13854: body 500, head 300, leg 180, foot 120, toes 50, arm 120, hand 100, finger 25 mm."""
    expected = {
        "body": 500,
        "head": 300,
        "leg": 180,
        "foot": 120,
        "toes": 50,
        "arm": 120,
        "hand": 100,
        "finger": 25,
    }
    assert {k: round(v * 1e3) for k, v in reach.CRUSH_GAPS.items()} == expected


def test_only_what_fits_in_is_crushed():
    assert reach.crushed(0.0, 0.024) == ()
    assert reach.crushed(0.026, 0.09) == ("toes",)
    assert reach.crushed(0.120, 0.119) == ()
    assert "head" in reach.crushed(0.2, 0.4)


def test_segment_gap_against_a_search():
    rng = np.random.default_rng(5)
    a0, a1, b0, b1 = rng.normal(size=(4, 40, 3))
    found = segment_gap(a0, a1, b0, b1)
    s = np.linspace(0, 1, 201)[:, None]
    for k in range(40):
        p = a0[k] + s * (a1[k] - a0[k])
        q = b0[k] + s * (b1[k] - b0[k])
        least = np.linalg.norm(p[:, None] - q[None], axis=2).min()
        assert found[k] <= least + 1e-12
        assert found[k] == pytest.approx(least, abs=0.02)


def test_segment_gap_of_points_and_parallels():
    point = np.array([[0.0, 0.0, 1.0]])
    line = np.array([[-1.0, 0.0, 0.0]]), np.array([[1.0, 0.0, 0.0]])
    assert segment_gap(point, point, *line) == pytest.approx([1.0])
    assert segment_gap(*line, point, point) == pytest.approx([1.0])
    assert segment_gap(point, point, point + 2, point + 2) == pytest.approx([np.sqrt(12)])
    far = line[0] + [3.0, 0.0, 0.0], line[1] + [3.0, 0.0, 0.0]
    assert segment_gap(*line, *far) == pytest.approx([1.0])


def test_energy_of_a_rod_turning_about_its_end():
    """m L^2 w^2 / 6."""
    mass, length, w = 1.2, 0.8, 4.0
    inertia = np.diag([0.0, mass * length**2 / 12, mass * length**2 / 12])
    found = reach.kinetic_energy(
        mass, inertia, np.array([[0.0, w * length / 2, 0.0]]), np.array([[0.0, 0.0, w]])
    )
    assert found == pytest.approx([mass * length**2 * w**2 / 6])


def test_gap_of_boxes_and_sticks_against_bounded_least_squares():
    rng = np.random.default_rng(8)
    turns = [matrices(q / np.linalg.norm(q, axis=1, keepdims=True)) for q in rng.normal(size=(2, 30, 4))]
    places = rng.normal(size=(2, 30, 3))
    board = Convex(start=np.ones(3) / 9, end=np.ones(3) / 9, half=np.array([0.4, 0.28, 0.01]))
    stick = Convex(start=np.zeros(3), end=np.array([0.5, 0.2, 0.1]), radius=0.02)
    for one, two in ((board, board), (board, stick), (stick, stick)):
        found = gap_over(one, two, tuple(turns), tuple(places))
        for k in range(30):
            ends = [
                t[k] @ (x.start + x.end) / 2 + p[k] for x, t, p in zip((one, two), turns, places, strict=True)
            ]
            spans = np.hstack([turns[0][k] @ one.spans, -turns[1][k] @ two.spans])
            least = np.sqrt(2 * lsq_linear(spans, ends[1] - ends[0], (-1, 1), tol=1e-14).cost)
            assert found[k] == pytest.approx(max(least - one.radius - two.radius, 0.0), abs=1e-5)


def test_a_box_is_cut_beside_a_joint_and_not_dropped():
    board = Convex(start=np.zeros(3), end=np.zeros(3), half=np.array([0.1, 0.01, 0.5]))
    kept = board.without(np.array([0.0, 0.0, -0.45]), 0.12)
    assert [(k.start[2], k.half[2]) for k in kept] == [pytest.approx((0.085, 0.415))]
    assert board.without(np.array([0.3, 0.0, 0.0]), 0.12) == [board]


def test_reach_over_a_fence():
    """ISO 13857, reaching over at high risk: hazards at 1, 1.4 and 2.2 m behind fences of 1, 1.4, 1.8 and 2.7 m (from
    memory)."""
    heights = np.array([1.0, 1.4, 2.2, 2.71])
    assert reach.over_reach(heights, 1.0).tolist() == [1.5, 1.5, 1.3, -np.inf]
    assert reach.over_reach(heights, 1.4).tolist() == [1.0, 1.1, 1.0, -np.inf]
    assert reach.over_reach(heights, 1.8).tolist() == [0.0, 0.8, 0.8, -np.inf]
    assert reach.over_reach(heights, 2.7).tolist() == [0.0, 0.0, 0.0, -np.inf]
    # between two values the safer one counts
    assert reach.over_reach(np.array([0.3, 1.7]), 1.5).tolist() == [0.4, 1.1]


SLED = """
rig: 1
name: what slides away from the viewer and back
bodies:
  floor: {fixed: true, parts: [{block: 2000 x 2000 x 20 mm, of: pine, at: 0 0 -10 mm}]}
  wall: {fixed: true, parts: [{block: 600 x 20 x 2000 mm, of: pine, at: 0 510 1000 mm}]}
  sled: {parts: [PART]}
joints: {rail: {slider: [floor, sled], at: 0 0 1200 mm, along: y}}
pushers: {ram: {between: [floor, sled], from: 0 -900 1200 mm, to: 0 0 1200 mm, motor: DRIVE}}
visitors: {side: -y, barrier: BARRIER}
run: {for: 0.5 s}
"""
AIR = "{air: {bore: 25 mm, rod: 10 mm, stroke: 100 mm, pressure: 6 bar, cv: 0.3}}"


def sled(part, barrier="1.2 m", drive=AIR):
    return run_of(SLED.replace("PART", part).replace("BARRIER", barrier).replace("DRIVE", drive))


@pytest.mark.parametrize(
    ("part", "half"),
    [
        ("{bar: 200 x 6 mm, of: pine, from: -300 0 1200 mm, to: 300 0 1200 mm, thin: z}", 0.1),
        ("{bar: 200 x 6 mm, of: pine, from: -300 0 1200 mm, to: 300 0 1200 mm, thin: y}", 0.003),
        ("{disc: 300 mm, thick: 12 mm, of: pine, at: 0 0 1200 mm, axis: z}", 0.15),
        ("{disc: 300 mm, thick: 12 mm, of: pine, at: 0 0 1200 mm, axis: y}", 0.006),
        ("{block: 100 x 160 x 100 mm, of: pine, at: 0 0 1200 mm}", 0.08),
    ],
)
def test_where_it_moves_and_the_fence_count_the_true_width(part, half):
    """It starts at y = 0 and goes away: the nearest place to the viewer is half its size, and the arm reaches 1.5 m."""
    (envelope,) = [e for e in sled(part).strength.envelopes if e.body == "sled"]
    assert envelope.low[1] == pytest.approx(-half, abs=1e-3)
    assert envelope.fence["-y"] == pytest.approx(1.5 + half, abs=1e-3)


def test_a_hung_cloth_reaches_as_far_as_it_is_drawn():
    (envelope,) = [
        e for e in sled("{lump: 2 kg, at: 0 0 1200 mm, looks: cloth}").strength.envelopes if e.body == "sled"
    ]
    assert envelope.low[1] < -0.1
    assert envelope.high[2] - envelope.low[2] > 0.5


def test_a_wide_board_closes_a_gap_that_its_middle_line_leaves_open():
    """A board 200 mm wide goes 100 mm towards a wall 500 mm off: 400 to 300 mm from its edge."""
    board = "{bar: 200 x 6 mm, of: pine, from: -250 120 1200 mm, to: 250 120 1200 mm, thin: z}"
    checks = sled(board).strength.checks
    (gap,) = [c for c in checks if c.name == "gap that closes" and "wall" in c.place]
    assert gap.demand == pytest.approx(0.5 - 0.22 - 0.1, abs=5e-3)  # the end cap gives some mm


def test_a_gap_that_takes_a_head_is_to_be_kept_free_of_people():
    board = "{bar: 20 x 6 mm, of: pine, from: -250 140 1200 mm, to: 250 140 1200 mm, thin: z}"
    (gap,) = [c for c in sled(board).strength.checks if c.name == "gap that closes" and "wall" in c.place]
    assert "room for head; keep people out" in gap.reason


def test_out_of_reach_is_said_of_the_fence_that_is_stated():
    board = "{bar: 200 x 6 mm, of: pine, from: -250 0 1200 mm, to: 250 0 1200 mm, thin: z}"
    near, far = sled(board, "1.2 m"), sled(board, "1.7 m")
    low = sled(board, "1.7 m, height: 0.8 m")
    assert [e.reachable for r in (near, far, low) for e in r.strength.envelopes] == [True, False, True]
    page = [" ".join(plain(write.STRENGTH.of(r)).split()) for r in (near, far, low)]
    assert "A fence 1000 mm high on the viewer's side, 1600 mm from y = 0" in page[0]
    assert "the one stated at 1200 mm is not enough" in page[0]
    assert "out of reach over the fence that is stated" in page[1]
    assert "the one stated at 1700 mm is enough" in page[1]
    assert "the one stated at 1700 mm is not enough" in page[2]


def test_pressing_force_of_a_cylinder_is_its_static_push():
    """p A of 25 mm at 6 bar: 294.5 N; on a level rail no weight adds to it."""
    (envelope,) = sled("{block: 100 x 100 x 100 mm, of: pine, at: 0 0 1200 mm}").strength.envelopes
    assert (envelope.press.by, envelope.press.stored) == ("ram", pytest.approx(0.0, abs=1e-6))
    assert envelope.press.force == pytest.approx(294.5, rel=1e-3)


LEVER = """
rig: 1
name: a flap pushed up at a third of its length
bodies:
  post: {fixed: true, parts: [{block: 20 x 20 x 20 mm, of: pine, at: 0 0 0 mm}]}
  flap: {parts: [{bar: 2 x 2 mm, of: pine, mass: 1 kg, from: 0 0 0 mm, to: 600 0 0 mm}]}
joints: {hinge: {pin: [post, flap], at: 0 0 0 mm, axis: -y}}
DRIVE
run: {for: 0.3 s}
"""


@pytest.mark.parametrize(
    ("drive", "by", "force", "stored"),
    [
        ("", "springs and weights", 0.5 * 9.80665, 0.5 * 9.80665),
        (
            "pushers: {lift: {between: [post, flap], from: 200 0 -900 mm, to: 200 0 0 mm, motor: linear 330}}",
            "lift",
            110.0 + 0.5 * 9.80665,
            0.5 * 9.80665,
        ),
        (
            "springs: {up: {extension: [post, flap], from: 300 0 5000 mm, to: 300 0 0 mm, rate: 20 N/m, "
            "free_length: 1 m}}",
            "springs and weights",
            0.5 * (80 - 9.80665),
            0.5 * (80 - 9.80665),
        ),
    ],
)
def test_pressing_force_at_the_tip_of_a_lever(drive, by, force, stored):
    """Virtual work: 330 N at a third of the length are 110 N at the tip, 1 kg at half of it 4.9 N, a spring of 80 N."""
    (envelope,) = run_of(LEVER.replace("DRIVE", drive)).strength.envelopes
    assert envelope.press.by == by
    assert envelope.press.force == pytest.approx(force, rel=0.05)
    assert envelope.press.stored == pytest.approx(stored, rel=0.1)


def test_a_drive_presses_only_what_it_moves():
    """Beside the flap a crank of another train turns: its 15 N*m are none of the flap's."""
    more = """motors: {turn: {joint: shaft, motor: wiper}}"""
    text = LEVER.replace("DRIVE", more).replace(
        "joints: {", "joints: {shaft: {pin: [post, crank], at: 0 500 0 mm, axis: y}, "
    )
    text = text.replace(
        "  flap:",
        "  crank: {parts: [{bar: 20 x 3 mm, of: steel, from: 0 500 0 mm, to: 100 500 0 mm}]}\n  flap:",
    )
    presses = {e.body: e.press for e in run_of(text).strength.envelopes}
    assert presses["flap"].by == "springs and weights"
    assert presses["crank"].by == "turn"
    assert presses["crank"].force == pytest.approx(150.0, rel=0.05)
