"""The wiring of the rigs that come along: all that is driven is on it once, with the currents of the run."""

import xml.etree.ElementTree as ET
from itertools import combinations

import numpy as np
import pytest
from matplotlib.font_manager import findfont
from PIL import ImageFont

from simprop.laws.supply import CORD_CURRENT
from simprop.making.wiring import Wiring, wiring
from simprop.picture.chart.wiring import LICENSED, sketch
from simprop.report.structure import Report
from simprop.report.wiring import wires
from simprop.report.writers import markdown
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.making.shipped import NAMES, ran

# Largest overcurrent device of small conductors, A, by gauge: NEC 240.4(D)(3) to (7) for copper (18 and 16 AWG under
# the conditions named there). What is thinner is common practice, no source: 5, 3, 2 A for 20, 22, 24 AWG.
NEC = {18: 7.0, 16: 10.0, 14: 15.0, 12: 20.0, 10: 30.0, 20: 5.0, 22: 3.0, 24: 2.0}
LETTERS = ImageFont.truetype(findfont("DejaVu Sans"), 100)  # wider than most


def plan(name: str) -> Wiring:
    return wiring(ran(name))


def feeds(found: Wiring) -> list:
    return [f for c in found.circuits for f in c.feeds] + [f for line in found.air for f in line.feeds]


@pytest.mark.parametrize("name", NAMES)
def test_all_that_is_driven_is_fed_once_with_the_currents_of_the_run(name):
    run, found = ran(name), plan(name)
    wired = [f.name for f in feeds(found)] + [who for who, _ in found.by_hand]
    assert sorted(wired) == sorted([*run.rig.motors, *run.rig.pushers])
    for feed in feeds(found):
        (rows,) = [d for d in run.loads.driven if d.name == feed.name]
        current = np.abs(rows.seen.current)
        if not np.isfinite(current).all():
            assert feed.peak is None
        elif (rows.on > 0).any():
            assert feed.peak == pytest.approx(float(current.max()))
            assert 0 <= feed.running <= feed.peak * (1 + 1e-9)
    shared = {d.supply.shared for d in (*run.rig.motors.values(), *run.rig.pushers.values()) if d.supply}
    assert set(run.rig.supplies) | (shared - {None}) <= {c.name for c in found.circuits}
    assert len({c.name for c in found.circuits}) == len(found.circuits)


@pytest.mark.parametrize("name", NAMES)
def test_fuses_carry_the_running_current_and_protect_the_wire(name):
    for circuit in plan(name).circuits:
        assert circuit.mains or circuit.frequency is None
        if circuit.mains:
            assert circuit.fuse is None  # a licensed person's
            continue
        rows = [d for d in ran(name).loads.driven if d.name in {f.name for f in circuit.feeds}]
        total = sum(d.current * d.share for d in rows)
        assert circuit.peak == pytest.approx(float(total.max()))
        assert circuit.fuse >= 1.25 * circuit.running
        assert (circuit.running > 0) == any((d.on > 0).any() for d in rows)
        assert circuit.fuse <= NEC[circuit.gauge]
        assert circuit.running <= CORD_CURRENT.get(circuit.gauge, circuit.fuse)


def test_a_thin_wire_is_told_and_replaced():
    (circuit,) = plan("twitch_crow").circuits
    assert (circuit.too_thin, circuit.gauge, circuit.fuse) == (18, 16, 7.5)


def test_length_of_the_wire_by_a_table_of_conductors():
    """18 AWG stranded copper: 26.1 ohm/km at 75 degC (NEC chapter 9 table 8: 7.95 ohm/kFT), there and back."""
    run = ran("wall_peeper")
    (circuit,) = wiring(run).circuits
    (use,) = run.supplies
    assert circuit.gauge == 18
    assert circuit.longest == pytest.approx(0.05 * 12 / (2 * 26.1e-3 * use.needed), rel=0.01)


@pytest.mark.parametrize(
    ("name", "through"),
    [
        ("wall_peeper", {"drive": ""}),
        ("well_ghost", {"drive": "reversing switch"}),
        ("cider_press", {"turn": "motor driver with pulses", "ram": "valve"}),
        ("three_head", {"turns": "", "nods": "", "cocks": ""}),
        ("twitch_crow", {"kick": "switch"}),
    ],
)
def test_what_stands_before_a_drive(name, through):
    # the first cues come late in some: a whole run
    run = ran(name, 13 if name == "well_ghost" else 4)
    assert {f.name: f.stage for f in feeds(wiring(run))} == through


def test_controller_by_hand_and_air():
    crow, owl, hoist = plan("twitch_crow"), plan("barn_owl"), plan("cask_hoist")
    assert owl.controller.triggers == ("motion sensor",)
    assert (owl.controller.outputs, owl.controller.sound) == (("turn", "mouth"), True)
    assert (crow.controller.triggers, crow.controller.outputs) == ((), ("kick",))
    assert hoist.controller is None
    assert [who for who, _ in hoist.by_hand] == ["hand"]
    assert [line.pressure for line in plan("air_popup").air] == [4e5]


