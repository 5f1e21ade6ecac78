"""A lump that is drawn as a hand points where `up` says."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.rig.load import parse_rig

HAND = """
rig: 1
name: Hand
bodies: {{arm: {{parts: [{{lump: 0.15 kg, at: 0 0 500 mm, looks: hand{up}}}]}}}}
run: {{for: 1 s}}
"""


@pytest.mark.parametrize(("up", "top"), [("", 2), (", up: x", 0)])
def test_the_top_of_a_lump_points_where_it_is_told_to(up: str, top: int) -> None:
    shape = assemble(parse_rig(HAND.format(up=up))).bodies[0].shapes[0]
    _, turn, half = shape.box()
    assert turn[:, 2] == pytest.approx(np.eye(3)[top])  # third column: its own upwards
    assert int(np.argmax(np.abs(turn) @ half)) == top  # a hand is longest from wrist to fingers
