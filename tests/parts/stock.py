"""Stock of one cross-section for tests: placed alone, or as an arm in a rig."""

from __future__ import annotations

from pathlib import Path

from simprop.geometry.placement import AS_DRAWN
from simprop.parts.kinds import PARTS
from simprop.parts.part import Shape
from simprop.rig.load import parse_rig
from simprop.rules.profiles import Profile
from simprop.run.run import Run
from simprop.run.simulate import simulate

G = 9.80665
STEEL = 7850.0
ENDS = {"from": "100 0 0 mm", "to": "100 300 400 mm"}


def placed(**said: object) -> Shape:
    return PARTS.read(said).place(AS_DRAWN, Path(), "it")


def profile_of(shape: Shape) -> Profile:
    section = shape.section()
    assert isinstance(section, Profile)
    return section


RIG = """
rig: 1
name: lantern arm
bodies:
  post: {fixed: true, parts: [{block: 60 x 20 x 1000 mm, of: pine, at: 0 40 500 mm}]}
  arm:
    parts:
      - {PART, of: steel, from: 0 0 900 mm, to: 600 0 900 mm, name: arm}
      - {lump: 2 kg, at: 600 0 900 mm}
joints: {hub: {fixed: [post, arm], at: 0 0 900 mm, HOLD}}
run: {for: 10 ms}
"""


def run_of(part: str, hold: str = "held_by: {weld: 3 mm, length: 60 mm}", more: str = "") -> Run:
    return simulate(parse_rig(RIG.replace("PART", part).replace("HOLD", hold) + more), "mujoco", settle=False)
