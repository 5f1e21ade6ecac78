"""A new motor or pusher is one file and one registration: clockwork and bellows, known to this test alone, in every
room."""

import csv
import json
import struct
from dataclasses import dataclass, field
from math import cos, nan, pi, sin, sqrt
from typing import ClassVar, Literal

import numpy as np
import pytest

from simprop.catalog import motors as catalogue
from simprop.commands import drives as commands
from simprop.commands.export import export
from simprop.commands.run import write_loads, write_strength
from simprop.drives.able import Able, Curves
from simprop.drives.base import MOTORS, PUSHERS, MotorDrive, PusherDrive
from simprop.drives.kinds import _of_catalogue, figures_of
from simprop.engine.world import APPLIED
from simprop.errors import RigError
from simprop.laws.forms import LinePull, PlainLoad, PullState, Shaft
from simprop.picture.chart.drawings import schematic
from simprop.picture.chart.drive_plots import motor_curves
from simprop.picture.render.extras import load_extras
from simprop.picture.render.film import Shot, prepare, still
from simprop.reading.fields import Angle, Force, Size, Torque
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference
from simprop.rig.schema import keys_at
from simprop.run.simulate import simulate


@dataclass(frozen=True)
class Unwinding(PlainLoad):
    """Torque that falls evenly from `torque` to none over `angle`, and stays none."""

    torque: float
    angle: float
    steady = None

    def load(self, coordinate, rate, time):
        return self.torque * min(1.0, max(0.0, 1.0 - coordinate / self.angle))


class Clockwork(MotorDrive):
    """A wound-up spring motor.

    Attributes:
        torque: wound up, N*m.
        angle: until it has run down, rad.
    """

    title: ClassVar[str] = "Clockwork"
    direct: ClassVar[bool] = False
    cautions: ClassVar[tuple[str, ...]] = ("A wound spring runs on: let it down before work.",)
    kind: Literal["clockwork"] = "clockwork"
    torque: Torque
    angle: Angle

    def shaft(self, wiring, note):
        note("loses nothing to its gears (assumed)")
        return Shaft(Unwinding(self.torque, self.angle))

    def able(self, source=None, part=1.0):
        return Able(nan, nan, self.torque)

    def curves(self, voltage):
        flat = np.array([0.0, 1.0])
        return Curves(voltage, flat, self.torque + 0 * flat, nan * flat, self.torque * flat, nan * flat)

    def remarks(self, use):
        turned = float(np.sum(np.abs(use.seen.speed[:-1]) * np.diff(use.seen.time)))
        return [f"has given {100 * turned / self.angle:.0f} % of its turns"]


@dataclass(frozen=True)
class Breath(LinePull):
    """A push that falls evenly from `force` to none over `stroke`."""

    force: float
    stroke: float

    @property
    def rate(self):
        return self.force / self.stroke

    def begin(self, mounting):
        return _Blowing(self, mounting)


@dataclass
class _Blowing(PullState):
    law: Breath
    mounting: object
    current: float = field(default=0.0, init=False)

    def tension(self, time, length, rate, step, volts):
        return -self.law.force * (1.0 - self.mounting.out(length) / self.law.stroke)


class Bellows(PusherDrive):
    """A bag of air under a weight."""

    title: ClassVar[str] = "Bellows"
    direct: ClassVar[bool] = False
    electric: ClassVar[bool] = False
    kind: Literal["bellows"] = "bellows"
    force: Force
    stroke: Size

    def pull(self, mounting, note):
        return Breath(self.force, self.stroke)

    def able(self, source=None, part=1.0):
        return Able(nan, nan, self.force)


@pytest.fixture
def toys():
    MOTORS.add(Clockwork)
    PUSHERS.add(Bellows)
    yield
    MOTORS.remove("clockwork")
    PUSHERS.remove("bellows")


