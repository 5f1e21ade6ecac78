"""Drives, supplies, pulls and cues as they are written in a rig file."""

import math

import pytest

from simprop.assembly.assemble import assemble
from simprop.catalog.motors import motors, supplies
from simprop.drives.dc import DcMotor
from simprop.drives.kinds import figures_of
from simprop.engine.acting.actuation import actuate
from simprop.errors import RigError
from simprop.rig.load import parse_rig
from tests.drives.rigs import wheel

TEXT = """
rig: 1
name: Gate ghost
points: {hub: 0 0 500 mm, tip: 200 0 500 mm}
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 500 mm, of: pine, at: 0 0 250 mm}]}
  arm: {parts: [{bar: 25 x 3 mm, of: steel, from: hub, to: tip}]}
joints:
  hub: {pin: [post, arm], at: hub, axis: y}
supplies:
  box: {voltage: 12 V, limit: 5 A, wire: 18 AWG 4 m}
  small: 6 V 3 A
motors:
  turn: {joint: hub, motor: wiper medium low, supply: box, pwm: {duty: 60 %, frequency: 490 Hz}}
pushers:
  push:
    between: [post, arm]
    from: 0 0 400 mm
    to: 100 0 500 mm
    motor: linear 330
    supply: box
    extension: 40 mm
pulls:
  strut:
    gas_spring: [post, arm]
    from: 0 0 300 mm
    to: 150 0 500 mm
    force: 40 N
    longest: 300 mm
    stroke: 100 mm
  weight: {counterweight: [post, arm], from: 0 0 900 mm, to: tip, mass: 1.2 kg}
cues:
  scenes:
    rise:
      when: motion sensor
      at: [1 s, 9 s]
      do:
        - {at: 0 s, on: turn}
        - {at: 1 s, speed: turn, to: 0.5}
        - {at: 3 s, off: turn}
    say:
      when: random
      every: 20 s
      least: 5 s
      do: [{at: 0 s, sound: crow.wav}]
  interlocks: [{hold: push, while_off: [turn]}]
  stop: 60 s
run: {for: 1 s}
"""


def faults(text):
    with pytest.raises(RigError) as caught:
        parse_rig(text)
    return caught.value.faults


def test_a_whole_file_reads():
    rig = parse_rig(TEXT)
    supply = rig.motors["turn"].supply
    assert (supply.voltage, supply.limit, supply.shared, supply.wire.gauge) == (12.0, 5.0, "box", 18)
    assert rig.pushers["push"].supply.shared == "box"
    assert rig.motors["turn"].pwm.duty == 0.6
    assert rig.cues.scenes["rise"].at == (1.0, 9.0)
    assert figures_of(rig.motors["turn"].motor).self_locking


def test_text_supplies_stay_valid():
    rig = parse_rig(TEXT.replace("supply: box, pwm", "supply: 12 V 2 A, pwm"))
    assert (rig.motors["turn"].supply.limit, rig.motors["turn"].supply.shared) == (2.0, None)
    turner = "motor: wiper medium low, supply: box, pwm: {duty: 60 %, frequency: 490 Hz}"
    mains = parse_rig(TEXT.replace(turner, "motor: synchronous 5/6 rpm, supply: 230 V 50 Hz"))
    assert mains.motors["turn"].supply.frequency == 50.0


@pytest.mark.parametrize("row", motors(), ids=lambda r: r.name)
def test_every_class_reads_as_a_rig_would_write_it(row):
    figures = figures_of(row.name)
    assert figures.kind == row.kind
    assert row.source
    known = {*type(figures).model_fields, "continuous_share", "mass"}
    assert set(row.assumed) <= known


INLINE = """
  turn:
    joint: hub
    motor:
      dc:
        rated_voltage: 12 V
        no_load_speed: 45 rpm
        stall_torque: 15 N*m
        no_load_current: 1.5 A
        stall_current: 15 A
        gear_ratio: 60
        self_locking: true
        live_case: true
        holding_torque: 30 N*m
        thermal:
          winding: 50 J/K
          case: 500 J/K
          winding_to_case: 1.2 K/W
          case_to_air: 1.5 K/W
          limit: 130 degC
"""


