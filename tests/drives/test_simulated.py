"""Each drive in the simulation, in both engines, against closed forms."""

import math
from pathlib import Path

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.engine.acting.actuation import actuate
from simprop.loads.energy import energy
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.drives.rigs import arm, sled, wheel
from tests.laws.stroke import stroke

G = 9.80665
NO_LOAD = 45 * math.pi / 30
# wiper medium low: R = 0.8 ohm, k = 2.2918 V*s/rad, kt = 1.1111 N*m/A, own friction 1.6667 N*m
R, K, KT, OWN = 0.8, (12 - 1.2) / NO_LOAD, 15 / 13.5, 1.5 * 15 / 13.5
WEIGHT = "  load: {joint: hub, motor: {steady: {torque: %s N*m}}}\n"

engines = pytest.mark.parametrize("engine", ["bullet", "mujoco"])


def run(text, engine, step=None):
    return simulate(parse_rig(text), engine, settle=False, step=step)


def speed_at(volts, load):
    """Hand formula of the straight line."""
    return (volts - R * (load / KT + 1.5)) / K


@engines
def test_worm_holds_when_off(engine):
    # 4 kg at 0.3 m is 11.8 N*m; it may carry up to 30
    on = "motors: {m: {joint: hub, motor: wiper medium low, on: [5 s to 6 s]}}\nrun: {for: 1 s}"
    track = run(arm(on, mass="4 kg"), engine).track
    assert np.abs(track.coordinate[:, 0]).max() < 1e-5
    torque = track.applied[-100:, 0, 0] + track.applied[-100:, 3, 0]
    assert np.mean(torque) == pytest.approx(4.001 * G * 0.3, rel=2e-3)
    assert np.all(track.current[:, 0] == 0.0)


@engines
def test_a_worm_that_is_overloaded_slips(engine):
    on = "motors: {m: {joint: hub, motor: wiper medium low, on: [5 s to 6 s]}}\nrun: {for: 0.3 s}"
    track = run(arm(on, mass="15 kg"), engine).track  # 44 N*m
    assert track.coordinate[-1, 0] < -0.05


@engines
@pytest.mark.parametrize(("volts", "load"), [(12.0, 3.0), (5.0, 3.0), (3.3, 1.5)])
def test_lifting_speed_is_that_of_the_line(engine, volts, load):
    drive = f"  m: {{joint: hub, motor: wiper medium low, supply: {volts} V}}\n"
    track = run(wheel("motors:\n" + drive + WEIGHT % -load + "run: {for: 1 s}"), engine).track
    assert track.rate[-1, 0] == pytest.approx(speed_at(volts, load), rel=1e-3)
    assert track.current[-1, 0] == pytest.approx(load / KT + 1.5, rel=1e-3)


@engines
def test_lowering_is_no_faster_than_free_running(engine):
    # forwards 0.485 (kt / k), so backwards 2 - 1 / 0.485: the motor gives 3 % of the load to let it down
    given = -(KT / K) * (2 - K / KT) * 8.0
    assert 0.2 < given < 0.3
    drive = "  m: {joint: hub, motor: wiper medium low}\n"
    track = run(wheel("motors:\n" + drive + WEIGHT % 8.0 + "run: {for: 1 s}"), engine).track
    assert track.rate[-1, 0] == pytest.approx(speed_at(12.0, given), rel=2e-3)
    assert track.rate[:, 0].max() < 1.01 * NO_LOAD
    # the gear carries the weight: motor and its friction together give -8
    assert track.applied[-1, 0, 0] + track.applied[-1, 3, 0] - 8.0 == pytest.approx(-8.0, abs=0.1)


