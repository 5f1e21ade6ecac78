"""One part of a body that bends, the rest rigid."""

from __future__ import annotations

import numpy as np
import pytest

from simprop.assembly.assemble import assemble
from simprop.assembly.modes import frequencies
from simprop.errors import AssemblyError
from simprop.rig.load import parse_rig
from simprop.run.simulate import simulate
from tests.bending.rigs import PIPE, STIFF

TWO = """
rig: 1
name: Two
bodies:
  ground: {{fixed: true}}
  mast:
    parts:
      - {{{pipe}, from: 0 0 0 mm, to: 0 0 600 mm{lower}}}
      - {{{pipe}, from: 0 0 600 mm, to: 0 0 1000 mm{upper}}}
      - {{lump: 0.5 kg, at: 0 0 {at} mm}}
joints: {{foot: {{fixed: [ground, mast], at: 0 0 0 mm}}}}
run: {{for: 1 s}}
"""


def lowest(lower: str, upper: str, at: int = 1000) -> float:
    assembly = assemble(parse_rig(TWO.format(pipe=PIPE, lower=lower, upper=upper, at=at)))
    return float(frequencies(assembly)[0])


def test_a_part_bends_and_the_other_is_rigid() -> None:
    """Unit load at the end of a rigid arm b on a cantilever a: a^3/3 + a^2 b + a b^2 over E I, statics; heavy end."""
    a, b = 0.6, 0.4
    soft = (a**3 / 3 + a**2 * b + a * b**2) / STIFF
    light = PIPE.replace("of: PVC}", "of: PVC}, mass: 1 g")
    text = TWO.format(pipe=light, lower=", bends: true", upper="", at=1000)
    assembly = assemble(parse_rig(text))
    assert float(frequencies(assembly)[0]) == pytest.approx(np.sqrt(1 / (0.5 * soft)) / 2 / np.pi, rel=0.005)
    assert all("mast" in assembly.bodies[i].name for i in assembly.members[0].bodies)


def test_as_if_rigid_no_part_bends() -> None:
    text = TWO.format(pipe=PIPE, lower=", bends: true", upper="", at=1000).replace("for: 1 s", "for: 20 ms")
    run = simulate(parse_rig(text), settle=False)
    assert run.rigid is not None
    assert not run.rigid.recording.assembly.gives


def test_both_give_more_than_one() -> None:
    only, both = lowest(", bends: true", ""), lowest(", bends: true", ", bends: true")
    assert both < only < lowest("", ", bends: true")


def test_a_part_that_can_t_bend() -> None:
    text = TWO.format(pipe=PIPE, lower="", upper="", at=1000).replace(
        "lump: 0.5 kg,", "lump: 0.5 kg, bends: true,"
    )
    with pytest.raises(AssemblyError, match="nothing in it can"):
        assemble(parse_rig(text))
