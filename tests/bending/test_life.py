"""What rings counts in the life of a member: its cycles and how far they go are those of the run with bending."""

from __future__ import annotations

import pytest

from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate

WHIP = """
rig: 1
name: Whip
bodies:
  post: {{fixed: true, parts: [{{block: 300 x 200 x 40 mm, of: steel, at: 0 0 -40 mm}}]}}
  mast:
    bends: {bends}
    parts:
      - {{pipe: 1/2 in PVC, from: 0 0 0 mm, to: 0 0 350 mm}}
      - {{lump: 0.15 kg, at: 0 0 360 mm, inertia: 0.001 0.001 0.001 kg*m^2}}
joints: {{foot: {{pin: [post, mast], at: 0 0 0 mm, axis: y, held_by: {{bolt: M8}}}}}}
motors: {{drive: {{joint: foot, supply: 12 V 5 A, motor: wiper medium low, on: [0 s to 0.05 s, 0.8 s to 0.85 s]}}}}
run: {{for: 1.5 s}}
season: {{nights: 20, hours: 4}}
"""


def test_the_life_of_a_mast_that_rings() -> None:
    lives = {}
    for bends in ("false", "true"):
        run = simulate(parse_rig(WHIP.format(bends=bends)), "exudyn", settle=False, step=1e-3)
        (check,) = (c for c in run.strength.ranking if c.name == "life" and c.place.startswith("mast"))
        lives[bends] = check.capacity
        if bends == "false":
            (ring,) = run.ringing
            told = ring.ratio
    assert lives["false"] is not None
    assert lives["true"] is not None
    # The curve of PVC falls with the 4.9th power of the stress: a swing that goes `told` times as far takes off as
    # much at least, but for the damping of later swings, and each further swing of a jolt some more.
    assert told == pytest.approx(2.75, rel=0.05)
    assert lives["true"] < 0.2 * lives["false"]
    assert lives["true"] > lives["false"] / told**4.9 / 40
