"""The hardware list holds what the joints hold; bolts cover what they go through."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from math import ceil
from pathlib import Path

import numpy as np
import pytest
from pydantic import TypeAdapter

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.catalog.bolts import bolt_length, bolt_sizes
from simprop.catalog.bought import Bought, Grip
from simprop.catalog.load import table
from simprop.couplings.base import Side
from simprop.couplings.kinds import Coupling
from simprop.fasteners.base import Fastener
from simprop.fasteners.bolt import Bolt
from simprop.fasteners.bolt_buying import stack
from simprop.making.grips import grip_of
from simprop.making.hardware import hardware, summed
from simprop.making.numbers import part_numbers
from simprop.making.stacks import fixings
from simprop.making.wiring import Wiring, wiring
from simprop.report.hardware_list import bought
from simprop.report.structure import Report
from simprop.report.writers import markdown
from simprop.rig.load import load_rig, parse_rig
from simprop.rig.mounting import build_of
from tests.kinds import examples
from tests.making.shipped import NAMES, RIGS, ran

UNWIRED = Wiring((), (), (), None)
# Greatest thickness of plain washers (ISO 7089; ASME B18.21.1 from memory), greatest height of nylon-insert nuts
# (ASME B18.16.3M top insert, B18.16.6, IFI 100/107), of plain nuts (ISO 4032; B18.2.2, B18.6.3 from memory), and
# pitches (ISO 261, ASME B1.1), all in mm.
WASHER = {"M3": 0.55, "M4": 0.9, "M5": 1.1, "M6": 1.8, "M8": 1.8, "M10": 2.2}
WASHER |= {"8-32": 1.016, "10-24": 1.651, "1/4-20": 2.032, "5/16-18": 2.032, "3/8-16": 2.032}
INSERT = {"M3": 4.5, "M4": 6.0, "M5": 6.8, "M6": 8.0, "M8": 9.5, "M10": 11.9}
INSERT |= {"8-32": 6.071, "10-24": 6.325, "1/4-20": 8.331, "5/16-18": 9.119, "3/8-16": 11.887}
PLAIN = {"M3": 2.4, "M4": 3.2, "M5": 4.7, "M6": 5.2, "M8": 6.8, "M10": 8.4}
PLAIN |= {"8-32": 3.302, "10-24": 3.302, "1/4-20": 5.740, "5/16-18": 6.934, "3/8-16": 8.560}
PITCH = {"M3": 0.5, "M4": 0.7, "M5": 0.8, "M6": 1.0, "M8": 1.25, "M10": 1.5}
PITCH |= {"8-32": 25.4 / 32, "10-24": 25.4 / 24, "1/4-20": 1.27, "5/16-18": 25.4 / 18, "3/8-16": 25.4 / 16}


@pytest.fixture(scope="module", params=NAMES)
def assembly(request: pytest.FixtureRequest) -> Assembly:
    return assemble(load_rig(RIGS / f"{request.param}.yaml"))


def holds(assembly: Assembly) -> Iterator[Fastener | None]:
    """What holds each joint, end and motor, straight from the rig."""
    rig = assembly.rig
    for joint in rig.joints.values():
        if joint.held_by is not None or joint.needs_fastener:
            yield joint.held_by
    for ended in (*rig.springs.values(), *rig.pushers.values(), *rig.pulls.values()):
        yield from ended.ends if getattr(ended, "between", None) else ()
    for cord in rig.cords.values():
        yield from (None, None) if cord.held_by is None else (cord.held_by.first, cord.held_by.second)
    for motor in rig.motors.values():
        build = build_of(motor)
        if motor.mount is not None and build is not None:
            yield motor.mount.hold(build)


def total(items: tuple[Bought, ...], words: str) -> int:
    return sum(item.count for item in items if re.search(words, item.what))


def test_counts_equal_what_the_joints_hold(assembly: Assembly) -> None:
    found = hardware(assembly, UNWIRED).items
    held = [hold for hold in holds(assembly) if hold is not None]
    count = Counter[str]()
    for hold in held:
        count[hold.kind] += hold.count
    assert total(found, "hexagon bolt|machine screw") == count["bolt"]
    bolts = [hold for hold in held if isinstance(hold, Bolt)]
    assert total(found, "nut ") == sum(b.count * (2 if b.nut == "double" else 1) for b in bolts)
    assert total(found, "plain washer") >= 2 * count["bolt"]
    assert total(found, "sleeve") == sum(b.count for b in bolts if b.sleeve)
    assert total(found, "^set screw") == count["set_screw"]
    assert total(found, "hub or collar") == sum(
        hold.kind == "set_screw" or hasattr(hold, "shaft") for hold in held
    )
    assert total(found, "spring pin") == count["roll_pin"]
    assert total(found, "rod end|ball link") == count["rod_end"]
    assert total(found, "wood screw|lag screw|drywall") == count["screw"]
    assert total(found, "fillet weld") == count["weld"]
    rig = assembly.rig
    springs = ("extension", "compression", "two way", "torsion")
    assert total(found, f"^({'|'.join(springs)}) spring") == len(rig.springs)
    assert total(found, "^gas spring|^counterweight|constant-force") == len(rig.pulls)
    assert total(found, "belt, pitch|roller chain|^worm,|^rack") == len(rig.couplings)


def test_what_is_not_stated_is_said(assembly: Assembly) -> None:
    """Each place that nothing holds is named, once; nothing is bought for it."""
    found = hardware(assembly, UNWIRED)
    bare = [f.what for f in fixings(assembly) if f.hold is None]
    motors = [f"motor {n}" for n, m in assembly.rig.motors.items() if m.mount is None and m.figures.sized]
    assert list(found.open) == [*bare, *motors]
    places = ", ".join(item.where for item in found.items)
    for joint in assembly.rig.joints:
        held = assembly.rig.joints[joint].held_by is not None
        assert bool(re.search(rf"joint {joint}\b", places)) == held, joint


def millimetres(what: str) -> float | None:
    """The length of a bolt by its name."""
    found = re.search(r" x (\S+) (mm|in)", what)
    if found is None:
        return None
    if found[2] == "mm":
        return float(found[1])
    parts = [a / b for a, b in ((*map(float, p.split("/")), 1.0)[:2] for p in found[1].split("-"))]
    return 25.4 * sum(parts)


def test_bolts_cover_their_stack_with_threads_to_spare(assembly: Assembly) -> None:
    numbers = part_numbers(assembly)
    for fixing in fixings(assembly):
        hold = fixing.hold
        if not isinstance(hold, Bolt):
            continue
        grip, size = grip_of(assembly, numbers, fixing), bolt_sizes(hold.size).name
        items = hold.bought(grip)
        length, washers = millimetres(items[0].what), total(items, "washer")
        if length is None:
            assert "not told" in items[0].what
            assert grip.unknown or "nothing so long" in items[0].note
            continue
        spacers = sum(
            float(re.search(r"([\d.]+) mm long", i.what)[1]) for i in items if i.what.startswith("spacer")
        )  # type: ignore[index]
        clamped = 1e3 * sum(grip.thick) + WASHER[size] * washers / hold.count + spacers
        nut = {"nylon insert": INSERT, "plain": PLAIN}[hold.nut or "nylon insert"][size]
        out = length - clamped - nut
        assert out >= 1.5 * PITCH[size] - 0.01, fixing.what
        steps = (
            26.0 if length > 150 else 13.0
        )  # no longer than it must be: a step of the lengths that are sold
        assert out < 1.5 * PITCH[size] + steps, fixing.what


STACK = """
rig: 1
name: Stack
bodies:
  post:
    fixed: true
    parts:
      - {bar: 40 x 18 mm, of: pine, from: 0 20 0 mm, to: 0 20 400 mm, thin: y}
      - {block: 60 x 9 x 60 mm, of: plywood, at: 0 33.5 300 mm}
  arm: {parts: [{pipe: 1/2 in PVC, from: 0 0 300 mm, to: 300 0 300 mm}]}
  strut: {parts: [{bar: 20 x 3 mm, of: steel, from: 300 0 300 mm, to: 300 0 100 mm, thin: y}]}
  foot: {parts: [{rod: 10 mm, of: steel, from: 300 0 100 mm, to: 500 0 100 mm}]}
