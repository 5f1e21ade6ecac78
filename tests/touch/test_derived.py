"""Stiffness where a rig states none: a pipe that is pressed flat in its guide, and boards that lie on their side."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import quad

from simprop.assembly.assemble import assemble
from simprop.catalog.load import material
from simprop.engine.acting.actuation import actuate
from simprop.laws.contact import ACROSS, edge_stiffness, joint_modulus, plane_modulus, ring_stiffness
from simprop.rig.load import parse_rig

TEE = """
rig: 1
name: Loose tee
bodies:
  post: {fixed: true, parts: [{bar: 40 x 40 mm, of: PVC, from: 0 60 0 mm, to: 0 60 500 mm}]}
  mast: {parts: [MAST]}
joints: {tee: {cylindrical: [post, mast], at: 0 0 400 mm, axis: z, bearing: 80 mm, diameter: 26.7 mm, clearance: 1 mm}}
run: {for: 1 s}
"""
CHAIR = """
rig: 1
name: Rail
bodies:
  chair:
    parts: [{rail: 60 x 18 mm, of: plywood, centre: 0 0 900 mm, radius: 900 mm, axis: y, spread: 20 deg, name: a}]
contacts: {rail: {arc: chair, rail: a, friction: 0.5HOW}}
run: {for: 1 s}
"""


def test_a_ring_gives_as_its_bending_energy_says() -> None:
    """Castigliano: a quarter under W/2, its end turned by the moment that keeps it from turning; by quadrature."""
    modulus, outside, wall, length = 2.8e9, 0.0267, 0.0029, 0.04
    radius, second = (outside - wall) / 2, length * wall**3 / 12
    held = quad(lambda a: radius / 2 * (1 - np.cos(a)), 0, np.pi / 2)[0] / (
        np.pi / 2
    )  # moment at the side for W = 1

    def moment(angle: float) -> float:
        return held - radius / 2 * (1 - np.cos(angle))

    give = 4 * quad(lambda a: moment(a) ** 2 * radius, 0, np.pi / 2)[0] / (modulus * second)
    assert ring_stiffness(modulus, outside, wall, length) == pytest.approx(1 / give, rel=1e-6)


def test_a_hollow_pipe_is_softer_in_its_guide_than_a_rod() -> None:
    ends = {}
    for part in ("pipe: 3/4 in PVC", "rod: 26.7 mm, of: PVC"):
        mast = f"{{{part}, from: 0 0 0 mm, to: 0 0 900 mm}}"
        laws = actuate(assemble(parse_rig(TEE.replace("MAST", mast))))
        ends[part[:3]] = laws.touches[0].stiffness
        assert any("flattened as a ring (assumed)" in note for note in laws.notes) is part.startswith("pipe")
    solid = 0.04 / (2 / material("PVC").modulus)
    ring = ring_stiffness(material("PVC").modulus, 0.02667, 0.113 * 0.0254, 0.04 + 0.02667)
    assert ends["rod"] == pytest.approx(solid)
    assert ends["pip"] == pytest.approx(1 / (1 / solid + 1 / ring), rel=1e-3)


@pytest.mark.parametrize(("how", "across"), [("", ACROSS), (", on_of: steel", 1.0)])
def test_a_wooden_floor_is_pressed_across_its_grain(how: str, across: float) -> None:
    laws = actuate(assemble(parse_rig(CHAIR.replace("HOW", how))))
    floor, ply = material("steel" if how else "softwood"), material("plywood")
    modulus = joint_modulus(
        plane_modulus(ply.modulus, ply.poisson), across * plane_modulus(floor.modulus, floor.poisson)
    )
    assert laws.touches[0].stiffness == pytest.approx(edge_stiffness(modulus, 0.018))
    assert any("wood across its grain" in note for note in laws.notes) is (across < 1)
