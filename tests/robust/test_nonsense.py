"""Values that make no sense are refused with their place, or told of where they are merely odd."""

from __future__ import annotations

from pathlib import Path

import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.errors import AssemblyError, RigError
from simprop.rig.load import parse_rig

RIG = """rig: 1
name: Lantern
params: {long: 300 mm}
points: {hub: 0 0 500 mm, tip: 300 0 500 mm, low: 0 0 20 mm}
bodies:
  post: {fixed: true, parts: [{block: 60 x 60 x 500 mm, of: pine, at: 0 0 250 mm}]}
  arm:
    parts:
      - {bar: 25 x 3 mm, of: steel, from: hub, to: tip}
      - {lump: 0.2 kg, at: tip, inertia: [2e-4 kg*m^2, 2e-4 kg*m^2, 2e-4 kg*m^2]}
  lamp:
    parts: [{ball: 80 mm, mass: 0.3 kg, at: 0 0 400 mm}]
joints:
  hub: {pin: [post, arm], at: hub, axis: y, diameter: 6 mm, friction: 0.2}
  rail: {slider: [post, lamp], at: 0 0 400 mm, along: z, friction: 1 N}
springs:
  lift:
    {extension: [post, arm], from: 0 0 800 mm, to: tip, rate: 50 N/m, free_length: 300 mm, preload: 1 N, slack: 2 mm}
pulls:
  strut: {gas_spring: [post, arm], from: 0 0 300 mm, to: 150 0 500 mm, force: 40 N, longest: 300 mm, stroke: 100 mm}
motors:
  turn:
    joint: hub
    supply: 12 V 9 A
    pwm: {frequency: 490 Hz}
    motor:
      dc: {rated_voltage: 12 V, no_load_speed: 45 rpm, stall_torque: 9 N*m, stall_current: 15 A, no_load_current: 1 A,
        gear_ratio: 60, holding_torque: 30 N*m, travel: 90 deg, breakaway: 0.1 N*m, self_locking: true}
pushers:
  push:
    {between: [post, lamp], from: 0 0 100 mm, to: 0 0 400 mm, motor: linear 330, supply: 12 V 9 A, extension: 40 mm}
cues:
  scenes:
    show: {do: [{at: 0.1 s, on: turn}, {at: 0.2 s, on: push}]}
  interlocks: [{hold: push, while_off: [turn]}]
stand: {feet: [-200 -200 0 mm, 200 -200 0 mm, 0 200 0 mm], stakes: 2, stake_pull: 200 N}
wind: {speed: 8 m/s}
temperature: 5 degC
run: {for: 0.3 s}
"""

