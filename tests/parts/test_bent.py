"""Pipes bent with heat and curved rocker rails against closed forms: Pappus, the torus, arcs, Winkler, Castigliano."""

from __future__ import annotations

from math import cos, pi, sin, sqrt, tan

import numpy as np
import pytest

import simprop
from simprop.assembly.assemble import assemble
from simprop.assembly.beams import beams_of
from simprop.assembly.cut_lengths import cut_pipes
from simprop.elastic.frame import answer
from simprop.errors import AssemblyError, RigError
from simprop.geometry.arcs import Arc, bent_course
from simprop.rig.load import parse_rig
from simprop.rules.mass import MassProperties as Mass
from simprop.rules.mass import arc_mass, combined, cuboid
from simprop.rules.stress import curved_factor

STEEL = "{outside: 20 mm, wall: 2 mm, of: steel}"
AREA = pi / 4 * (0.020**2 - 0.016**2)


def body(*parts: str) -> simprop.Assembly:
    rows = "\n".join(f"      - {part}" for part in parts)
    return assemble(
        parse_rig(f"rig: 1\nname: Bent\nbodies:\n  it:\n    parts:\n{rows}\nrun: {{for: 0.1 s}}\n")
    )


def bent(more: str) -> str:
    return f"{{bent_pipe: {STEEL}, {more}}}"


U = "through: [0 0 0 mm, 0 0 400 mm, 300 0 400 mm, 300 0 0 mm], radius: 100 mm"


def test_a_bent_pipe_weighs_its_middle_line() -> None:
    """Pappus: area times 2 x 300 + 100 mm straight and two quarter circles of 100 mm."""
    found = body(bent(U)).bodies[0]
    length = 0.7 + pi * 0.1
    assert found.mass == pytest.approx(7850 * AREA * length, rel=1e-12)
    assert found.com[0] == pytest.approx(0.15)
    assert cut_pipes(found.shapes)[0].drawn == pytest.approx(length)


def test_laid_out_by_lengths_and_turns_it_is_the_same() -> None:
    laid = body(
        bent(
            "from: 0 0 0 mm, along: z, radius: 100 mm, end: 300 mm, turns: [{ahead: 300 mm, turn: 90 deg, towards: x},"
            " {ahead: 100 mm, turn: 90 deg, towards: -z}]"
        )
    )
    by_corners = body(bent(U))
    assert laid.bodies[0].com == pytest.approx(by_corners.bodies[0].com)
    assert laid.bodies[0].inertia == pytest.approx(by_corners.bodies[0].inertia, abs=1e-12)


def test_a_torus_of_four_bends() -> None:
    """Solid torus, 4 quarters: m (R^2 + 3/4 a^2) about its axis, m (R^2 / 2 + 5/8 a^2) across (any handbook)."""
    ways = np.eye(3)
    rows = []
    for k in range(4):
        start = np.round([cos(k * pi / 2), sin(k * pi / 2), 0.0], 12)
        rows.append(
            arc_mass(0.25, Arc(np.zeros(3), 0.5, start, np.cross(ways[2], start), pi / 2), *[0.1**2 / 4] * 2)
        )
    whole = combined(rows)
    across = 0.5**2 / 2 + 5 / 8 * 0.1**2
    assert whole.inertia == pytest.approx(np.diag([across, across, 0.5**2 + 0.75 * 0.1**2]), abs=1e-12)


