"""Sizes, supplies, heat, cue sheets and listings."""

import csv
import io
import math
import struct
import wave
from dataclasses import replace

import numpy as np
import pytest

from simprop.catalog.motors import motors
from simprop.drives.kinds import figures_of
from simprop.engine.acting.program import script
from simprop.errors import RigError
from simprop.laws.cues import Cue, Scene, Trigger, starts
from simprop.laws.supply import Source
from simprop.report.catalogue import class_text, listing_text
from simprop.report.sizes import size_sections
from simprop.report.structure import Report
from simprop.report.writers import plain
from simprop.rig.load import load_rig, parse_rig
from simprop.run.simulate import simulate
from simprop.sizing import cue_sheet, heat, supplies
from simprop.sizing.classes import listing
from simprop.sizing.sizing import operating_points
from tests.drives.rigs import arm, sled, wheel

RPM = math.pi / 30


def size_text(sizes):
    return plain(Report("", size_sections(sizes)))


def sized(text, **more):
    return simulate(parse_rig(text), "mujoco", settle=False).sizes(**more)


LIFT = "motors: {lift: {joint: hub, motor: %s, supply: %s}}\nrun: {for: %s s}"


@pytest.mark.parametrize(
    ("name", "volts", "rpm", "torque", "amps"),
    # model V = I R + k w with constant loss current on the representative classes, recomputed
    [
        ("wiper medium low", 12, 45, 15.0, 15.0),
        ("wiper medium low", 5, 15.8, 5.3, 6.3),
        ("wiper medium low", 3.3, 8.8, 2.9, 4.1),
        ("wiper large low", 5, 17.1, 10.6, 10.4),
        ("wiper large low", 3.3, 10.3, 6.4, 6.9),
        ("wiper medium high", 5, 21.7, 4.0, 8.3),
        ("wiper medium high", 3.3, 11.1, 2.1, 5.5),
    ],
)
def test_scaled_lines(name, volts, rpm, torque, amps):
    got = figures_of(name).able_at(volts)
    assert got.speed / RPM == pytest.approx(rpm, abs=0.06)
    assert got.stall == pytest.approx(torque, abs=0.06)
    assert got.stall_current == pytest.approx(amps, abs=0.06)


def test_stall_at_3_3_volts_exactly():
    # Ts (V / R - I0) / (Is - I0), recomputed: 2.9166667 N*m
    assert figures_of("wiper").able_at(3.3).stall == pytest.approx(2.9166667, rel=1e-6)


def test_stall_under_pulses():
    # linear motor with smooth current: Ts (D Is - I0) / (Is - I0), 15 N*m, 15 A, 1.5 A at 12 V, recomputed
    wiper = figures_of("wiper medium low")
    assert wiper.able(Source(12.0), 0.5).stall == pytest.approx(6.6666667, rel=1e-6)
    # of 5 A the supply gives the share of the motor's current: 8.33 A in the mean
    assert wiper.able(Source(12.0, limit=5.0), 0.6).stall == pytest.approx((5 / 0.6 - 1.5) * 15 / 13.5)
    # and with a line of 0.2 ohm, which carries that share: V - R d I at the bridge
    line = 12 / (1 + 0.2 * 0.36 / 0.8) * 0.6 / 0.8
    assert wiper.able(Source(12.0, resistance=0.2), 0.6).stall == pytest.approx((line - 1.5) * 15 / 13.5)


def test_loads_and_sizes_say_the_same_of_what_a_motor_can_give():
    text = LIFT % ("wiper medium low", "{voltage: 12 V, limit: 20 A, wire: 18 AWG 6 m}", 0.2)
    run = simulate(parse_rig(wheel(text, "1 N*m")), "mujoco", settle=False)
    (size,), (load,) = run.sizes(), run.loads.motors
    # 18 AWG, stranded, at 75 degC, is 7.95 ohm/kft (NEC chapter 9 table 8): 12 m of it 0.313 ohm
    line = 7.95 * 12 / 304.8
    assert load.able == size.work.able == pytest.approx((12 / (0.8 + line) - 1.5) * 15 / 13.5, rel=2e-3)