HUB, TURN = "joints.hub", "motors.turn.motor"
DC = "{rated_voltage: 12 V"
REFUSED = [
    ("gear ratio of zero", "gear_ratio: 60", "gear_ratio: 0", f"{TURN}.dc.gear_ratio"),
    ("gear ratio below zero", "gear_ratio: 60", "gear_ratio: -60", f"{TURN}.dc.gear_ratio"),
    ("holding torque below zero", "holding_torque: 30", "holding_torque: -30", f"{TURN}.dc.holding_torque"),
    ("travel below zero", "travel: 90", "travel: -90", f"{TURN}.dc.travel"),
    ("breakaway below zero", "breakaway: 0.1", "breakaway: -0.1", f"{TURN}.dc.breakaway"),
    ("stall torque of zero", "stall_torque: 9", "stall_torque: 0", f"{TURN}.dc"),
    ("no-load speed of zero", "no_load_speed: 45", "no_load_speed: 0", f"{TURN}.dc"),
    ("more current without load than stalled", "no_load_current: 1 A", "no_load_current: 16 A", f"{TURN}.dc"),
    ("more power out than in", "stall_torque: 9", "stall_torque: 900", f"{TURN}.dc"),
    ("volts by the billion", "rated_voltage: 12 V", "rated_voltage: 1e9 V", f"{TURN}.dc.rated_voltage"),
    ("supply of 1e9 V", "supply: 12 V 9 A\n    pwm", "supply: 1e9 V\n    pwm", "motors.turn.supply"),
    ("DC motor on the mains", "supply: 12 V 9 A\n    pwm", "supply: 230 V 50 Hz\n    pwm", "motors.turn.supply"),
    ("pulses of 1e12 Hz", "frequency: 490 Hz", "frequency: 1e12 Hz", "motors.turn.pwm.frequency"),
    ("inertia below zero", "inertia: [2e-4 kg*m^2", "inertia: [-2e-4 kg*m^2", "bodies.arm.parts.1.inertia"),
    ("inertia no body can have", "inertia: [2e-4 kg*m^2", "inertia: [9e-4 kg*m^2", "bodies.arm.parts.1.inertia"),
    ("mass of 1e-15 kg", "lump: 0.2 kg", "lump: 1e-15 kg", "bodies.arm.parts.1.lump"),
    ("mass of 1e9 kg", "lump: 0.2 kg", "lump: 1e9 kg", "bodies.arm.parts.1.lump"),
    ("mass of 1e308 kg", "lump: 0.2 kg", "lump: 1e308 kg", "bodies.arm.parts.1.lump"),
    ("two masses in one value", "lump: 0.2 kg", 'lump: "1 kg; 9 kg"', "bodies.arm.parts.1.lump"),
    ("rod of 1e200 m", "{bar: 25 x 3 mm,", "{rod: 1e200 m,", "bodies.arm.parts.0.rod"),
    ("clearance ten times the pin", "diameter: 6 mm,", "diameter: 6 mm, clearance: 60 mm,", HUB),
    ("friction of 1e400", "friction: 0.2", "friction: 1" + "0" * 400, f"{HUB}.friction"),
    ("friction coefficient of 50", "friction: 0.2", "friction: 50", f"{HUB}.friction"),
    ("slack below zero", "slack: 2 mm", "slack: -2 mm", "springs.lift.slack"),
    ("preload below zero", "preload: 1 N", "preload: -1 N", "springs.lift.preload"),
    ("spring with both ends on one spot", "from: 0 0 800 mm, to: tip", "from: tip, to: tip", "springs.lift"),
    ("strut force below zero", "force: 40 N", "force: -40 N", "pulls.strut.force"),
    ("strut with both ends on one spot", "from: 0 0 300 mm, to: 150 0 500 mm", "from: tip, to: tip", "pulls.strut"),
    ("pusher with both ends on one spot", "from: 0 0 100 mm, to: 0 0 400 mm", "from: tip, to: tip", "pushers.push"),
    ("spring of 1e15 N/m", "rate: 50 N/m", "rate: 1e15 N/m", "springs.lift.rate"),
    ("-300 degC", "temperature: 5 degC", "temperature: -300 degC", "temperature"),
    ("wind of 1e6 m/s", "speed: 8 m/s", "speed: 1e6 m/s", "wind.speed"),
    ("feet in one point", "feet: [-200 -200 0 mm, 200 -200 0 mm, 0 200 0 mm]", "feet: [low, low, low]", "stand.feet"),
    ("stakes that hold nothing", "stake_pull: 200 N", "stake_pull: 0 N", "stand"),
    ("fixed and scenery at once", "post: {fixed: true,", "post: {fixed: true, scenery: true,", "bodies.post"),
    ("empty name", "name: Lantern", 'name: ""', "name"),
    ("interlock on itself", "while_off: [turn]", "while_off: [push]", "cues.interlocks.0"),
    ("sound that isn't there", "{at: 0.2 s, on: push}", "{at: 0.2 s, sound: no.wav}", "cues.scenes.show.do.1.sound"),
    ("run of 1e9 s", "run: {for: 0.3 s}", "run: {for: 1e9 s}", "run.for"),
    ("run of no time", "run: {for: 0.3 s}", "run: {for: 0 s}", "run.for"),
    ("step of 1 ns", "run: {for: 0.3 s}", "run: {for: 0.3 s, step: 1 ns}", "run.step"),
    ("step of 0 s", "run: {for: 0.3 s}", "run: {for: 0.3 s, step: 0 s}", "run.step"),
    ("body named by a list", "pin: [post, arm]", "pin: [[post], arm]", f"{HUB}.pin.0"),
    ("body named by a mapping", "pin: [post, arm]", "pin: [{a: 1}, arm]", f"{HUB}.pin.0"),
    ("motor named by a list", "motor: linear 330", "motor: [linear 330]", "pushers.push.motor"),
    ("power tower", "params: {long: 300 mm}", "params: {long: 9**9**9 mm}", "params.long"),
    ("power tower in a point", "tip: 300 0 500 mm", "tip: [9**9**9 mm, 0 mm, 500 mm]", "points.tip"),
    ("unit to the billionth power", "lump: 0.2 kg", "lump: 2 kg^999999999", "bodies.arm.parts.1.lump"),
    ("random cues each nanosecond", "show: {do:", "show: {when: random, every: 1e-9 s, do:", "cues.scenes.show"),
    ("loop of a microsecond", "{do: [{at: 0.1 s", "{when: loop, length: 1e-6 s, do: [{at: 0 s", "cues.scenes.show"),
    ("nothing that starts a scene", "show: {do:", "show: {when: banana, do:", "cues.scenes.show"),
    ("a word near one that starts a scene", "show: {do:", "show: {when: lop, at: [1 s], do:", "cues.scenes.show"),
]  # fmt: skip