@engines
def test_current_limit_sets_the_acceleration(engine):
    # below the line's knee the torque is kt * limit - own friction, whatever the speed
    drive = "motors: {m: {joint: hub, motor: wiper medium low, supply: 12 V 5 A}}\nrun: {for: 0.05 s}"
    recording = run(wheel(drive, inertia="0.5 kg*m^2"), engine)
    inertia = 0.5 + actuate(recording.assembly).motors[0].reflected_inertia
    track = recording.track
    want = (KT * 5.0 - OWN) / inertia * track.time
    assert track.rate[5:, 0] == pytest.approx(want[5:], rel=0.03)
    assert np.nanmax(track.current) == pytest.approx(5.0, rel=1e-6)
    assert track.voltage[0, 0] == pytest.approx(5.0 * R, rel=1e-6)


@engines
def test_two_motors_share_one_supply(engine):
    text = """
supplies: {box: 12 V 6 A}
motors:
  one: {joint: hub, motor: wiper medium low, supply: box}
  two: {joint: hub, motor: wiper medium low, supply: box}
run: {for: 0.5 s}
"""
    track = run(wheel(text + "", friction="9 N*m"), engine).track
    total = track.current.sum(axis=1)
    assert total.max() <= 6.0 * (1 + 1e-6)
    assert total[-1] == pytest.approx(6.0, rel=1e-3)
    assert track.current[-1, 0] == pytest.approx(3.0, rel=1e-3)
    assert track.rate[-1, 0] == pytest.approx(0.0, abs=1e-3)  # 2 x (3 A * kt - own friction) < 9 N*m


@engines
def test_long_thin_wire_drops_voltage(engine):
    supply = "{voltage: 12 V, wire: {gauge: 18, length: 10 m, strands: solid, temperature: 20 degC}}"
    drive = f"  m: {{joint: hub, motor: wiper medium low, supply: {supply}}}\n"
    track = run(wheel("motors:\n" + drive + WEIGHT % -5.0 + "run: {for: 1 s}"), engine).track
    amperes = 5.0 / KT + 1.5
    drop = amperes * 2 * 10.371 / (40.3**2) * 10 / 0.3048  # 18 AWG is 40.3 mil thick
    assert 12.0 - track.voltage[-1, 0] == pytest.approx(drop, rel=5e-3)
    assert track.rate[-1, 0] == pytest.approx(speed_at(12 - drop, 5.0), rel=2e-3)


@engines
def test_pulses(engine):
    for duty in (0.5, 0.3):
        pwm = f"{{duty: {duty}, frequency: 25 kHz}}"
        drive = f"motors: {{m: {{joint: hub, motor: wiper medium low, supply: 12 V, pwm: {pwm}}}}}\nrun: {{for: 1 s}}"
        track = run(wheel(drive), engine).track
        assert track.rate[-1, 0] == pytest.approx(speed_at(12 * duty, 0.0), rel=2e-3)
    # dead duty 0.1: smooth pulses under it don't turn even the free motor; slow ones do
    for frequency, turns in (("25 kHz", False), ("50 Hz", True)):
        pwm = f"{{duty: 0.09, frequency: {frequency}}}"
        drive = f"motors: {{m: {{joint: hub, motor: wiper medium low, supply: 12 V, pwm: {pwm}}}}}\nrun: {{for: 0.5 s}}"
        turned = run(wheel(drive), engine).track.coordinate[-1, 0]
        assert (turned > 0.02) == turns, (frequency, turned)


@engines
def test_breakaway(engine):
    dc = (
        "{dc: {rated_voltage: 12 V, no_load_speed: 45 rpm, stall_torque: 15 N*m, no_load_current: 1.5 A,"
        " stall_current: 15 A, breakaway: %s N*m}}"
    )
    for sticky, moves in ((0.5, True), (3.5, False)):
        drive = f"motors: {{m: {{joint: hub, motor: {dc % sticky}, supply: 3.3 V}}}}\nrun: {{for: 0.5 s}}"
        rate = run(wheel(drive), engine).track.rate[-1, 0]
        assert rate == pytest.approx(speed_at(3.3, 0.0) if moves else 0.0, rel=1e-3, abs=1e-6)