@pytest.mark.parametrize(
    ("wire", "ohm_kft", "said", "assumed"),
    # NEC chapter 9 table 8 for 16 AWG (75 degC), copper wire tables (20 degC)
    [
        (
            "16 AWG 10 m",
            4.99,
            "16 AWG stranded copper at 75 degC, 10 m",
            "strands, temperature, metal assumed",
        ),
        ("16 AWG solid 10 m", 4.89, "16 AWG solid copper at 75 degC, 10 m", "temperature, metal assumed"),
        (
            "{gauge: 16, length: 10 m, strands: solid, temperature: 20 degC, metal: copper}",
            4.016,
            "16 AWG solid copper at 20 degC, 10 m",
            "",
        ),
    ],
)
def test_a_wire_says_what_it_is_and_the_rig_may_say_otherwise(wire, ohm_kft, said, assumed):
    rig = parse_rig(wheel(LIFT % ("wiper medium low", f"{{voltage: 12 V, limit: 5 A, wire: {wire}}}", 0.5)))
    ohm = 2 * ohm_kft * 10 / 304.8
    assert rig.motors["lift"].source.resistance == pytest.approx(ohm, rel=7e-3)
    run = simulate(rig, "mujoco", settle=False)
    told = f"{said}: {rig.motors['lift'].source.resistance:.3g} ohm there and back"
    assert told in " ".join(size_text(run.sizes()).split())
    (note,) = (n for n in run.assembly.notes if "wire" in n)
    assert note == f"motors.lift: wire {told}" + (f" ({assumed})" if assumed else "")


def test_a_wire_of_an_unknown_metal_is_a_fault():
    wire = "{gauge: 16, length: 10 m, metal: iron}"
    with pytest.raises(RigError, match=r"motors.lift.supply.wire.metal"):
        parse_rig(wheel(LIFT % ("wiper medium low", f"{{voltage: 12 V, wire: {wire}}}", 1)))


def test_curves_are_consistent():
    wiper = figures_of("wiper medium low")
    for volts in (3.3, 5.0, 12.0):
        drawn = wiper.curves(volts)
        assert drawn.torque[0] == pytest.approx(wiper.able_at(volts).stall)
        assert drawn.torque[-1] == pytest.approx(0.0, abs=1e-9)
        assert drawn.power == pytest.approx(drawn.torque * drawn.speed)
        assert np.all(drawn.efficiency <= 0.5)  # a worm that locks itself can't be better
        top = int(np.argmax(drawn.power))
        assert drawn.speed[top] == pytest.approx(drawn.speed[-1] / 2, rel=0.02)


def test_listing_fits_and_shows_every_class():
    text = listing_text()
    assert max(len(row) for row in text.splitlines()) <= 80
    for row in motors():
        assert row.name in text
    for listed in listing():
        assert max(len(row) for row in class_text(listed).splitlines()) <= 80
    assert figures_of("servo standard").able_at(12.0) is None  # burns at 12 V


def test_undersized_supply_slows_the_motor_and_is_named():
    weak, strong = (sized(wheel(LIFT % ("wiper medium low", f"12 V {a} A", 4), "0.5 N*m"))[0] for a in (2, 5))
    assert weak.work.speed < 0.9 * strong.work.speed
    assert weak.supply.holds_back
    assert "the supply, not the motor, limits it" in " ".join(size_text((weak,)).split())
    assert "12 V 3 A clears it" in " ".join(size_text((weak,)).split())
    assert not strong.supply.holds_back
    assert "the supply carries it" in " ".join(size_text((strong,)).split())


@pytest.mark.parametrize("load", [1.0, 2.0])
def test_supply_that_stalls_the_motor_names_the_one_that_clears_it(load):
    weak = sized(wheel(LIFT % ("wiper medium low", "12 V 2 A", 3), f"{load} N*m"))[0]
    assert weak.work.speed == pytest.approx(0.0, abs=1e-6)
    kt = 15 / 13.5
    assert weak.supply.needed == pytest.approx(load / kt + 1.5, rel=0.1)
    volts, amps = weak.supply.smallest
    cleared = sized(wheel(LIFT % ("wiper medium low", f"{volts:g} V {amps:g} A", 3), f"{load} N*m"))[0]
    assert not cleared.supply.holds_back
    assert cleared.work.speed > 0.9 * weak.candidates[0].speed


def test_a_weak_motor_is_not_blamed_on_its_supply():
    stalled = sized(wheel(LIFT % ("wiper medium low", "3.3 V 10 A", 2), "4 N*m"))[0]
    assert stalled.work.speed == pytest.approx(0.0, abs=1e-6)
    assert not stalled.supply.holds_back
    assert stalled.work.margin == pytest.approx(0.0, abs=0.01)