def test_inline_fields_are_those_of_the_catalogue():
    line = next(row for row in TEXT.splitlines() if row.startswith("  turn:"))
    rig = parse_rig(TEXT.replace(line + "\n", INLINE.lstrip("\n")))
    assert rig.motors["turn"].motor == figures_of("wiper medium low")
    assert isinstance(figures_of("wiper medium low"), DcMotor)


@pytest.mark.parametrize(
    ("old", "new", "field", "near"),
    [
        ("motor: wiper medium low", "motor: wiper medium lwo", "motors.turn.motor", "wiper medium low"),
        ("motor: wiper medium low", "motor: linear 330", "motors.turn.motor", None),
        ("on: turn}", "on: trun}", "cues.scenes.rise.do.0.on", "turn"),
        ("while_off: [turn]", "while_off: [trun]", "cues.interlocks.0.while_off.0", "turn"),
        ("between: [post, arm]", "between: [post, amr]", "pushers.push.between.1", "arm"),
        ("extension: 40 mm", "extension: 400 mm", "pushers.push", None),
        ("18 AWG 4 m", "18 gauge", "motors.turn.supply.wire", None),
        ("supply: box, pwm", "supply: bxo, pwm", "motors.turn.supply", None),
        ("every: 20 s", "every: 2 s", "cues.scenes.say", None),
        ("duty: 60 %", "duty: 160 %", "motors.turn.pwm.duty", None),
        ("supply: box, pwm", "supply: box, on: [0 s to 1 s], pwm", "motors.turn.on", None),
        ("motor: wiper medium low", "motor: servo standard", "motors.turn", None),
        (
            "{at: 1 s, speed: turn, to: 0.5}",
            "{at: 1 s, pose: turn, to: 5 deg}",
            "cues.scenes.rise.do.1.pose",
            None,
        ),
        (
            "{at: 0 s, sound: crow.wav}",
            "{at: 0 s, sound: crow.wav, jaw: turn, opening: 9 deg}",
            "cues.scenes.say.do.0.jaw",
            None,
        ),
        ("{at: 0 s, sound: crow.wav}", "{at: 0 s, sound: crow.wav, jaw: turn}", "cues.scenes.say.do.0", None),
    ],
)
def test_faults_name_the_field_and_the_nearest(old, new, field, near):
    found = {f.field: f for f in faults(TEXT.replace(old, new))}
    assert field in found, list(found)
    if near is not None:
        assert found[field].nearest == near


def test_supplies_are_sorted_by_strength():
    limits = [s.limit for s in supplies(12.0)]
    assert limits == sorted(limits)
    assert math.isclose(limits[0], 2.0)


BENCH = """
rig: 1
name: Bench
points: {hub: 0 0 500 mm, tip: 0 0 800 mm}
bodies:
  post: {fixed: true, parts: [{block: 100 x 100 x 500 mm, of: pine, at: 0 0 250 mm}]}
  arm: {parts: [{bar: 25 x 3 mm, of: steel, from: hub, to: tip}]}
joints: {hub: {pin: [post, arm], at: hub, axis: y}}
run: {for: 1 s}
"""
PUSH = "pushers: {p: {between: [post, arm], from: 0 0 100 mm, to: tip, motor: {%s}}}"
TURN = "motors: {m: {joint: hub, motor: %s}}"
SERVO = "{servo: {rated_voltage: 6 V, stall_torque: 1 N*m, stall_current: 1 A, %s}}"
LINEAR = "linear: {rated_voltage: 12 V, force: 100 N, no_load_speed: 20 mm/s, stroke: 50 mm, %s}"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (TURN % "wiper, supply: -12 V", "reverse: true"),
        (TURN % "wiper, supply: 12 V 0 A", "more than 0 A"),
        (TURN % "wiper, pwm: {frequency: 0 Hz}", "above zero"),
        (TURN % (SERVO % "time_60: 0 s"), "above zero"),
        (TURN % (SERVO % "time_60: 0.2 s, dead_band: 9 deg"), "dead band"),
        (PUSH % (LINEAR % "loaded_speed: 20 mm/s, idle_current: 1 A, full_load_current: 2 A"), "slower"),
        (PUSH % (LINEAR % "idle_current: 3 A, full_load_current: 2 A"), "more current"),
        (PUSH % "solenoid: {rated_voltage: 12 V, current: 1 A, table: [1 mm 5 N, 2 mm 3 N]}", "rise from 0"),
        (PUSH % "air: {bore: 10 mm, rod: 12 mm, stroke: 50 mm, pressure: 6 bar, cv: 0.5}", "thinner"),
        (
            PUSH % "air: {bore: 10 mm, stroke: 50 mm, pressure: 6 bar, cv: 0.5, cushion: 30 mm}",
            "half the stroke",
        ),
    ],
)
def test_drives_that_cannot_be_are_refused_with_their_line(text, says):
    (found,) = faults(BENCH + text + "\n")
    assert says in str(found)
    assert found.line == len(BENCH.splitlines()) + 1