@engines
def test_vent_actuator_stops_itself(engine):
    track = run(wheel("motors: {m: {joint: hub, motor: vent actuator}}\nrun: {for: 3 s}"), engine).track
    # runs at 8 rpm over 90 deg, then stalls: 1.2 N*m on 120 N*m/rad is 0.01 rad past its stop
    assert track.coordinate[-1, 0] == pytest.approx(math.pi / 2 + 0.01, abs=2e-3)
    assert track.current[-1, 0] == pytest.approx(0.6, rel=1e-3)
    arrival = float(track.time[np.argmax(track.coordinate[:, 0] > math.pi / 2)])
    assert arrival == pytest.approx(math.pi / 2 / (8 * math.pi / 30), rel=0.03)


@engines
def test_synchronous_reverses_at_a_stop(engine):
    text = """
stops: {end: {pin_stop: hub, above: 30 deg, of: steel}}
motors: {m: {joint: hub, motor: synchronous 5/6 rpm, supply: 230 V 60 Hz}}
run: {for: 3 s, seed: %d}
"""
    track = run(wheel(text % 2, friction="0.02 N*m"), engine).track
    speed = 6 * math.pi / 30
    forward = track.rate[:, 0] > 0.9 * speed
    if not forward.any():
        pytest.skip("started backwards with this seed")
    turned = float(track.time[np.argmax(track.rate[:, 0] < -0.9 * speed)])
    assert turned == pytest.approx(math.radians(30) / speed + 0.05, abs=0.06)


@engines
def test_a_mains_motor_brings_its_own_rotor_to_speed(engine):
    text = "motors: {m: {joint: hub, motor: synchronous 5/6 rpm one-way, supply: 230 V 50 Hz}}\nrun: {for: 0.1 s}"
    found = run(wheel(text, inertia="1e-5 kg*m^2"), engine, step=1e-4)
    track, w = found.track, 5 * np.pi / 30
    # 0.4 N*m on a rotor of 0.4 N*m 20 ms / w and the wheel: at speed after 20 ms, not at once
    inertia = 0.4 * 0.02 / w
    assert track.time[np.argmax(track.rate[:, 0] > 0.99 * w)] == pytest.approx(
        0.99 * 0.02 * (1 + 1e-5 / inertia), abs=3e-4
    )
    # what goes on to the prop while it starts is its share of the two inertias
    assert found.drives[0].load[:100].max() <= 0.4 * 1e-5 / inertia * 1.1 + 1e-6


def test_mains_frequency_sets_the_speed():
    text = "motors: {m: {joint: hub, motor: synchronous 5/6 rpm, supply: 230 V %d Hz}}\nrun: {for: 0.1 s}"
    for hertz, rpm in ((50, 5.0), (60, 6.0)):
        motor = actuate(assemble(parse_rig(wheel(text % hertz)))).motors[0]
        assert motor.law.speed == pytest.approx(rpm * math.pi / 30, rel=1e-12)


def test_either_way_start_depends_on_the_seed_alone():
    text = "motors: {m: {joint: hub, motor: synchronous 5/6 rpm}}\nrun: {for: 0.2 s, seed: %d}"
    ways = [float(np.sign(run(wheel(text % s), "mujoco").track.rate[-1, 0])) for s in range(1, 9)]
    assert {-1.0, 1.0} == set(ways)
    assert ways == [float(np.sign(run(wheel(text % s), "mujoco").track.rate[-1, 0])) for s in range(1, 9)]


@engines
def test_servo_reaches_its_pose_and_sags_by_its_band(engine):
    text = """
motors: {m: {joint: hub, motor: servo high torque, supply: 6 V 3 A}}
cues: {scenes: {look: {do: [{at: 0.2 s, pose: m, to: 40 deg, over: 0.3 s}]}}}
run: {for: 1.5 s}
"""
    recording = run(arm(text, mass="0.2 kg"), engine)
    track = recording.track
    stall, friction = 15 * 0.0980665, 1.5 * 0.0980665
    load = 0.2005 * G * 0.3 * math.cos(math.radians(40))
    # error e with kt (e - dead) / (full - dead) = load less or more what friction takes
    share = [(load + s * friction) / (stall + friction) for s in (-1, 1)]
    low, high = (0.01 + 0.08 * s for s in share)
    assert low - 0.005 < math.radians(40) - track.coordinate[-1, 0] < high + 0.005
    assert abs(track.rate[-1, 0]) < 1e-3