def test_margin_and_operating_point():
    size = sized(wheel(LIFT % ("wiper medium low", "12 V 20 A", 3), "3 N*m"))[0]
    assert size.work.mean_load == pytest.approx(3.0, rel=0.01)
    assert size.work.margin == pytest.approx(1 - size.work.peak_load / 15, rel=1e-6)
    assert size.work.mean_current == pytest.approx(3 * 13.5 / 15 + 1.5, rel=0.01)
    assert size.work.rms_current >= size.work.mean_current  # over one window
    assert size.work.speed / RPM == pytest.approx(45 * (1 - 3 / 15), rel=0.01)
    # 10 ms to nine tenths of its speed are left out, the rest of the run-up is in the peak
    assert 3.0 < size.work.peak_load < 3.6
    names = {(c.name, c.voltage) for c in size.candidates}
    assert ("wiper medium low", 12.0) in names
    assert ("wiper medium low", 3.3) not in names  # stalls at 2.9 N*m
    best = size.candidates[0]
    assert (best.name, best.voltage) == ("wiper medium low", 12.0)
    assert best.pace == pytest.approx(1.0, abs=0.01)


def test_operating_points_lie_on_the_line():
    recording = simulate(
        parse_rig(wheel(LIFT % ("wiper medium low", "12 V", 2), "3 N*m")), "mujoco", settle=False
    )
    drive = recording.drives[0]
    speed, load = operating_points(drive)
    late = speed > 0.99 * speed.max()
    assert load[late] == pytest.approx(15 * (1 - speed[late] / (45 * RPM)), abs=0.1)


def test_run_up_is_left_out_once_a_stretch():
    text = "motors: {lift: {joint: hub, motor: wiper, supply: 12 V, on: [0 s to 0.5 s, 1 s to 2 s]}}\nrun: {for: 2 s}"
    recording = simulate(parse_rig(wheel(text)), "mujoco", settle=False)
    drive = recording.drives[0]
    rows = drive.running
    assert not rows[recording.track.time < 0.02].any()
    off = (recording.track.time > 0.52) & (recording.track.time < 1.0)
    assert not rows[off].any()
    assert rows[-1]


def test_heat_over_an_evening_against_stepping():
    # two nodes by small steps with copper's feedback, current of the simulated run
    recording = simulate(
        parse_rig(wheel(LIFT % ("wiper medium low", "12 V", 2), "4 N*m")), "mujoco", settle=False
    )
    drive, time = recording.drives[0], recording.track.time
    found = heat.heat(drive, time, hours=0.5)
    square = float(np.mean(drive.current**2))
    line = drive.line
    gears = float(
        np.mean(np.maximum(0, (line.speed_constant * drive.current - drive.load) * np.abs(drive.speed)))
    )
    winding = case = 0.0
    for _ in range(18000):
        flow = (winding - case) / 1.2
        winding += 0.1 * (square * 0.8 * (1 + 0.00393 * winding) - flow) / 50
        case += 0.1 * (flow + gears - case / 1.5) / 500
    assert found.evening.winding == pytest.approx(winding, rel=0.01)


def test_a_loaded_wiper_motor_gets_too_hot_and_rest_helps():
    hot = sized(wheel(LIFT % ("wiper medium low", "12 V 20 A", 3), "7 N*m"))[0].heat
    assert hot.hot
    assert hot.longest < 3600
    text = heat.verdict(hot)
    assert "TOO HOT" in text
    assert "assumed" in text
    assert hot.duty == "S1 continuous"
    cool = sized(wheel(LIFT % ("wiper medium low", "12 V 20 A", 3), "1 N*m"))[0].heat
    assert not cool.hot


def test_duty_is_named_from_the_cues():
    text = """
motors: {lift: {joint: hub, motor: wiper medium low}}
cues: {scenes: {rise: {when: loop, rest: 3 s, do: [{at: 0 s, on: lift}, {at: 1 s, off: lift}]}}}
run: {for: 8 s}
"""
    size = sized(wheel(text))[0]
    assert size.heat.duty == "S3 intermittent 25 %"


@pytest.mark.parametrize("when", ["motion sensor, at: [0 s]", "loop"])
@pytest.mark.parametrize("stop", ["", "stop: 5.5 s"])
def test_rest_of_a_scene_counts_in_the_duty(when, stop):
    push = "pushers: {p: {between: [post, sled], from: low, to: high, motor: linear 330, supply: 12 V 5 A}}\n"
    cues = f"cues:\n  scenes:\n    lift: {{when: {when}, rest: 15 s, do: [{{at: 0 s, on: p}}, {{at: 5 s, off: p}}]}}\n"
    (size,) = sized(sled(push + cues + (f"  {stop}\n" if stop else "") + "run: {for: 6 s}", "5 kg"))
    assert "runs 25 % of the time, 10 % is allowed" in size.remarks  # 5 of every 20 s