@pytest.mark.parametrize(
    "text",
    [
        "pulls: {g: {gas_spring: [post, arm], from: hub, to: tip, force: 40 N, longest: 100 mm, stroke: 50 mm}}",
        "pushers: {p: {between: [post, arm], from: tip, to: tip, motor: linear 330}}",
    ],
)
def test_straight_drives_that_do_not_reach_are_refused(text):
    with pytest.raises(RigError, match="apart"):
        actuate(assemble(parse_rig(BENCH + text + "\n")))


SYNC = "motor: {synchronous: {speed: 5 rpm, pull_out_torque: 2 N*m%s}}"


def turned(motor):
    """The laws of a wheel that a motor turns."""
    return actuate(
        assemble(parse_rig(wheel(f"motors: {{turn: {{joint: hub, {motor}}}}}\nrun: {{for: 1 s}}")))
    )


def test_a_described_mains_motor_has_the_rotor_of_its_class():
    """Pull-out torque brings the rotor to speed in the run-up: J = T t / w, t = 20 ms as of the catalogue (assumed)."""
    laws = turned(SYNC % "")
    speed = 5 * math.pi / 30
    assert laws.motors[0].reflected_inertia == pytest.approx(2.0 * 0.02 / speed)
    (said,) = (n for n in laws.notes if n.startswith("motors.turn: its rotor"))
    assert "from a run_up of 20 ms and 24 poles (run_up and poles assumed" in said
    # stated, it is taken as stated and nothing is assumed
    laws = turned(SYNC % ", run_up: 8 ms, poles: 12")
    assert laws.motors[0].reflected_inertia == pytest.approx(2.0 * 0.008 / speed)
    assert not [n for n in laws.notes if "rotor" in n]
    laws = turned(SYNC % ", run_up: 0 s")
    assert laws.motors[0].reflected_inertia == 0.0


# 12 V, 1.5 of 8 A, 20 rad/s, 4 N*m: R = 1.5 ohm, k = (12 - 2.25) / 20 = 0.4875 V*s/rad, kt = 4 / 6.5 = 0.615 N*m/A
DOUBTFUL = (
    "motor: {dc: {rated_voltage: 12 V, no_load_speed: 20 rad/s, stall_torque: %s N*m, no_load_current: 1.5 A, "
    "stall_current: 8 A}}"
)


def test_a_motor_whose_torque_constant_is_above_its_speed_constant_is_doubted():
    """Energy: of one ampere through the winding k w watts turn into motion, and kt w watts leave it: kt <= k."""

    def cautions(torque):
        notes = turned(DOUBTFUL % torque).notes
        return [n for n in notes if "CAUTION" in n]

    (said,) = cautions(4.0)
    assert said.startswith(
        "motors.turn: CAUTION: it makes 0.615 N*m of an ampere, and its speed makes 0.487 V*s/rad"
    )
    assert cautions(3.0) == []  # kt = 0.4615: lost in the gears
    for name in ("wiper", "vent actuator", "servo large digital"):
        assert "CAUTION" not in str(turned(f"motor: {name}").notes)
