"""A new spring is one file and one registration: one that grows stiffer, known to this test alone, on both engines."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import pytest
from pydantic import Field
from scipy.special import ellipj

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import RigError
from simprop.forces.springs import SPRINGS, STORED, Line, Spring
from simprop.geometry.finish import Finish
from simprop.geometry.solids import cylinder
from simprop.joints.kinds import Pair
from simprop.laws.springs import LineLaw
from simprop.picture.render.film import Shot, prepare, still
from simprop.reading.fields import Place, Size, Stiffness
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.run.once import stiffest
from simprop.run.simulate import simulate

RED = Finish((0.8, 0.0, 0.0))


@dataclass(frozen=True)
class Stiffening(LineLaw):
    """Pull k s (1 + (s / b)^2) at a stretch s."""

    soft: float
    free_length: float
    doubles: float

    @property
    def rate(self):
        return 4.0 * self.soft  # at a stretch of `doubles`

    def tension(self, length, rate_of_length):
        stretch = length - self.free_length
        return self.soft * stretch * (1.0 + (stretch / self.doubles) ** 2)


class StiffeningSpring(Spring):
    """A spring that grows stiffer.

    Attributes:
        doubles: stretch at which it pulls twice as hard as a straight one, m.
    """

    kind: Literal["stiffening"] = "stiffening"
    between: Pair = Field(alias="stiffening")
    start: Place = Field(alias="from")
    end: Place = Field(alias="to")
    rate: Stiffness
    free_length: Size
    doubles: Size

    def line(self):
        return Line(self.between, self.start, self.end, Stiffening(self.rate, self.free_length, self.doubles))

    def drawn(self, lengths):
        return cylinder(np.zeros(3), np.array([1.0, 0.0, 0.0]), 0.03, RED)


RIG = """
rig: 1
name: bouncing lantern
bodies:
  post: {fixed: true, parts: [{block: 200 x 200 x 20 mm, of: pine, at: 0 0 10 mm}]}
  lantern: {parts: [{ball: 60 mm, mass: 0.5 kg, at: 250 0 300 mm}]}
joints: {rail: {slider: [post, lantern], at: 250 0 300 mm, along: x}}
springs:
  band: {stiffening: [post, lantern], from: 0 0 .3 m, to: .25 0 .3 m, rate: 40 N/m, free_length: 20 cm, doubles: 5 cm}
run: {for: 1 s, step: 0.5 ms, gravity: 0 0 0 m/s^2}
"""


@pytest.fixture
def stiffening():
    SPRINGS.add(StiffeningSpring)
    yield
    SPRINGS.remove("stiffening")


@pytest.mark.usefixtures("stiffening")
@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_it_swings_as_duffing_says(engine):
    """m x'' + k x + k x^3 / b^2 = 0 from rest at A: x = A cn(w t), w^2 = k (1 + A^2 / b^2) / m.

    The square of the modulus of cn is A^2 / 2(b^2 + A^2). Any text on nonlinear vibration.
    """
    if engine == "bullet":
        pytest.importorskip("pybullet")
    mass, soft, wide = 0.5, 40.0, 0.05
    run = simulate(parse_rig(RIG), engine, settle=False)
    track = run.track
    _, cn, _, _ = ellipj(np.sqrt(soft * 2.0 / mass) * track.time, 0.25)
    assert track.coordinate[:, 0] == pytest.approx(wide * cn - wide, abs=1e-3 * wide)
    assert track.line_force[:, 0].max() == pytest.approx(2.0 * soft * wide, rel=1e-3)
    assert abs(run.loads.energy.share or 0.0) < 1e-3


@pytest.mark.usefixtures("stiffening")
def test_every_room_knows_it():
    assert {e.about for e in reference() if e.kind == "stiffening"} == {"A spring that grows stiffer."}
    assembly = assemble(parse_rig(RIG))
    # the step follows its greatest stiffness: sqrt(4 k / m)
    assert stiffest(assembly, actuate(assembly)) == pytest.approx(np.sqrt(4 * 40.0 / 0.5))
    assert assembly.rig.springs["band"].cautions == (STORED,)
    run = simulate(assembly, settle=False)
    image = still(prepare(assembly, run.track, Shot(size=(320, 240), plain=True)), 0)
    assert int(((image[..., 0] > 2.0 * image[..., 1]) & (image[..., 0] > 60)).sum()) > 20
    wrong = RIG.replace("stiffening: [post, lantern]", "stiffening: [post, lanten]")
    with pytest.raises(RigError, match="lantern"):
        parse_rig(wrong)


def test_without_its_registration_it_is_a_fault():
    with pytest.raises(RigError, match="springs"):
        parse_rig(RIG)
    assert "stiffening" not in SPRINGS.names