def _with(old: str, new: str) -> str:
    assert RIG.count(old) == 1, f"{old!r} stands {RIG.count(old)} times"
    return RIG.replace(old, new)


def test_the_sound_rig_passes() -> None:
    assembly = assemble(parse_rig(RIG))
    assert [n for n in assembly.notes if n.startswith(("joints", "motors", "cues"))] == []


@pytest.mark.parametrize(("old", "new", "field"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])
def test_refused_with_its_place(old: str, new: str, field: str) -> None:
    with pytest.raises(RigError) as caught:
        assemble(parse_rig(_with(old, new), "lantern.yaml"))
    for fault in caught.value.faults:
        assert fault.file == "lantern.yaml"
        assert fault.line
        assert fault.field.startswith(field)
        assert len(str(fault)) < 1000


MOTOR = RIG[RIG.index("  turn:\n") : RIG.index("pushers:")]
MAINS = "  turn: {joint: hub, supply: 230 V 50 Hz, motor: {synchronous: {speed: 5 rpm, pull_out_torque: 1 N*m}}}\n"


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("speed: 5 rpm", "speed: 0 rpm", f"{TURN}.synchronous.speed"),
        (
            "pull_out_torque: 1 N*m",
            "pull_out_torque: 1 N*m, rated_frequency: 0 Hz",
            f"{TURN}.synchronous.rated",
        ),
        ("pull_out_torque: 1 N*m", "pull_out_torque: -1 N*m", f"{TURN}.synchronous.pull_out_torque"),
        ("supply: 230 V 50 Hz", "supply: 12 V 5 A", "motors.turn.supply"),
        (
            "230 V 50 Hz, motor: {synchronous: {",
            "120 V 60 Hz, motor: {synchronous: {rated_voltage: 230 V, ",
            "motors.turn.supply",
        ),
    ],
    ids=[
        "mains speed of zero",
        "mains of 0 Hz",
        "torque below zero",
        "mains motor on DC",
        "mains motor of 230 V on 120 V",
    ],
)
def test_refused_of_mains_motors(old: str, new: str, field: str) -> None:
    text = RIG.replace(MOTOR, MAINS)
    parse_rig(text)
    with pytest.raises(RigError) as caught:
        parse_rig(text.replace(old, new), "lantern.yaml")
    assert all(f.line and f.field.startswith(field) for f in caught.value.faults), caught.value