def test_an_arc_of_board_against_small_blocks() -> None:
    """2000 straight blocks along it, each as heavy as its place is long: the centre and the moments of inertia."""
    arc = Arc(
        np.array([0.1, 0.2, 0.9]),
        0.87,
        np.array([-sin(0.5), 0.0, -cos(0.5)]),
        np.array([cos(0.5), 0, -sin(0.5)]),
        1.0,
    )
    depth, thick, cells, steps = 0.06, 0.018, 40, 2000
    rows = []
    for i in range(cells):
        rho = (i + 0.5) / cells * depth - depth / 2
        for k in range(steps // 10):
            angle = (k + 0.5) / (steps // 10) * arc.angle
            way = arc.start * cos(angle) + arc.ahead * sin(angle)
            on = np.cross([0, 1, 0], way)
            share = (arc.radius + rho) / arc.radius / cells / (steps // 10)
            size = ((arc.radius + rho) * arc.angle / (steps // 10), depth / cells, thick)
            rows.append(
                Mass(
                    share,
                    arc.centre + (arc.radius + rho) * way,
                    cuboid(share, np.array([on, way, [0, 1.0, 0]]), size),
                )
            )
    wanted = combined(rows)
    found = arc_mass(1.0, arc, depth**2 / 12, thick**2 / 12)
    assert wanted.mass == pytest.approx(1.0)
    assert found.centre == pytest.approx(wanted.centre, abs=1e-6)
    assert found.inertia == pytest.approx(wanted.inertia, abs=1e-6)


def test_a_quarter_ring_gives_as_by_castigliano() -> None:
    """Built in at one end, pushed at the other across the tangent there: P R^3 pi / (4 E I) from bending."""
    radius = 0.5
    shape = body(bent("through: [0 0 0 mm, 0 0 500 mm, 500 0 500 mm], radius: 500 mm"))
    beams, _ = beams_of(shape.bodies[0])
    com = shape.bodies[0].com
    places = np.array([np.zeros(3), [0.5, 0, 0.5]]) - com
    push = np.array([0.0, 0.0, 1.0])  # the free end runs along x
    q = np.zeros(24)
    q[6:9], q[:3] = push, -push
    q[3:6] = -np.cross(places[1] - places[0], push)
    energy = q @ answer(beams, places).matrix @ q
    stiff = 200e9 * pi / 64 * (0.020**4 - 0.016**4)
    assert energy == pytest.approx(pi * radius**3 / (4 * stiff), rel=0.02)


def test_the_inner_edge_of_a_curved_beam_bears_more() -> None:
    """Roark's table of curved beams, rectangular (from memory), by R over half of the depth."""
    for share, factor in ((1.2, 2.888), (1.4, 2.103), (2, 1.523), (3, 1.288), (4, 1.200)):
        assert curved_factor(2.0, float(share)) == pytest.approx(factor, abs=0.001)


def test_arcs_touch_their_sides() -> None:
    corners = np.array([[0.0, 0, 0], [0.4, 0, 0], [0.6, 0.5, 0.1]])
    first, arc, last = bent_course(corners, [0.15])
    assert arc.at(0.0) == pytest.approx(first.end)
    assert arc.at(arc.angle) == pytest.approx(last.start)
    assert np.linalg.norm(corners[1] - first.end) == pytest.approx(0.15 * tan(arc.angle / 2))


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (U.replace("100 mm", "200 mm"), "its bends don't fit between points 2 and 3: 400 mm are needed"),
        (U.replace("radius: 100 mm", "radius: 15 mm"), "kinks a pipe of 20.0 mm"),
        ("through: [0 0 0 mm, 0 0 400 mm, 0 0 100 mm], radius: 30 mm", "straight back at point 2"),
        (
            "from: 0 0 0 mm, along: z, end: 1 m, turns: [{ahead: 1 m, turn: 90 deg, towards: z}]",
            "across the pipe",
        ),
    ],
)
def test_bends_that_cannot_be_are_told(more: str, words: str) -> None:
    with pytest.raises(AssemblyError, match=words):
        body(bent(more))


@pytest.mark.parametrize(
    "more", ["radius: 100 mm", "through: [0 0 0 mm, 0 0 1 m, 1 0 1 m], along: z", U + ", radii: [30 mm]"]
)
def test_a_bent_pipe_is_said_one_way(more: str) -> None:
    with pytest.raises(RigError) as caught:
        body(bent(more))
    assert len(caught.value.faults) == 1
    assert caught.value.faults[0].line == 6


ROCKER = """
rig: 1
name: Rocker
bodies:
  rocker:
    parts:
      - {RAIL, centre: 0 0 600 mm, radius: 600 mm, axis: y, spread: 40 deg, name: rail}
contacts:
  rail: {arc: rocker, rail: rail, friction: 0.8, stiffness: 200 N/mm, loss: 0.02}
run: {for: 2.5 s, start_speeds: {}}
"""


@pytest.mark.parametrize("stock", ["rail: 60 x 18 mm, of: plywood", "pipe_rail: 1 in PVC"])
def test_a_rail_rolls_on_its_own_edge(stock: str) -> None:
    """Its contact has the circle of its edge; it weighs area times the arc of its middle line."""
    rig = parse_rig(ROCKER.replace("RAIL", stock))
    contact = rig.contacts["rail"]
    assert contact.radius == 0.6
    assert contact.patch().spread == pytest.approx(np.radians(40))
    assert contact.width == pytest.approx(0.018 if "18" in stock else 1.315 * 0.0254)
    found = assemble(rig).bodies[0]
    if "plywood" in stock:
        assert found.mass == pytest.approx(560 * 0.06 * 0.018 * 0.57 * np.radians(80), rel=1e-9)
    low = min(float(s.vertices[:, 2].min()) for s in found.shapes[0].surfaces()) + found.com[2]
    assert low == pytest.approx(0.0, abs=5e-4)


def rocking(engine: str) -> tuple[float, float]:
    """Period of a rail that is let go 3 deg aslant, and what it is for small swings, s."""
    text = ROCKER.replace("RAIL", "rail: 60 x 18 mm, of: plywood").replace(
        "{rail: 60", "{lump: 1 g, at: 0 0 600 mm}\n      - {rail: 60"
    )
    turned = text.replace("axis: y, spread", f"axis: y, middle: {-sin(0.05)} 0 {-cos(0.05)}, spread")
    run = simprop.simulate(parse_rig(turned), engine, settle=False)
    body = run.assembly.bodies[0]
    angle = 2 * np.arcsin(run.track.rotation[:, 0, 1])
    middle = angle - (angle.max() + angle.min()) / 2
    falls = np.flatnonzero((middle[:-1] < 0) != (middle[1:] < 0))
    period = 2 * float(np.mean(np.diff(run.track.time[falls])))
    below = 0.6 - body.com[2]
    inertia = body.inertia[1, 1]
    return period, 2 * pi * sqrt((inertia + body.mass * (0.6 - below) ** 2) / (body.mass * 9.80665 * below))


@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_it_rocks_at_the_period_of_a_rocker(engine: str) -> None:
    """2 pi sqrt((I + m (R - d)^2) / (m g d)), d from the centre of the circle down to that of mass (rolling, small)."""
    period, wanted = rocking(engine)
    assert period == pytest.approx(wanted, rel=0.02)


@pytest.mark.parametrize("spread", [5, 90, 170])
def test_a_rail_is_drawn_as_far_as_it_goes(spread: int) -> None:
    """Every corner of its surface lies between its inner and its outer edge; its ends are 2 R sin(spread) apart."""
    text = ROCKER.replace("RAIL", "rail: 60 x 18 mm, of: plywood").replace("40 deg", f"{spread} deg")
    found = assemble(parse_rig(text)).bodies[0]
    corners = np.concatenate([s.vertices for s in found.shapes[0].surfaces()]) + found.com - [0, 0, 0.6]
    far = np.linalg.norm(corners[:, [0, 2]], axis=1)
    assert (far.min(), far.max()) == pytest.approx((0.54, 0.6), abs=1e-6)
    wide = 0.6 if spread >= 90 else 0.6 * sin(np.radians(spread))
    assert np.ptp(corners[:, 0]) == pytest.approx(2 * wide, rel=2e-3)
    assert np.ptp(corners[:, 1]) == pytest.approx(0.018)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("rail: rail", "rail: rial", "no rail of this body"),
        ("rail: rail,", "rail: rail, radius: 1 m,", "the rail says its centre"),
        ("spread: 40 deg", "spread: 175 deg", "a rail ends before it meets itself"),
        ("rail: rail,", "", "an arc has a centre, a radius and an axis"),
    ],
)
def test_a_contact_without_its_rail_is_one_fault(old: str, new: str, words: str) -> None:
    with pytest.raises(RigError) as caught:
        parse_rig(ROCKER.replace("RAIL", "rail: 60 x 18 mm, of: plywood").replace(old, new))
    assert len(caught.value.faults) == 1
    assert words in str(caught.value)
    assert caught.value.faults[0].line in (7, 9)