joints:
  pivot: {pin: [post, arm], at: 0 0 300 mm, axis: y, held_by: {bolt: M6, nut: NUT}}
  knee: {pin: [arm, strut], at: 300 0 300 mm, axis: y, held_by: {bolt: 1/4-20, nut: nylon insert, shear: double}}
  hinge: {pin: [strut, foot], at: 300 0 100 mm, axis: y}
run: {for: 1 s}
"""


@pytest.mark.parametrize(("nut", "length"), [("nylon insert", 65.0), ("double", 70.0), ("plain", 65.0)])
def test_stacks_by_hand(nut: str, length: float) -> None:
    """Post: 18 + 9 mm of wood one behind the other; pipe 0.840 in; drawn 0.33 mm apart, so one washer of 1.8 between.

    M6: 27 + 21.34 + 3 x 1.8 = 53.74; with a lock nut (8.0) and 1.5 threads 63.24, two plain nuts 65.64, one 60.44.
    """
    assembly = assemble(parse_rig(STACK.replace("NUT", nut)))
    numbers, places = part_numbers(assembly), {f.name: f for f in fixings(assembly)}
    pivot = grip_of(assembly, numbers, places["pivot"])
    assert 1e3 * np.array(pivot.thick) == pytest.approx([27.0, 21.336], abs=1e-3)
    assert 1e3 * np.array(pivot.apart) == pytest.approx([0.332], abs=1e-3)
    hold = places["pivot"].hold
    assert isinstance(hold, Bolt)
    assert 1e3 * (stack(hold, pivot) or 0.0) == pytest.approx(53.736, abs=1e-3)
    assert millimetres(hold.bought(pivot)[0].what) == length
    # In double shear with the fork not drawn: the 3 mm strut once more, on the other side.
    knee = grip_of(assembly, numbers, places["knee"])
    assert 1e3 * np.array(knee.thick) == pytest.approx([3.0, 21.336, 3.0], abs=1e-3)
    assert "isn't drawn" in knee.assumed
    assert hardware(assembly, UNWIRED).open == ("joint hinge",)


def test_lengths_are_the_least_that_do() -> None:
    """M6 through 20 mm: 20 + 8.0 + 1.5 = 29.5 -> 30; 20.6 -> 35. 1/4-20: 0.8 + 0.328 + 0.075 = 1.203 -> 1-1/4 in."""
    m6, quarter = bolt_sizes("M6"), bolt_sizes("1/4-20")
    assert bolt_length(m6, 0.020, "nylon insert") == pytest.approx(0.030)
    assert bolt_length(m6, 0.0206, "nylon insert") == pytest.approx(0.035)
    assert bolt_length(quarter, 0.8 * 0.0254, "nylon insert") == pytest.approx(1.25 * 0.0254)
    assert bolt_length(m6, 0.3, "plain") is None
    for name in WASHER:
        sizes = bolt_sizes(name)
        own = (sizes.washer, sizes.insert, sizes.plain, sizes.pitch)
        assert 1e3 * np.array(own) == pytest.approx(
            [t[name] for t in (WASHER, INSERT, PLAIN, PITCH)], abs=2e-3
        )
        assert list(sizes.lengths) == sorted(sizes.lengths)
    assert set(WASHER) == {n for n, row in table("fasteners").items() if row["sort"] == "bolt"}


def test_gaps_take_washers_or_a_spacer() -> None:
    hold = Bolt.model_validate({"bolt": "M6", "nut": "nylon insert"})
    close = hold.bought(Grip((0.01, 0.01), (0.001,), moving=True))
    wide = hold.bought(Grip((0.01, 0.01), (0.010,), moving=True))
    still = hold.bought(Grip((0.01, 0.01), (0.0,)))
    assert [total(row, "washer") for row in (close, wide, still)] == [3, 4, 2]
    assert [i.what for i in wide if "spacer" in i.what] == ["spacer for M6, 6.4 mm long"]
    assert [millimetres(row[0].what) for row in (close, wide, still)] == [35.0, 45.0, 35.0]


@pytest.mark.parametrize("kind", examples.FASTENERS)
def test_every_way_of_holding_is_bought(kind: str, tmp_path: Path) -> None:
    assembly = assemble(load_rig(examples.write_rig("way of holding", tmp_path)))
    items = [item for item in hardware(assembly, UNWIRED).items if re.search(rf"joint {kind}\b", item.where)]
    assert items or kind == "socket"
    assert all(item.count >= 1 and item.what for item in items)


@pytest.mark.parametrize("sort", ["spring", "pull", "stop"])
def test_every_kind_that_acts_is_bought(sort: str, tmp_path: Path) -> None:
    assembly = assemble(load_rig(examples.write_rig(sort, tmp_path)))
    places = ", ".join(item.where for item in hardware(assembly, UNWIRED).items)
    for name in examples.EXAMPLES[sort]:
        assert re.search(rf"{sort} {name}\b", places), name


def test_fittings_wheels_and_their_names() -> None:
    rig = parse_rig("""
