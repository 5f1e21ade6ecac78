"""Rigs with one example of every kind there is, as `simprop.rig.examples` has them; each is named by its kind.

A new kind adds its line there; `test_walk.py` then takes it through every room.
"""

from __future__ import annotations

import struct
import wave
from collections.abc import Sequence
from pathlib import Path

from simprop.rig.examples import EXAMPLES, example

SHELF = "{block: 1000 x 400 x 20 mm, of: pine, at: 0 0 990 mm, name: shelf}"
ARM = "{{parts: [{{bar: 20 x 10 mm, of: steel, mass: 1 kg, thin: y, from: {x} 0 400 mm, to: {x} 0 200 mm}}]}}"
WEIGHT = "{{parts: [{{lump: 1 kg, at: {x} 0 300 mm, inertia: 0.002 0.002 0.002 kg*m^2}}]}}"

# A hanging arm of 1 kg under each joint.
JOINTS = EXAMPLES["joint"]

# Each with its mass in kg: densities 7850 (steel), 1400 (PVC) and 500 (pine) kg/m^3 of the catalogue, volumes by hand.
# Pipe: 1/2 in, outside 21.336 mm, average wall 2.769 + 0.254 mm. Tube: the same between its corners, 300 mm.
MASSES = {
    "pipe": 0.048697,
    "tube": 0.266344,
    # 1/2 in, along 100 + 200 mm with a quarter circle of 60 mm for the 60 mm before and behind the corner
    "bent_pipe": 0.066768,
    # depth 40 mm, so that the middle line lies on 130 mm, over 80 deg; of the pipe on 150 mm less half of 21.336
    "rail": 0.048791,
    "pipe_rail": 0.047364,
    # 1/2 in, three times pi/4 (0.8905^2 - 0.618^2) x 0.5 and pi/4 (1.066^2 - 0.848^2) x 0.688 in^3
    "fitting": 0.026628,
    "rod": 0.177562,
    "bar": 0.157,
    # 30 x 20 x 2 mm, outside corners of 4 mm and inside ones of 2 mm: (600 - 416 - 12 (4 - pi)) mm^2
    "square_tube": 0.272708,
    "angle": 0.19782,
    "channel": 0.34854,
    "profile": 0.092922,
    "threaded_rod": 0.06371,
    # 100 x 100 mm less a hole of 20 mm, 6 mm of plywood of 560 kg/m^3
    "sheet": 0.032544,
    "block": 0.785,
    "disc": 0.616538,
    "ball": 4.110251,
    "slender": 0.3,
    "lump": 0.4,
    "mesh": 0.0628,
}
PARTS = {kind: (EXAMPLES["part"][kind], mass) for kind, mass in MASSES.items()}

DC = "{rated_voltage: 12 V, no_load_speed: 60 rpm, stall_torque: 8 N*m, stall_current: 8 A, no_load_current: 1 A}"
SERVO = "{rated_voltage: 6 V, time_60: 0.2 s, stall_torque: 2 N*m, stall_current: 2 A}"
# Each on the pin of a hanging arm.
MOTORS = {kind: example("motor", kind) for kind in EXAMPLES["motor"]}

# Each beside a weight on an upright slide.
PUSHERS = {kind: example("pusher", kind) for kind in EXAMPLES["pusher"]}

# Each between the shelf at 980 mm and a weight at 300 mm on an upright slide, with the force in N that it starts with
# (positive pulls the weight up), by hand from its figures.
SPRINGS_START = {"extension": 10.0, "compression": -5.0, "two_way": 8.0, "torsion": 1.0}
SPRINGS = {kind: (EXAMPLES["spring"][kind], force) for kind, force in SPRINGS_START.items()}
PULLS_START = {"gas_spring": -50.0, "constant_force": 8.0, "counterweight": 9.80665, "rope": 12.0}
PULLS = {kind: (EXAMPLES["pull"][kind], force) for kind, force in PULLS_START.items()}

# A weight that leans on its stop from the start.
STOPS = {kind: example("stop", kind) for kind in EXAMPLES["stop"]}

# Each under a weight on an upright slide, touching the floor from the start.
CONTACTS = EXAMPLES["contact"]

