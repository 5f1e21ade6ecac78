"""A crank throw set on the command line, the rod's length held."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.errors import AssemblyError
from simprop.rig.load import load_rig
from simprop.run.assembled import assembled
from simprop.run.simulate import simulate

RIG = Path(__file__).parents[2] / "rigs" / "wall_peeper.yaml"
ROD = 206.155e-3


@pytest.mark.parametrize("throw", [0.030, 0.050, 0.075])
def test_start_and_travel_follow_the_slider_crank_formula(throw: float) -> None:
    # in-line slider-crank: x = r cos(a) + sqrt(l^2 - r^2 sin^2(a)); travel 2 r (any text on mechanisms)
    rig = load_rig(RIG, {"throw": f"{throw * 1000} mm", "run.for": "3 s"})
    assembly = assemble(rig)
    wrist = next(j for j in assembly.joints if j.name == "wrist")
    assert wrist.point[2] == pytest.approx(0.3 + np.sqrt(ROD**2 - throw**2), abs=1e-9)
    track = simulate(assembly, settle=False).track
    axes = [assembly.joints[a.joint].name for a in assembly.axes]
    slide = track.coordinate[:, axes.index("tee")]
    assert np.ptp(track.coordinate[:, axes.index("shaft")]) > 2 * np.pi
    assert np.ptp(slide) == pytest.approx(2 * throw, abs=1e-4)
    angle = track.coordinate[:, axes.index("shaft")]
    # the crank starts level and turns about +y: its pin goes down first
    expected = (
        -throw * np.sin(angle) + np.sqrt(ROD**2 - (throw * np.cos(angle)) ** 2) - np.sqrt(ROD**2 - throw**2)
    )
    np.testing.assert_allclose(slide, expected, atol=1e-4)


def test_a_throw_that_cannot_close_names_the_gap_and_the_nearest_value() -> None:
    with pytest.raises(AssemblyError) as caught:
        assembled(load_rig(RIG, {"throw": "230 mm"}))
    # the rod's free end can come no nearer to the mast's line than 230 - 206.155 = 23.8 mm
    assert "joint 'wrist' doesn't close: a gap of 23.8 mm" in str(caught.value)
    assert "nearest value that closes is 206.15 mm" in str(caught.value)


def test_points_measured_on_both_bodies_must_agree() -> None:
    with pytest.raises(AssemblyError, match=r"joint 'shaft' doesn't close: .* 3\.00 mm apart"):
        assemble(
            load_rig(
                RIG,
                {
                    "joints.shaft.at": "{stand: [0 mm, 0 mm, 303 mm], crank: shaft}",
                    "bodies.rod.hold": "null",
                },
            )
        )
