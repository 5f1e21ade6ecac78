"""A prop small enough to be run hundreds of times: a motor turns a weight on an arm, and a spring pulls at it."""

from __future__ import annotations

LANTERN = """\
rig: 1
name: Turning lantern
bodies:
  post: {fixed: true}
  arm: {parts: [{lump: 0.4 kg, at: 120 0 300 mm}]}
joints: {shaft: {pin: [post, arm], at: 0 0 300 mm, axis: y, friction: 0.05 N*m}}
springs:
  lift: {extension: [post, arm], from: 0 0 600 mm, to: 60 0 300 mm, rate: 60 N/m, free_length: 200 mm}
motors:
  drive:
    joint: shaft
    motor:
      dc: {rated_voltage: 12 V, no_load_speed: 100 rpm, stall_torque: 3 N*m, no_load_current: 0.3 A, stall_current: 6 A}
    supply: 12 V
run: {for: 1.6 s, step: 4 ms}
"""
TWIN = (
    "  twin: {extension: [post, arm], from: 0 0 600 mm, to: 60 0 300 mm, rate: 60 N/m, free_length: 200 mm}\n"
)
"""A second spring between the same points: only what both pull together shows in any motion."""
TWO_SPRINGS = LANTERN.replace("motors:", TWIN + "motors:")