rig: 1
name: Cart
bodies:
  frame:
    fixed: true
    parts:
      - {pipe: 1/2 in PVC, from: 0 0 0 mm, to: 600 0 0 mm}
      - {pipe: 1/2 in PVC, from: 300 0 0 mm, to: 300 0 400 mm}
      - {fitting: tee, at: 300 0 0 mm}
      - {fitting: cap, at: 300 0 400 mm}
  board: {parts: [{block: 100 x 100 x 10 mm, of: plywood, at: 0 0 200 mm}]}
joints: {rise: {slider: [frame, board], at: 0 0 200 mm, along: z}}
contacts: {roller: {arc: board, centre: 0 0 50 mm, radius: 25 mm, axis: y, friction: 0.5, of: rubber}}
run: {for: 1 s}
""")
    items = hardware(assemble(rig), UNWIRED).items
    assert [(i.what, i.count) for i in items] == [
        ("tee for 1/2 in PVC pipe", 1),
        ("cap for 1/2 in PVC pipe", 1),
        ("wheel or castor, 50 mm across, of rubber", 1),
    ]


def test_drives_fuses_and_wire() -> None:
    run = ran("night_watch")
    plan = wiring(run)
    found = hardware(run.assembly, plan).items
    assert total(found, "wiper medium low") == 1
    (circuit,) = plan.circuits
    assert total(found, rf"fuse {circuit.fuse:g} A") == 1
    assert total(found, f"cable, {circuit.gauge} AWG") == 1
    assert total(found, "supply 12 V 5 A") == 1
    assert total(found, "toothed pulley, 20 teeth, pitch 5 mm") == 2
    # 24 in each row round 2 pi r less what is open, by the rig: 16 of hair, 8 and 8 of straw at the shins.
    assert total(found, "straw, strips") == 32


def test_belts_by_a_closed_form() -> None:
    """Two equal pulleys: 2 C + pi d = 2 C + n p, so 2 C / p + n teeth; C = 120 mm, p = 5 mm, n = 20 give 68."""
    run = ran("night_watch")
    (belt,) = run.assembly.couplings
    far = float(np.linalg.norm((belt.sides[0].point - belt.sides[1].point)[[0, 2]]))
    (item,) = [i for i in hardware(run.assembly, UNWIRED).items if "belt" in i.what]
    assert int(re.search(r"(\d+) teeth", item.what)[1]) == round(2 * far / 0.005 + 20)  # type: ignore[index]


def test_sums_and_spares() -> None:
    rows = [
        Bought("bolts", "b", 2, "x"),
        Bought("stops", "s", 5, "y", wears="it wears"),
        Bought("bolts", "b", 1, "x"),
    ]
    one, two = summed(rows)
    assert (one.what, one.count, one.where, one.spares) == ("b", 3, "x x 3", 0)
    assert two.spares == ceil(5 / 4)


def test_the_page_reads() -> None:
    section = bought(ran("cellar_lid"))
    assert section is not None
    text = markdown(Report("", [section]))
    for words in (
        "hexagon bolt M6 x 40 mm, class 8.8",
        "| 5 |",
        "length not told",
        "counterweight, 4 kg",
        "Not stated",
    ):
        assert words in text, words


def sides(far: float) -> tuple[Side, Side]:
    """Two shafts along z, so far apart."""
    one, two, way = np.zeros(3), np.array([far, 0.0, 0.0]), np.array([0.0, 0.0, 1.0])
    return Side("one", "turn", one, way), Side("two", "turn", two, way)


@pytest.mark.parametrize(
    ("text", "far", "words"),
    [
        # module 2 C / (n1 + n2); a ring 2 C / (n2 - n1)
        ({"gears": ["a", "b"], "teeth": [20, 40]}, 0.09, ["20 teeth, module 3 mm", "40 teeth, module 3 mm"]),
        ({"gears": ["a", "b"], "teeth": [20, 60], "inside": True}, 0.04, ["spur gear, 20", "ring gear, 60"]),
        # 2 x 250 / 12.7 + 15 + (10 / 2 pi)^2 12.7 / 250 = 54.5 pitches, an even number of links
        (
            {"chain": ["a", "b"], "teeth": [10, 20], "pitch": "12.7 mm"},
            0.25,
            ["10 teeth", "20 teeth", "56 links"],
        ),
        # 600 + pi / 2 x 150 + 50^2 / 1200 = 837.7 mm
        (
            {"belt": ["a", "b"], "diameters": ["50 mm", "100 mm"], "tension": "20 N"},
            0.3,
            ["50 mm", "100 mm", "838 mm"],
        ),
        ({"friction_wheel": ["a", "b"], "diameter": "50 mm", "press": "20 N"}, 0.1, ["50 mm", "150 mm"]),
        (
            {"toothed_belt": ["a", "b"], "teeth": [20, 20], "pitch": "5 mm"},
            0.12,
            ["20 teeth", "20 teeth", "68 teeth"],
        ),
    ],
)
def test_couplings_are_bought_by_their_sizes(text: dict[str, object], far: float, words: list[str]) -> None:
    kind = next(iter(text))
    coupling = TypeAdapter(Coupling).validate_python(text)
    assert coupling.kind == kind
    items = coupling.bought(*sides(far))
    assert len(items) == len(words)
    for item, word in zip(items, words, strict=True):
        assert word in item.what