@engines
def test_cues_switch_direction_and_stop(engine):
    text = """
motors: {m: {joint: hub, motor: wiper medium low}}
cues:
  scenes: {show: {do: [{at: 0.2 s, on: m}, {at: 1 s, backward: m}, {at: 1.6 s, speed: m, to: 0.5}]}}
  stop: 2.5 s
run: {for: 3 s}
"""
    track = run(wheel(text), engine).track

    def rate(time):
        return float(np.interp(time, track.time, track.rate[:, 0]))

    assert rate(0.15) == 0.0
    assert rate(0.95) == pytest.approx(NO_LOAD, rel=1e-3)
    assert rate(1.55) == pytest.approx(-NO_LOAD, rel=1e-3)
    assert rate(2.45) == pytest.approx(-speed_at(6.0, 0.0), rel=1e-3)
    assert rate(2.9) == pytest.approx(0.0, abs=1e-9)


PUSH = "pushers: {p: {between: [post, sled], from: low, to: high, motor: %s, supply: 12 V 20 A%s}}\n"


@engines
def test_linear_actuator(engine):
    load = 20 * G
    v0, vl, force = 0.027, 0.75 * 0.027, 330.0
    up = run(sled(PUSH % ("linear 330", ", extension: 20 mm") + "run: {for: 1.5 s}", "20 kg"), engine).track
    assert up.rate[-1, 0] == pytest.approx(v0 - (v0 - vl) * load / force, rel=2e-3)
    assert up.current[-1, 0] == pytest.approx(0.9 + 3.1 * load / force, rel=5e-3)
    assert up.line_force[-1, 0] == pytest.approx(-load, rel=1e-3)
    off = run(sled(PUSH % ("linear 330", ", on: [5 s to 6 s]") + "run: {for: 1 s}", "20 kg"), engine).track
    assert off.coordinate[-1, 0] == pytest.approx(
        -load / 1e5, rel=0.01
    )  # its brackets give, the screw doesn't
    end = run(sled(PUSH % ("linear 330", ", extension: 140 mm") + "run: {for: 1.5 s}", "20 kg"), engine).track
    assert end.coordinate[-1, 0] == pytest.approx(0.010 - load / 1e5, abs=1e-4)
    assert end.current[-1, 0] == 0.0


@engines
@pytest.mark.parametrize("mass", ["0.5 kg", "20 kg"])
@pytest.mark.parametrize("locks", ["true", "false"])
def test_linear_actuator_goes_no_further_than_its_stroke(engine, mass, locks):
    motor = (
        "{linear: {rated_voltage: 12 V, force: 330 N, no_load_speed: 60 mm/s, idle_current: 0.9 A, "
        f"full_load_current: 4 A, stroke: 300 mm, self_locking: {locks}}}}}"
    )
    text = sled(PUSH % (motor, ", extension: 290 mm") + "run: {for: 1 s}", mass)
    out = 290 + 1e3 * run(text, engine).track.coordinate[:, 0]
    assert out.max() < 300.3
    assert out[-1] == pytest.approx(
        300, abs=2.1 if mass == "20 kg" else 0.3
    )  # its brackets give 2 mm under 20 kg
    back = text.replace("290 mm", "10 mm, reverse: true")
    # set down at full speed by a screw that doesn't lock, 20 kg press the brackets on
    assert 10 + 1e3 * run(back, engine).track.coordinate[:, 0].min() > (
        -0.3 if mass == "0.5 kg" else -2 * 1.96
    )