TORQUE, ANGLE, INERTIA = 0.02, pi, 0.001
FORCE, STROKE, MASS = 30.0, 0.2, 2.0
RIG = """
rig: 1
name: Toys
points: {hub: 0 0 500 mm, low: 0 0 200 mm, high: 300 0 200 mm}
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 500 mm, of: pine, at: 0 0 250 mm}]}
  wheel:
    parts:
      - {lump: 1 kg, at: hub, inertia: [0.001 kg*m^2, 0.001 kg*m^2, 0.001 kg*m^2]}
      - {ball: 80 mm, mass: 1 g, at: hub}
  sled: {parts: [{block: 60 x 60 x 60 mm, of: pine, mass: 2 kg, at: high}]}
joints:
  hub: {pin: [post, wheel], at: hub, axis: y, held_by: {bolt: 1/4-20, grade: 2, nut: nylon insert}}
  rail: {slider: [post, sled], at: high, along: x}
motors: {turn: {joint: hub, motor: {clockwork: {torque: 0.02 N*m, angle: 180 deg}}}}
pushers: {blow: {between: [post, sled], from: low, to: high, motor: {bellows: {force: 30 N, stroke: 200 mm}}}}
watch: [high]
run: {for: 0.1 s}
"""


@pytest.mark.usefixtures("toys")
def test_read_and_listed():
    rig = parse_rig(RIG)
    assert rig.motors["turn"].figures == Clockwork(torque="0.02 N*m", angle="180 deg")
    assert rig.pushers["blow"].figures.stroke == pytest.approx(STROKE)
    fields = {e.place: e for e in reference()}
    assert fields["motors.NAME.motor.clockwork"].about == "A wound-up spring motor."
    data = {"motors": {"turn": {"joint": "hub", "motor": {"clockwork": {}}}}}
    assert "clockwork" in keys_at(("motors", "turn", "motor"), data)
    assert keys_at(("motors", "turn", "motor", "clockwork"), data) == ["torque", "angle"]
    with pytest.raises(RigError, match=r"motors.turn.motor.clockwork.torqe: .*did you mean 'torque'"):
        parse_rig(RIG.replace("torque:", "torqe:"))
    with pytest.raises(RigError, match="further out than its stroke"):
        parse_rig(RIG.replace("blow: {", "blow: {extension: 300 mm, "))


@pytest.mark.usefixtures("toys")
@pytest.mark.parametrize("engine", ["mujoco", "bullet"])
def test_motion_and_loads_in_closed_form(engine):
    """J q'' = T (1 - q / Q) and m x'' = F (1 - x / s): q = Q (1 - cos w t), w^2 = T / (J Q); likewise x."""
    if engine == "bullet":
        pytest.importorskip("pybullet")
    run = simulate(parse_rig(RIG), engine, step=1e-4, settle=False)
    time, track = run.track.time, run.track
    inertia = INERTIA + 1e-3 * 0.04**2 * 2 / 3  # the ball is a shell
    w = sqrt(TORQUE / (inertia * ANGLE))
    assert track.coordinate[:, 0] == pytest.approx(ANGLE * (1 - np.cos(w * time)), abs=2e-6)
    slide = sqrt(FORCE / (MASS * STROKE))
    assert track.coordinate[:, 1] == pytest.approx(STROKE * (1 - np.cos(slide * time)), abs=2e-6)
    given = track.applied[:, APPLIED.index("motor"), 0]
    assert given == pytest.approx(TORQUE * np.cos(w * time), rel=1e-4)
    assert track.line_force[:, 0] == pytest.approx(-FORCE * np.cos(slide * time), rel=1e-3)
    (motor,) = run.loads.motors
    assert (motor.able, motor.current) == (TORQUE, None)
    assert motor.peak.value == pytest.approx(TORQUE, rel=1e-4)
    assert motor.difference < 1e-4
    # what was put in moves the wheel and the sled
    moving = (
        0.5 * inertia * (ANGLE * w * sin(0.1 * w)) ** 2
        + 0.5 * MASS * (STROKE * slide * sin(0.1 * slide)) ** 2
    )
    assert run.loads.energy.kinetic == pytest.approx(moving, rel=5e-3)
    assert run.loads.energy.motor == pytest.approx(moving, rel=5e-3)
    assert run.loads.energy.share < 1e-3
    assert cos(w * 0.1) < 0.999  # it has really let down