# Each at the fixed joint of a lamp on an arm; the words of the check that it must bring.
SAID = {
    "bolt": "M6",
    "screw": "#10 wood",
    "sheet_screw": "#8 sheet",
    "socket": "glued socket",
    "toggle": "toggle",
    "clamp": "hose clamp",
    "set_screw": "set screw",
    "roll_pin": "roll pin",
    "rivet": "3/16",
    "rod_end": "rod end",
    "weld": "weld",
    "glue": "glue",
}
FASTENERS = {kind: (example("way of holding", kind), words) for kind, words in SAID.items()}

CUES = {kind: example("cue", kind) for kind in EXAMPLES["cue"]}


def rig(
    name: str,
    bodies: list[str],
    sections: dict[str, list[str]],
    seconds: float = 0.08,
    post: Sequence[str] = (),
) -> str:
    """The text of a rig: a fixed shelf and more parts of the post, some bodies, the lines of some sections."""
    lines = [
        "rig: 1", f"name: {name}", f"run: {{for: {seconds} s, step: 1 ms, gravity: 9.80665 m/s^2}}",
        "bodies:", f"  post: {{fixed: true, parts: [{', '.join([SHELF, *post])}]}}", *(f"  {b}" for b in bodies),
    ]  # fmt: skip
    for section, rows in sections.items():
        lines += [f"{section}:", *(f"  {row}" for row in rows)]
    return "\n".join(lines) + "\n"


def _spread(names: list[str]) -> dict[str, int]:
    return {name: 200 * k - 100 * len(names) for k, name in enumerate(names)}


def _hung(kind: str, body: str, joint: str, names: list[str]) -> tuple[list[str], list[str]]:
    """A body under a joint of one kind for each name."""
    places = _spread(names)
    bodies = [f"{n}: {body.format(x=x)}" for n, x in places.items()]
    return bodies, [f"{n}: {{{kind}: [post, {n}], at: {x} 0 400 mm{joint}}}" for n, x in places.items()]


def _of_joints() -> str:
    places = _spread(list(JOINTS))
    bodies = [f"{n}: {ARM.format(x=x)}" for n, x in places.items()]
    return rig("joints", bodies, {"joints": [f"{n}: {JOINTS[n].format(x=x)}" for n, x in places.items()]})


def _of_parts() -> str:
    places = _spread(list(PARTS))
    bodies = [f"{n}: {{parts: [{PARTS[n][0].format(x=x)}]}}" for n, x in places.items()]
    joints = [f"{n}: {{fixed: [post, {n}], at: {x} 0 400 mm}}" for n, x in places.items()]
    return rig("parts", bodies, {"joints": joints})


def _of_motors() -> str:
    bodies, joints = _hung("pin", ARM, ", axis: y", list(MOTORS))
    motors = [f"{n}: {text}" for n, text in MOTORS.items()]
    scene = "  show: {do: [{at: 0 s, pose: servo, to: 20 deg}]}"
    return rig("motors", bodies, {"joints": joints, "motors": motors, "cues": ["scenes:", scene]})


def _of_pushers() -> str:
    bodies, joints = _hung("slider", WEIGHT, ", along: z", list(PUSHERS))
    pushers = [
        f"{n}: {{between: [post, {n}], from: {x} 0 980 mm, to: {x} 0 300 mm, {PUSHERS[n]}}}"
        for n, x in _spread(list(PUSHERS)).items()
    ]
    return rig("pushers", bodies, {"joints": joints, "pushers": pushers})


def _of_lines(section: str, table: dict[str, tuple[str, float]]) -> str:
    places = _spread(list(table))
    bodies = [f"{n}: {WEIGHT.format(x=x)}" for n, x in places.items()]
    joints, rows = [], []
    for name, x in places.items():
        turning = "{ends}" not in table[name][0]
        how = "pin" if turning else "slider"
        way = "axis: y" if turning else "along: z"
        joints.append(f"{name}: {{{how}: [post, {name}], at: {x} 0 400 mm, {way}}}")
        ends = f"from: {x} 0 980 mm, to: {x} 0 300 mm"
        rows.append(f"{name}: {table[name][0].format(ends=ends)}")
    return rig(section, bodies, {"joints": joints, section: rows})