@engines
def test_air_cylinder_held_in_rests_on_its_end_cap(engine):
    air = "{air: {bore: 25 mm, rod: 10 mm, stroke: 100 mm, pressure: 6 bar, cv: 0.5, exhaust_share: 0.1}}"
    text = (
        f"pushers: {{p: {{between: [post, sled], from: low, to: high, motor: {air}%s}}}}\nrun: {{for: 0.5 s}}"
    )
    track = run(sled(text % ", on: [5 s to 6 s]", "2 kg", along="x"), engine).track
    # 6 bar on a ring of 25 and 10 mm pull 247 N, all of which its own end cap takes: nothing reaches the two points
    assert np.abs(track.line_force).max() < 1e-6
    loaded = run(sled(text % ", on: [5 s to 6 s]", "2 kg"), engine).track
    assert np.abs(loaded.line_force).max() < 2.01 * 2 * G  # a weight set down at once
    # switched on, it leaves its seat with the difference of both sides and no more: 295 - 247 N and its friction
    track = run(sled(text % "", "2 kg"), engine).track
    early = track.time < 0.01
    assert np.abs(track.line_force[early]).max() < 295 - 247 + 15


@engines
def test_air_cylinder_slams_as_its_law_says(engine):
    air = "{air: {bore: 25 mm, rod: 10 mm, stroke: 100 mm, pressure: 6 bar, cv: 0.5, vented: true, friction: 0 N}}"
    text = (
        f"pushers: {{p: {{between: [post, sled], from: low, to: high, motor: {air}}}}}\nrun: {{for: 0.15 s}}"
    )
    recording = run(sled(text, "5 kg"), engine, step=5e-5)
    track = recording.track
    law = actuate(recording.assembly).line_drives[0].mounted.law.cylinder
    alone = stroke(law, 5.0, 5.0 * G, vented=True)
    contact = int(np.argmax(track.coordinate[:, 0] > 0.1))
    assert track.time[contact] == pytest.approx(alone.arrives, rel=0.01)
    assert track.rate[contact, 0] == pytest.approx(alone.slam_speed, rel=0.01)
    # kinetic energy and push against the end cap: its peak, less the push that it takes itself
    pushed = alone.slam_force - np.pi / 4 * 0.025**2 * 6e5
    assert track.line_force[contact:, 0].max() == pytest.approx(pushed, rel=0.03)


@engines
def test_counterweight(engine):
    text = "pulls: {w: {counterweight: [post, sled], from: 0 0 1500 mm, to: high, mass: 3 kg}}\nrun: {for: 0.3 s}"
    track = run(sled(text, "2 kg"), engine).track
    assert track.rate[-1, 0] == pytest.approx(G / 5 * track.time[-1], rel=0.01)
    assert track.line_force[150:, 0].mean() == pytest.approx(2 * 3 * 2 / 5 * G, rel=0.01)


@engines
def test_constant_force_spring_and_rope(engine):
    strip = "free_length: 50 mm, take_up: 20 mm, longest: 800 mm"
    text = (
        f"pulls: {{s: {{constant_force: [post, sled], from: 0 0 900 mm, to: high, force: 25 N, {strip}}}}}\n"
    )
    track = run(sled(text + "run: {for: 0.3 s}", "2 kg"), engine).track
    assert track.rate[-1, 0] == pytest.approx((25 / 2 - G) * track.time[-1], rel=5e-3)
    hand = "pulls: {r: {rope: [post, sled], from: 0 0 1500 mm, to: high, force: 30 N, ramp: 0.1 s, on: [0 s to 9 s]}}\n"
    track = run(sled(hand + "run: {for: 0.3 s}", "2 kg"), engine).track
    impulse = 30 * (0.3 - 0.05) - 2 * G * 0.3
    assert track.rate[-1, 0] == pytest.approx(impulse / 2, abs=0.03)