def test_a_trigger_within_the_rest_of_its_scene_is_ignored():
    scene = Scene(
        "rise", (Cue(0.0, "lift", "on"), Cue(4.0, "lift", "off")), Trigger("times", "button", (1, 6, 12), 5.0)
    )
    assert starts(scene, 60.0, 1) == ((1, 12), (6,))  # 1 + 4 + 5 = 10 s


def test_shared_supply_is_one_supply():
    text = """
supplies: {box: {voltage: 12 V, limit: 4 A, wire: 22 AWG 6 m}}
motors:
  one: {joint: hub, motor: wiper medium low, supply: box}
  two: {joint: hub, motor: wiper medium low, supply: box}
run: {for: 2 s}
"""
    sizes = sized(wheel(text, "4 N*m"))
    assert sizes[0].supply == sizes[1].supply
    assert sizes[0].supply.users == ("one", "two")
    assert sizes[0].supply.holds_back
    assert "22 AWG" in size_text(sizes)


def test_pushers_are_sized_too():
    push = "pushers: {p: {between: [post, sled], from: low, to: high, motor: linear 330, supply: 12 V 5 A}}\n"
    size = sized(sled(push + "run: {for: 2 s}", "20 kg"))[0]
    assert size.work.mean_load == pytest.approx(20 * 9.80665, rel=0.02)
    assert "linear 330" in {c.name for c in size.candidates}
    assert "linear 150" not in {c.name for c in size.candidates}
    assert max(len(row) for row in size_text((size,)).splitlines()) <= 80


def test_reports_fit_in_80_columns():
    for rest in (
        LIFT % ("wiper medium low", "12 V 2 A", 2),
        LIFT % ("synchronous 5/6 rpm", "230 V 50 Hz", 2),
    ):
        text = size_text(sized(wheel(rest, "0.3 N*m")))
        assert max(len(row) for row in text.splitlines()) <= 80


CUES = """
motors:
  lift: {joint: hub, motor: wiper medium low}
cues:
  scenes:
    rise:
      when: motion sensor
      at: [1 s, 2 s, 6 s]
      do: [{at: 0 s, on: lift}, {at: 1 s, speed: lift, to: 0.5}, {at: 3 s, off: lift}]
  stop: 8 s
run: {for: 10 s, seed: 5}
"""


def test_cue_sheet_as_csv():
    rig = parse_rig(wheel(CUES))
    text = cue_sheet.cues_csv(script(rig))
    first, rest = text.split("\n", 1)
    assert first == "# Bench; length 10 s; seed 5; stop at 8 s"
    rows = list(csv.DictReader(io.StringIO(rest)))
    assert tuple(rows[0]) == cue_sheet.COLUMNS
    got = [(r["time_s"], r["output"], r["action"], r["value"]) for r in rows]
    assert got == [
        ("1.000", "", "start", ""),
        ("1.000", "lift", "on", ""),
        ("2.000", "", "ignored", ""),
        ("2.000", "lift", "speed", "50"),
        ("4.000", "lift", "off", ""),
        ("6.000", "", "start", ""),
        ("6.000", "lift", "on", ""),
        ("7.000", "lift", "speed", "50"),
        ("8.000", "lift", "off", ""),
        ("8.000", "", "stop", ""),
    ]


def test_tracks_and_duty():
    rig = parse_rig(wheel(CUES))
    (lift,) = cue_sheet.tracks(script(rig))
    # a speed stays until it is changed
    assert lift.bars == ((1.0, 2.0, 1.0), (2.0, 4.0, 0.5), (6.0, 8.0, 0.5))
    assert cue_sheet.duty(script(rig), "lift") == pytest.approx(0.5)


def tone(path, per_second=4.5, rate=16000, length=2.0):
    """A voice whose loudness swells and falls so many times a second."""
    t = np.arange(0, length, 1 / rate)
    loud = 0.8 * np.sin(2 * np.pi * 150 * t) * np.sin(np.pi * per_second * t) ** 2
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, rate, 0, "NONE", ""))
        file.writeframes(b"".join(struct.pack("<h", round(32000 * v)) for v in loud))


JAW = """
motors:
  beak: {joint: hub, motor: %s, supply: 6 V 3 A}
cues:
  scenes: {hoot: {do: [{at: 0.5 s, sound: hoot.wav, jaw: beak, opening: 20 deg}]}}
run: {for: 3 s}
"""