def _of_stops() -> str:
    bodies, joints = [f"slide_stop: {WEIGHT.format(x=300)}"], []
    joints.append("slide_stop: {slider: [post, slide_stop], at: 300 0 400 mm, along: z}")
    for y, name in enumerate(n for n in STOPS if n != "slide_stop"):
        lump = f"{{lump: 1 kg, at: 100 {50 * y} 400 mm, inertia: 0.002 0.002 0.002 kg*m^2}}"
        bodies.append(f"{name}: {{parts: [{lump}]}}")
        joints.append(f"{name}: {{pin: [post, {name}], at: 0 {50 * y} 400 mm, axis: y}}")
    return rig("stops", bodies, {"joints": joints, "stops": [f"{n}: {t}" for n, t in STOPS.items()]})


def _of_contacts() -> str:
    bodies, joints = _hung("slider", WEIGHT, ", along: z", list(CONTACTS))
    rows = [f"{n}: {CONTACTS[n].format(x=x)}" for n, x in _spread(list(CONTACTS)).items()]
    return rig("contacts", bodies, {"joints": joints, "contacts": rows})


def _of_fasteners() -> str:
    bodies, joints, post = [], [], []
    for name, x in _spread(list(FASTENERS)).items():
        post.append(f"{{bar: 60 x 3 mm, of: aluminium, thin: y, from: {x} 0 500 mm, to: {x} 0 700 mm}}")
        bodies.append(
            f"{name}: {{parts: [{{pipe: 3/4 in PVC, from: {x} 0 600 mm, to: {x} 300 600 mm}},"
            f" {{lump: 0.3 kg, at: {x} 300 600 mm}}]}}"
        )
        held = FASTENERS[name][0]
        joints.append(f"{name}: {{fixed: [post, {name}], at: {x} 0 600 mm, held_by: {held}}}")
    return rig("fasteners", bodies, {"joints": joints}, 0.04, post)


def _of_cues() -> str:
    bodies, joints = _hung("pin", ARM, ", axis: y", ["drive", "turner", "jaw"])
    motors = [
        f"drive: {{joint: drive, motor: {{dc: {DC}}}, supply: 12 V 5 A}}",
        f"turner: {{joint: turner, motor: {{servo: {SERVO}}}, supply: 6 V 5 A}}",
        f"jaw: {{joint: jaw, motor: {{servo: {SERVO}}}, supply: 6 V 5 A}}",
    ]
    scene = f"  show: {{do: [{', '.join(CUES.values())}]}}"
    return rig("cues", bodies, {"joints": joints, "motors": motors, "cues": ["scenes:", scene]})


RIGS = {
    "joint": _of_joints,
    "part": _of_parts,
    "motor": _of_motors,
    "pusher": _of_pushers,
    "spring": lambda: _of_lines("springs", SPRINGS),
    "pull": lambda: _of_lines("pulls", PULLS),
    "stop": _of_stops,
    "contact": _of_contacts,
    "way of holding": _of_fasteners,
    "cue": _of_cues,
}
"""Sort of kind to the rig with one of each."""


def write_rig(sort: str, folder: Path) -> Path:
    """The rig of a sort as a file, with the files that it names beside it."""
    (folder / "cube.stl").write_bytes(_cube(20.0))
    with wave.open(str(folder / "beep.wav"), "wb") as sound:
        sound.setnchannels(1)
        sound.setsampwidth(2)
        sound.setframerate(8000)
        sound.writeframes(b"".join(struct.pack("<h", 20000 * (-1) ** (k // 10)) for k in range(400)))
    path = folder / f"{sort.replace(' ', '_')}.yaml"
    path.write_text(RIGS[sort]())
    return path


def _cube(side: float) -> bytes:
    """A cube centred at zero as binary STL, mm: twelve triangles, seen from outside anticlockwise."""
    corners = [[side * ((k >> i & 1) - 0.5) for i in range(3)] for k in range(8)]
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    rows = b"".join(
        struct.pack("<12fH", 0.0, 0.0, 0.0, *corners[a], *corners[b], *corners[c], 0)
        for q in quads
        for a, b, c in ((q[0], q[1], q[2]), (q[0], q[2], q[3]))
    )
    return b"\0" * 80 + struct.pack("<I", 12) + rows