@engines
def test_a_strip_drawn_to_its_end_stops_there(engine):
    # 4 kg falls 400 mm until the strip is all out, and its end holds with 2e5 N/m
    strip = "free_length: 100 mm, take_up: 20 mm, longest: 400 mm"
    text = (
        f"pulls: {{s: {{constant_force: [post, sled], from: 0 0 600 mm, to: high, force: 10 N, {strip}}}}}\n"
    )
    track = run(sled(text + "run: {for: 0.5 s}", "4 kg"), engine).track
    net, k = 4 * G - 10, 2e5
    # m g (h + x) = F (h + x - take_up / 2) + k x^2 / 2
    depth = (net + math.sqrt(net**2 + 2 * k * (net * 0.4 + 10 * 0.01))) / k
    assert track.line_force[:, 0].max() == pytest.approx(10 + k * depth, rel=5e-3)
    assert track.coordinate[:, 0].min() == pytest.approx(-0.4 - depth, rel=1e-3)


@engines
def test_gas_strut_work_is_that_of_the_gas(engine):
    strut = "force: 40 N, ratio: 1.4, longest: 400 mm, stroke: 150 mm"
    text = f"pulls: {{g: {{gas_spring: [post, sled], from: low, to: high, {strut}}}}}\nrun: {{for: 0.2 s}}"
    recording = run(sled(text, "2 kg"), engine, step=1e-4)
    track = recording.track
    c = 1 - 1 / 1.4
    pressed = 0.4 - 0.3 - track.coordinate[-1, 0]

    def stored(s):
        return -40 * 0.15 / c * math.log(1 - c * s / 0.15)

    work = stored(0.1) - stored(pressed) - 2 * G * track.coordinate[-1, 0]
    assert 0.5 * 2 * track.rate[-1, 0] ** 2 == pytest.approx(work, rel=0.02)


@engines
def test_door_lock_and_solenoid(engine):
    lock = run(sled(PUSH % ("door lock", "") + "run: {for: 0.6 s}", "0.5 kg"), engine).track
    assert lock.coordinate[-1, 0] == pytest.approx(0.02, abs=1e-3)
    assert lock.current[-1, 0] == pytest.approx(5.0)
    pulled = run(
        sled(
            "pushers: {p: {between: [post, sled], from: low, to: high, motor: solenoid small, extension: 9 mm}}\n"
            "run: {for: 0.3 s, gravity: 0 m/s^2}",
            "0.3 kg",
        ),
        engine,
    ).track
    assert pulled.coordinate[:, 0].min() < -0.0088
    start = pulled.rate[20, 0] / pulled.time[20]
    assert start == pytest.approx(-(4 + 6 / 5) / 0.3, rel=0.05)


def test_energy_closes_with_a_locking_motor():
    drive = "  m: {joint: hub, motor: wiper medium low, supply: 12 V 5 A}\n"
    recording = run(wheel("motors:\n" + drive + WEIGHT % 4.0 + "run: {for: 1 s}"), "bullet")
    assert energy(recording).share < 0.01


PEEPER = Path(__file__).parents[2] / "rigs" / "wall_peeper.yaml"


def peeper(motor, supply):
    return parse_rig(
        PEEPER.read_text(),
        str(PEEPER),
        {"motors.drive.motor": motor, "motors.drive.supply": supply, "run.for": "20 s"},
    )


@pytest.mark.parametrize("volts", [3.3, 5.0, 12.0])
def test_cycle_rate_matches_the_hand_formula(volts):
    track = simulate(peeper("wiper medium low", f"{volts} V"), "bullet", settle=False).track
    angle = track.coordinate[:, 0]
    whole = int((angle[-1] - math.pi / 2) // (2 * math.pi))
    begin = int(np.argmax(angle > angle[-1] - 2 * math.pi * whole))
    rate = 2 * math.pi * whole / (track.time[-1] - track.time[begin])
    # what the motor gives at its shaft, on average over whole cycles, with the load helping counted as none
    current = track.current[begin:, 0].mean()
    assert rate == pytest.approx(speed_at(volts, KT * (current - 1.5)), rel=0.03)
