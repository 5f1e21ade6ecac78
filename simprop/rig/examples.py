"""One example of each kind, as a line of a rig says it; the page of fields shows them, and the tests run them all.

``{x}`` is a place along x in mm, ``{ends}`` the two ends of what acts between two points.
"""

from __future__ import annotations

from collections.abc import Mapping

EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "joint": {
        "pin": "{{pin: [post, pin], at: {x} 0 400 mm, axis: y}}",
        "slider": "{{slider: [post, slider], at: {x} 0 400 mm, along: x}}",
        "cylindrical": "{{cylindrical: [post, cylindrical], at: {x} 0 400 mm, axis: x}}",
        "ball": "{{ball: [post, ball], at: {x} 0 400 mm}}",
        "fixed": "{{fixed: [post, fixed], at: {x} 0 400 mm}}",
        "universal": "{{universal: [post, universal], at: {x} 0 400 mm, axis: x, other: y}}",
        "pin_in_slot": (
            "{{pin_in_slot: [post, pin_in_slot], at: {x} 0 400 mm, axis: x, from: {x} -5 400 mm, to: {x} "
            "5 400 mm}}"
        ),
        "pipe_bearing": (
            "{{pipe_bearing: [post, pipe_bearing], at: {x} 0 400 mm, axis: x, pipe: 1/2 in PVC, tee: 3/4 "
            "in PVC}}"
        ),
        "stud_in_slot": (
            "{{stud_in_slot: [post, stud_in_slot], at: {x} 0 400 mm, from: {x} -5 400 mm, to: {x} 5 400 "
            "mm, through: x}}"
        ),
    },
    "part": {
        "pipe": "{{pipe: 1/2 in PVC, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "tube": (
            "{{tube: {{outside: 20 mm, wall: 2 mm, of: steel}}, through: [{x} 0 400 mm, {x} 0 200 mm, "
            "{x} 100 200 mm]}}"
        ),
        "bent_pipe": "{{bent_pipe: 1/2 in PVC, through: [{x} 0 400 mm, {x} 0 200 mm, {x} 100 200 mm], radius: 60 mm}}",
        "rail": "{{rail: 40 x 12 mm, of: plywood, centre: {x} 0 400 mm, radius: 150 mm, axis: y, spread: 40 deg}}",
        "pipe_rail": "{{pipe_rail: 1/2 in PVC, centre: {x} 0 400 mm, radius: 150 mm, axis: y, spread: 40 deg}}",
        "fitting": "{{fitting: tee, size: 1/2 in PVC, at: {x} 0 300 mm, ways: [x, -x, z]}}",
        "rod": "{{rod: 12 mm, of: steel, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "bar": "{{bar: 20 x 5 mm, of: steel, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "square_tube": "{{square_tube: 30 x 20 x 2 mm, of: steel, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "angle": "{{angle: 25 x 20 x 3 mm, of: steel, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "channel": "{{channel: 40 x 20 x 3 mm, of: steel, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "profile": "{{profile: 20 mm, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "threaded_rod": "{{threaded_rod: M8, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "sheet": (
            "{{sheet: 6 mm, of: plywood, outline: [{x} 0 400 mm, {x} 0 300 mm, {x} 100 300 mm, {x} 100 "
            "400 mm], holes: [{{at: {x} 50 350 mm, diameter: 20 mm}}]}}"
        ),
        "block": "{{block: 100 x 50 x 20 mm, of: steel, at: {x} 0 300 mm}}",
        "disc": "{{disc: 100 mm, thick: 10 mm, of: steel, at: {x} 0 300 mm, axis: y}}",
        "ball": "{{ball: 100 mm, of: steel, at: {x} 0 300 mm}}",
        "slender": "{{slender: 0.3 kg, from: {x} 0 400 mm, to: {x} 0 200 mm}}",
        "lump": "{{lump: 0.4 kg, at: {x} 0 300 mm}}",
        "mesh": "{{mesh: cube.stl, of: steel, at: {x} 0 300 mm}}",
    },
    "motor": {
        "dc": (
            "{{joint: dc, motor: {{dc: {{rated_voltage: 12 V, no_load_speed: 60 rpm, stall_torque: 8 "
            "N*m, stall_current: 8 A, no_load_current: 1 A}}}}, supply: 12 V 5 A}}"
        ),
        "synchronous": (
            "{{joint: synchronous, motor: {{synchronous: {{speed: 5 rpm, pull_out_torque: 3 N*m, "
            "current: 30 mA}}}}}}"
        ),
        "steady": "{{joint: steady, motor: {{steady: {{torque: 0.4 N*m}}}}}}",
        "given": "{{joint: given, motor: {{given: {{swing: 60 deg, pace: 1 Hz}}}}}}",
        "stepper": (
            "{{joint: stepper, motor: {{stepper: {{holding_torque: 4 N*m, rotor_inertia: 1e-4 kg*m^2, "
            "pace: 20}}}}}}"
        ),
        "servo": (
            "{{joint: servo, motor: {{servo: {{rated_voltage: 6 V, time_60: 0.2 s, stall_torque: 2 N*m, "
            "stall_current: 2 A}}}}, supply: 6 V 5 A}}"
        ),
    },
    "pusher": {
        "linear": (
            "motor: {{linear: {{rated_voltage: 12 V, force: 200 N, no_load_speed: 20 mm/s, idle_current: "
            "0.5 A, full_load_current: 3 A, stroke: 100 mm}}}}, extension: 50 mm, supply: 12 V 5 A"
        ),
        "spindle": (
            "motor: {{spindle: {{rated_voltage: 12 V, spindle_speed: 600 rpm, stall_torque: 0.8 N*m, "
            "idle_current: 0.5 A, stall_current: 8 A, lead: 2 mm, diameter: 10 mm, force: 120 N, stroke: "
            "100 mm}}}}, extension: 50 mm, supply: 12 V 10 A"
        ),
        "lock": (
            "motor: {{lock: {{rated_voltage: 12 V, force: 30 N, stroke: 20 mm, speed: 0.1 m/s, current: "
            "3 A}}}}, extension: 10 mm, supply: 12 V 5 A"
        ),
        "solenoid": (
            "motor: {{solenoid: {{rated_voltage: 12 V, current: 2 A, table: [0 mm 20 N, 10 mm 5 N]}}}}, "
            "extension: 5 mm, supply: 12 V 5 A"
        ),
        "air": "motor: {{air: {{bore: 16 mm, stroke: 100 mm, pressure: 4 bar, cv: 0.1}}}}, extension: 50 mm",
    },
    "spring": {
        "extension": "{{extension: [post, extension], {ends}, rate: 100 N/m, free_length: 580 mm}}",
        "compression": "{{compression: [post, compression], {ends}, rate: 100 N/m, free_length: 730 mm}}",
        "two_way": "{{two_way: [post, two_way], {ends}, rate: 100 N/m, free_length: 600 mm}}",
        "torsion": "{{torsion: torsion, rate: 2 N*m/rad, free_angle: 0.5 rad}}",
    },
    "pull": {
        "gas_spring": "{{gas_spring: [post, gas_spring], {ends}, force: 50 N, longest: 680 mm, stroke: 300 mm}}",
        "constant_force": (
            "{{constant_force: [post, constant_force], {ends}, force: 8 N, free_length: 300 mm, take_up: "
            "30 mm, longest: 900 mm}}"
        ),
        "counterweight": "{{counterweight: [post, counterweight], {ends}, mass: 1 kg}}",
        "rope": "{{rope: [post, rope], {ends}, force: 12 N}}",
    },
    "stop": {
        "pin_stop": (
            "{{pin_stop: pin_stop, below: -5 deg, above: 0 deg, stiffness: 500 N*m/rad, damping: 2 "
            "N*m*s/rad}}"
        ),
        "slide_stop": "{{slide_stop: slide_stop, below: 0 mm, above: 50 mm, stiffness: 20 N/mm, damping: 100 N*s/m}}",
        "ratchet": "{{ratchet: ratchet, teeth: 12, turns: against, stiffness: 500 N*m/rad, damping: 2 N*m*s/rad}}",
        "one_way": "{{one_way: one_way, turns: against, stiffness: 500 N*m/rad, damping: 2 N*m*s/rad}}",
    },
    "contact": {
        "point": "{{point: point, at: {x} 0 0 mm, size: 20 mm, friction: 0.5, stiffness: 20 N/mm}}",
        "ball": "{{ball: ball, at: {x} 0 20 mm, diameter: 40 mm, friction: 0.5, stiffness: 20 N/mm}}",
        "arc": "{{arc: arc, centre: {x} 0 50 mm, radius: 50 mm, axis: y, friction: 0.5, stiffness: 20 N/mm}}",
    },
    "way of holding": {
        "bolt": "{{bolt: M6, count: 2, spacing: 60 mm, along: y}}",
        "screw": '{{screw: "#10 wood", into: pine, length: 50 mm, through: 10 mm, count: 4, spacing: 40 mm}}',
        "sheet_screw": '{{sheet_screw: "#8", count: 3, spacing: 40 mm, along: z}}',
        "socket": "{{socket: glued}}",
        "toggle": "{{toggle: 1/4-20, along: z}}",
        "clamp": "{{clamp: hose clamp, count: 2, spacing: 50 mm, along: z}}",
        "set_screw": "{{set_screw: 1/4 in set, shaft: 12 mm, along: x}}",
        "roll_pin": "{{roll_pin: 4 mm, shaft: 12 mm, along: x}}",
        "rivet": "{{rivet: 3/16 in steel, count: 4, spacing: 30 mm, along: y}}",
        "rod_end": "{{rod_end: M6, along: y}}",
        "weld": "{{weld: 3 mm, length: 60 mm}}",
        "glue": "{{glue: side to side, area: 30 cm^2}}",
    },
    "cue": {
        "on": "{{at: 0 s, on: drive}}",
        "off": "{{at: 0.03 s, off: drive}}",
        "forward": "{{at: 0.04 s, forward: drive}}",
        "backward": "{{at: 0.05 s, backward: drive}}",
        "speed": "{{at: 0.06 s, speed: drive, to: 0.5}}",
        "pose": "{{at: 0 s, pose: turner, to: 20 deg}}",
        "sound": "{{at: 0.02 s, sound: beep.wav, jaw: jaw, opening: 20 deg}}",
    },
}
"""Text of each kind by its sort."""


def example(sort: str, kind: str, x: str = "0", ends: str = "from: 0 0 980 mm, to: 0 0 300 mm") -> str:
    """An example as it stands in a rig.

    Args:
        sort: of the kind, as its registry is called.
        kind: its name.
        x: where it stands, mm.
        ends: of what acts between two points.

    Example:
        >>> example("joint", "pin")
        '{pin: [post, pin], at: 0 0 400 mm, axis: y}'
    """
    return EXAMPLES[sort][kind].format(x=x, ends=ends)
