"""What `check` says of the degrees of freedom."""

from __future__ import annotations

from simprop.assembly.assemble import assemble
from simprop.report.check import mobility_lines
from simprop.rig.load import parse_rig

LINKED = """
rig: 1
name: Linked
bodies:
  post: {{fixed: true}}
  arm: {{parts: [{{rod: 6 mm, of: steel, from: 0 0 0 mm, to: 200 0 0 mm}}]}}
  link: {{parts: [{{rod: 6 mm, of: steel, from: 200 0 0 mm, to: 200 0 300 mm}}]}}
  horn: {{parts: [{{rod: 6 mm, of: steel, from: 200 0 300 mm, to: 0 0 300 mm}}]}}
joints:
  pivot: {{pin: [post, arm], at: 0 0 0 mm, axis: y}}
  low: {{ball: [arm, link], at: 200 0 0 mm}}
  high: {{{high}: [link, horn], at: 200 0 300 mm{axis}}}
  neck: {{pin: [post, horn], at: 0 0 300 mm, axis: y}}
run: {{for: 1 s}}
"""


def test_a_link_between_two_balls_turns_idly() -> None:
    """Gruebler in space: 6 x 3 bodies - 5 - 3 - 3 - 5 = 2, one of them the link about its own line."""
    lines = mobility_lines(assemble(parse_rig(LINKED.format(high="ball", axis=""))))
    assert (
        lines[0] == "Degrees of freedom: 2, 1 of them idle: link may turn about the line of two ball joints"
    )
    lines = mobility_lines(assemble(parse_rig(LINKED.format(high="pin", axis=", axis: y"))))
    assert lines[0] == "Degrees of freedom: 1"