ODD = [
    ("joint 50 m from its bodies", "hub: {pin: [post, arm], at: hub", "hub: {pin: [post, arm], at: 0 0 50 m", HUB),
    ("joint 35 mm off its part", "hub: {pin: [post, arm], at: hub", "hub: {pin: [post, arm], at: -65 0 500 mm", HUB),
    ("cue after the end", "{at: 0.2 s, on: push}", "{at: 9 s, on: push}", "cues.scenes.show.do.1"),
    ("DC motor without a supply", "    supply: 12 V 9 A\n    pwm", "    pwm", "motors.turn: no supply"),
    ("two motors on one joint", "motors:\n", "motors:\n  a: {joint: hub, motor: wiper}\n", "motors.turn: motor"),
    ("servo without a supply", MOTOR, "  turn: {joint: hub, motor: servo standard}\n", "motors.turn: no supply"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "field"), [r[1:] for r in ODD], ids=[r[0] for r in ODD])
def test_told_of(old: str, new: str, field: str) -> None:
    assembly = assemble(parse_rig(_with(old, new)))
    told = [n for n in (*assembly.notes, *actuate(assembly).notes) if n.startswith(field)]
    assert told, (*assembly.notes, *actuate(assembly).notes)


def test_a_body_that_nothing_holds_falls_for_ever() -> None:
    assembly = assemble(
        parse_rig(RIG.replace("  lamp:\n", "  stone: {parts: [{lump: 1 kg, at: hub}]}\n  lamp:\n"))
    )
    assert [n for n in assembly.notes if n.startswith("bodies.stone")] == [
        "bodies.stone: nothing holds it, so it falls for ever"
    ]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("block: 60 x 60 x 500 mm", "block: 90 x 90 x 90 m", "it weighs 2.86e"),
        ("from: hub, to: tip}", "from: hub, to: hub, name: stick}", "stick: two of its points are the same"),
    ],
    ids=["285,000 t of pine", "no length"],
)
def test_parts_that_cannot_be_are_refused_with_their_field(old: str, new: str, said: str) -> None:
    with pytest.raises(AssemblyError, match=said) as caught:
        assemble(parse_rig(_with(old, new)))
    assert str(caught.value).startswith("bodies.")


def test_a_law_that_cannot_be_made_is_refused_with_file_and_line() -> None:
    text = _with("longest: 300 mm, stroke: 100 mm", "longest: 90 mm, stroke: 50 mm")
    with pytest.raises(RigError) as caught:
        actuate(assemble(parse_rig(text, "lantern.yaml")))
    assert [(f.file, f.line, f.field) for f in caught.value.faults] == [("lantern.yaml", 20, "pulls.strut")]


def test_a_long_key_is_cut_in_the_message() -> None:
    with pytest.raises(RigError) as caught:
        parse_rig(RIG + "? " + "k" * 20_000 + "\n: 1\n")
    assert [len(f.field) for f in caught.value.faults] == [20_000]
    assert len(str(caught.value)) < 1000
    assert "k" * 40 in str(caught.value)


def test_names_with_digits_of_other_scripts_are_names() -> None:
    with pytest.raises(RigError, match="there is no field"):
        parse_rig(RIG, sets={"a.²": "1"})


@pytest.mark.parametrize("text", ["[" * 1500, "{a: " * 1500, "bodies: " + "[" * 1500 + "]" * 1500])
def test_brackets_without_end(text: str) -> None:
    with pytest.raises(RigError, match="nested too deep"):
        parse_rig(text)


def test_an_integer_of_5000_digits_is_no_number(tmp_path: Path) -> None:
    with pytest.raises(RigError) as caught:
        parse_rig(_with("lump: 0.2 kg", "lump: " + "1" * 5000))
    assert [f.field for f in caught.value.faults] == ["bodies.arm.parts.1.lump"]