@pytest.mark.usefixtures("toys")
def test_reports_pictures_and_exports(tmp_path, capsys):
    file = tmp_path / "toys.yaml"
    file.write_text(RIG)
    assert commands.size(file, {}, "mujoco", tmp_path, hours=4, ambient=20) in (0, 1)
    said = " ".join((tmp_path / "sizes.md").read_text().replace("·", "*").split())
    assert "## turn (clockwork described in the rig) - load: peak 0.0200 N*m" in said
    assert "it can give 0.0200 N*m from its supply" in said
    assert "has given 3 % of its turns" in said
    assert "(it can give 30.0 N from its supply)" in said
    assert "classes that would carry it: none of the catalogue" in said
    run = simulate(parse_rig(RIG), "mujoco", settle=False)
    assert "motors.turn: loses nothing to its gears (assumed)" in run.laws.notes
    assert Clockwork.cautions[0] in run.cautions
    write_loads(run, tmp_path, lambda *_: None, plot=True)
    write_strength(run, tmp_path, lambda *_: None)
    assert "Motor turn: peak 0.02" in (tmp_path / "loads.md").read_text()
    assert json.loads((tmp_path / "loads.json").read_text())["motors"]["turn"]["able_at_standstill"] == TORQUE
    assert (tmp_path / "strength.md").stat().st_size > 500
    schematic(run.assembly, run.track, tmp_path / "drawing.png")
    plain, dial = (
        still(prepare(run.assembly, run.track, Shot(size=(640, 480), extras=extras)), 1)
        for extras in (load_extras(run.loads, gauges=False), load_extras(run.loads))
    )
    assert (np.abs(plain.astype(int) - dial) > 60).any(axis=2).sum() > 200
    assert export(file, {"run.step": "1 ms"}, "mujoco", tmp_path, csv=True, channels=(), every=None) == 0
    glb = (tmp_path / "motion.glb").read_bytes()
    assert struct.unpack("<4sII", glb[:12]) == (b"glTF", 2, len(glb))
    head = next(csv.reader((tmp_path / "channels.csv").open()))
    assert any("turn" in name for name in head)
    assert any("blow" in name for name in head)
    capsys.readouterr()


@pytest.mark.usefixtures("toys")
def test_in_the_table_of_classes(tmp_path, capsys, monkeypatch):
    row = {
        "clockwork": {"torque": "0.02 N*m", "angle": "900 deg"},
        "source": "assumed",
        "assumed": ["torque"],
    }
    real = catalogue.table
    monkeypatch.setattr(
        catalogue, "table", lambda topic: {**real(topic), **({"toy clock": row} if topic == "motors" else {})}
    )
    try:
        assert commands.list_drives(None, None, {}, None, None) == 0
        table = capsys.readouterr().out
        assert "Clockwork, N*m" in table
        assert "toy clock" in table
        assert commands.list_drives("toy clock", None, {}, None, None) == 0
        assert "0.0200 N*m" in capsys.readouterr().out
        assert figures_of("toy clock").angle == pytest.approx(5 * pi)
        assert motor_curves("toy clock", tmp_path / "clock.png", voltages=(12.0,)).stat().st_size > 5000
    finally:
        catalogue.motor.cache_clear()
        _of_catalogue.cache_clear()


def test_without_its_registration_it_is_a_fault():
    with pytest.raises(RigError, match=r"motors\.turn"):
        parse_rig(RIG)
    assert "clockwork" not in MOTORS.names
    assert "bellows" not in PUSHERS.names
