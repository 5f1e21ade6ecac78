"""A section of a report is one function and one registration: terminal, Markdown and JSON then hold it."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest

from simprop.report.loads import LOADS
from simprop.report.structure import Amount, Items, Section, Strong, Table
from simprop.report.writers import as_json, markdown, plain
from simprop.rig.load import parse_rig
from simprop.run.run import Run
from simprop.run.simulate import simulate

NAME = "a|b <i>*_`x"
RIG = """
rig: 1
name: "Gate | <script> *old*"
bodies: {post: {fixed: true}, bob: {parts: [{lump: 1 kg, at: 300 0 0 mm}]}}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
run: {for: 0.04 s}
"""


def swings(run: Run) -> Section:
    low = float(run.track.position[:, 1, 2].min())
    cell = Amount(low, "m", f"{1000 * low:.1f} mm")
    return Section(
        "swings",
        "Swings",
        [
            Strong("How far it swings."),
            Table(("bob", ">lowest"), [(NAME, cell), ("nothing", Amount(None, "m", "not computed"))]),
            Items(["a moment of 2 N*m"]),
        ],
    )


@pytest.fixture
def run() -> Iterator[Run]:
    LOADS.add(swings)
    yield simulate(parse_rig(RIG), "mujoco", settle=False)
    LOADS.remove(swings)


def test_a_section_is_in_all_three(run: Run) -> None:
    report = LOADS.of(run)
    low = float(run.track.position[:, 1, 2].min())
    text = plain(report)
    assert "How far it swings." in text
    assert NAME in text
    assert f"{1000 * low:.1f} mm" in text
    assert "- a moment of 2 N*m" in text
    assert max(len(line) for line in text.splitlines()) <= 80
    data = json.loads(as_json(report))
    assert data["swings"][1][0] == {"bob": NAME, "lowest": {"value": low, "unit": "m"}}
    assert data["swings"][1][1]["lowest"]["value"] is None
    page = markdown(report)
    assert "## Swings" in page
    assert "| nothing | not computed |" in page


def test_names_stand_in_markdown_as_they_are(run: Run) -> None:
    """CommonMark 0.31: a backslash before ASCII punctuation keeps it; raw HTML begins with <."""
    page = markdown(LOADS.of(run))
    assert "| a\\|b &lt;i>\\*\\_\\`x | " in page
    assert page.startswith("# Gate \\| &lt;script> \\*old\\*: loads\n")
    assert "<" not in page
    assert "a moment of 2 N·m" in page
    assert "N*m" not in page


def test_taken_out_again(run: Run) -> None:
    LOADS.remove(swings)
    assert "Swings" not in plain(LOADS.of(run))
    LOADS.add(swings)