def test_jaw_follows_a_sound_file_and_says_what_is_lost(tmp_path):
    tone(tmp_path / "hoot.wav")
    file = tmp_path / "owl.yaml"
    lost = {}
    for name in (
        "servo standard",
        "{servo: {rated_voltage: 6 V, time_60: 0.8 s, stall_torque: 4 kgf*cm, stall_current: 1 A}}",
    ):
        file.write_text(arm(JAW % name, mass="20 g"))
        rig = load_rig(file)
        (jaw,) = cue_sheet.jaws(script(rig))
        track = simulate(rig, "mujoco", settle=False).track
        moved = float(np.abs(np.diff(track.coordinate[:, 0])).sum())
        wanted = float(np.abs(np.diff(jaw.spoken.command)).sum())
        # the simulated jaw has a load; what it travels is close to what the law says
        assert 1 - moved / wanted == pytest.approx(jaw.spoken.lost, abs=0.12)
        lost[name] = jaw.spoken.lost
    quick, slow = lost.values()
    assert quick < 0.35
    assert slow > 0.6


def test_missing_sound_is_a_fault_of_the_rig(tmp_path):
    file = tmp_path / "owl.yaml"
    file.write_text(arm(JAW % "servo standard"))
    with pytest.raises(Exception, match="sound can't be read"):
        cue_sheet.jaws(script(load_rig(file)))


def test_supply_verdict_without_a_supply_that_does():
    size = sized(wheel(LIFT % ("wiper medium low", "12 V 2 A", 2), "0.5 N*m"))[0]
    none = replace(size.supply, smallest=None)
    assert supplies.verdict(none).endswith("no usual supply does")


def test_supply_warnings():
    for amps, count in ((2, 1), (5, 0)):
        text = wheel(LIFT % ("wiper medium low", f"12 V {amps} A", 2), "0.5 N*m")
        said = simulate(parse_rig(text), "mujoco", settle=False).supply_warnings
        assert len(said) == count
        assert all(s.startswith("lift: the supply, not the motor") for s in said)


def test_remarks():
    pulsed = LIFT % ("wiper", "12 V, pwm: {duty: 0.3, frequency: 100 Hz}", 1)
    said = " ".join(sized(wheel(pulsed))[0].remarks)
    assert "hum low" in said
    assert "heats the winding" in said
    weak = sized(wheel(LIFT % ("wiper medium low", "3.3 V", 2), "2 N*m"))[0]
    assert any("cold grease" in r for r in weak.remarks)
    push = "pushers: {p: {between: [post, sled], from: low, to: high, motor: %s%s}}\nrun: {for: 1 s}"
    locks = sized(sled(push % ("door lock", ", on: [0 s to 0.05 s]"), "0.3 kg"))[0]
    assert any("too short" in r for r in locks.remarks)
    driven = sized(sled(push % ("linear 330", ""), "5 kg"))[0]
    assert any("10 % is allowed" in r for r in driven.remarks)
    air = "{air: {bore: 25 mm, rod: 10 mm, stroke: 100 mm, pressure: 6 bar, cv: 0.5, vented: true}}"
    slammed = sized(sled(push % (air, ""), "5 kg"))[0]
    assert any(r.startswith("slams") for r in slammed.remarks)
    assert any("never hold air in PVC pipe" in r for r in slammed.remarks)


def test_pulses_heat_more():
    drive = "motors: {lift: {joint: hub, motor: wiper medium low, supply: 12 V, pwm: {duty: 0.5, frequency: %s}}}\n"
    rise = {}
    for frequency in ("100 Hz", "25 kHz"):
        rise[frequency] = sized(wheel(drive % frequency + "run: {for: 1 s}", "2 N*m"))[0].heat.evening.winding
    assert rise["100 Hz"] > 1.2 * rise["25 kHz"]


@pytest.mark.parametrize(("motor", "told"), [("wiper", True), ("gearmotor 37 mm", False)])
def test_a_wiper_turned_back_is_told_of_its_live_case(motor, told):
    """One brush of most wiper motors is joined to the case (common practice, no source)."""
    text = f"""
rig: 1
name: Swing
bodies: {{post: {{fixed: true}}, arm: {{parts: [{{lump: 0.1 kg, at: 300 0 0 mm}}]}}}}
joints: {{hub: {{pin: [post, arm], at: 0 0 0 mm, axis: z}}}}
motors: {{turn: {{joint: hub, motor: {motor}, supply: 12 V 10 A}}}}
cues: {{scenes: {{go: {{do: [{{at: 0 s, forward: turn}}, {{at: 0.5 s, WAY: turn}}]}}}}}}
run: {{for: 1 s, gravity: 0 m/s^2}}
"""
    back = simulate(parse_rig(text.replace("WAY", "backward")), settle=False)
    said = " ".join(r for size in back.sizes() for r in size.remarks)
    assert ("insulate it" in said) == told
    once = simulate(parse_rig(text.replace("WAY", "off")), settle=False)
    assert not any("insulate it" in r for size in once.sizes() for r in size.remarks)