def laid(drawn: bytes) -> list[tuple[str, float, float, float, str]]:
    """What stands on a sketch: text, x of its anchor and y of its middle, size, anchor; all in points."""
    found = []
    for node in ET.fromstring(drawn).iter("{http://www.w3.org/2000/svg}text"):
        (span,) = node
        assert node.get("dominant-baseline") == "central"
        middle = float(node.get("y")) + float(span.get("dy"))
        size = float(node.get("font-size"))
        found.append(("".join(span.itertext()), float(span.get("x")), middle, size, node.get("text-anchor")))
    return found


def boxes_of(found) -> list[tuple[str, float, float, float, float]]:
    """Text, left, top, right and bottom of each, in points."""
    boxes = []
    for text, x, y, size, anchor in found:
        wide = LETTERS.getlength(text) * size / 100
        x -= {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        boxes.append((text, x, y - size / 2, x + wide, y + size / 2))
    return boxes


def apart(found) -> None:
    """No label lies over another."""
    for a, b in combinations(boxes_of(found), 2):
        assert a[3] < b[1] or b[3] < a[1] or a[4] < b[2] or b[4] < a[2], (a[0], b[0])


@pytest.mark.parametrize("name", NAMES)
def test_the_sketch_names_each_once_and_no_label_lies_over_another(name):
    found, run = plan(name), ran(name)
    joined = laid(sketch(found, run.rig.name))
    words = [t for t, *_ in joined]
    for feed in feeds(found):
        assert sum(w.startswith(f"{feed.name}: ") for w in words) == 1
    for circuit in found.circuits:
        own = [f"{what} {circuit.name}" for what in ("supply", "supply of", "mains of")]
        assert sum(w in own for w in words) == 1
    for k, trigger in enumerate(found.controller.triggers if found.controller else (), 1):
        assert (words.count(trigger), words.count(f"in {k}")) == (1, 1)
    assert words.count(LICENSED) == len(found.circuits)
    apart(joined)
    assert run.rig.name in words[0]
    assert sketch(found, run.rig.name) == sketch(found, run.rig.name)


ODD = """
rig: 1
name: "Odd & <many> $drives$, with a name that is longer than any sheet is wide, as nobody would name a prop of theirs"
bodies:
  post: {fixed: true, parts: [{block: 40 x 40 x 200 mm, of: oak, at: 0 60 0 mm}]}
  a: {parts: [{disc: 80 mm, thick: 10 mm, of: plywood, at: 0 0 0 mm, axis: y}]}
  b: {parts: [{disc: 80 mm, thick: 10 mm, of: plywood, at: 200 0 0 mm, axis: y}]}
  d: {parts: [{block: 20 x 20 x 20 mm, of: oak, at: 0 0 300 mm}]}
joints:
  ja: {pin: [post, a], at: 0 0 0 mm, axis: y}
  jb: {pin: [post, b], at: 200 0 0 mm, axis: y}
  jd: {slider: [post, d], at: 0 0 300 mm, along: z}
supplies:
  "the box of the & long <name> in all": {voltage: 12 V, limit: 20 A}
  spare: {voltage: 5 V}
motors:
  "a motor with quite a long name & <tag> of its own":
    joint: ja
    motor: wiper
    supply: "the box of the & long <name> in all"
  step:
    joint: jb
    motor: {stepper: {holding_torque: 0.4 N*m, rotor_inertia: 5e-6 kg*m^2, rated_voltage: 12 V}}
    supply: "the box of the & long <name> in all"
pushers:
  low:
    between: [post, d]
    from: 0 0 100 mm
    to: 0 0 300 mm
    motor: {air: {bore: 20 mm, stroke: 80 mm, pressure: 4 bar, cv: 0.1}}
  high:
    between: [post, d]
    from: 0 9 100 mm
    to: 0 9 300 mm
    motor: {air: {bore: 20 mm, stroke: 80 mm, pressure: 6 bar, cv: 0.1}}
  more:
    between: [post, d]
    from: 0 -9 100 mm
    to: 0 -9 300 mm
    motor: {air: {bore: 20 mm, stroke: 80 mm, pressure: 6 bar, cv: 0.1}}
cues: {scenes: {one: {when: "a button with a long name & <more>", at: 0.1 s, do: [{at: 0 s, forward: low}]}}}
run: {for: 0.1 s}
"""


def test_what_is_not_known_is_told_and_odd_names_have_room():
    run = simulate(parse_rig(ODD), "mujoco", settle=False)
    found = wiring(run)
    box, spare = found.circuits
    assert [f.why for f in box.feeds] == ["", "its class tells none"]
    assert (spare.feeds, spare.peak, spare.fuse) == ((), None, None)
    assert [(line.pressure, [f.name for f in line.feeds]) for line in found.air] == [
        (4e5, ["low"]),
        (6e5, ["high", "more"]),
    ]
    assert found.controller.outputs == ("step", "low")  # a stepper goes by its driver alone
    text = markdown(Report("", [wires(run)]))
    assert "leave out what isn't known: step (its class tells none)" in text
    drawn = laid(sketch(found, run.rig.name))
    assert "without step" in [text for text, *_ in drawn]
    apart(drawn)
    assert max(right for _, _, _, right, _ in boxes_of(drawn)) < 19.2 * 36  # the sheet's width in points
