"""The README tells the truth: its rig runs, its commands exist, its pictures are there."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from simprop.assembly.assemble import assemble
from simprop.cli import app
from simprop.rig.load import parse_rig
from simprop.rig.reference import reference

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "README.md").read_text()


def test_its_rig_goes_together() -> None:
    text = next(block for block in re.findall(r"```yaml\n(.*?)```", TEXT, flags=re.S) if "rig: 1" in block)
    assembly = assemble(parse_rig(text))
    assert assembly.mobility == 1


def test_its_table_lists_every_command() -> None:
    told = set(re.findall(r"^\| `simprop (\w+)", TEXT, flags=re.M))
    assert told == set(get_command(app).commands)  # type: ignore[attr-defined]


def test_its_pictures_are_there() -> None:
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", TEXT)
    assert pictures
    for name in pictures:
        assert (ROOT / name).is_file()
        assert (ROOT / name).stat().st_size < 1_500_000


def test_its_table_lists_every_rig() -> None:
    told = set(re.findall(r"`(\w+)`", "".join(line for line in TEXT.splitlines() if line.startswith("| `"))))
    assert {p.stem for p in (ROOT / "rigs").glob("*.yaml")} <= told


def test_reference_names_every_section_of_the_shipped_rigs() -> None:
    places = {entry.place.split(".")[0] for entry in reference()}
    assert {"bodies", "joints", "springs", "stops", "motors", "run", "camera", "contacts", "cues"} <= places
    pin = next(e for e in reference() if e.place == "joints.NAME" and e.kind == "pin")
    assert "axis" in [key.name for key in pin.needs]
    assert "viscous (turning damping, as 0.01 N*m*s/rad)" in map(str, pin.may)


def test_its_tour_runs_as_printed_in_an_empty_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Five commands from nothing to a prop of one's own, with notes."""
    block = re.findall(r"<!-- tour -->\n```sh\n(.*?)```\n<!-- end -->", TEXT, flags=re.S)[0]
    commands = [shlex.split(line) for line in block.splitlines()]
    assert len(commands) == 5
    monkeypatch.chdir(tmp_path)
    for program, *words in commands:
        assert program == "simprop"
        done = CliRunner().invoke(app, words)
        assert done.exit_code == 0, f"{words}\n{done.output}"
    page = tmp_path / "renders" / "my_peeper" / "notes" / "notes.html"
    assert "<title>My peeper: build notes</title>" in page.read_text()
    assert f"{page.relative_to(tmp_path)}" in TEXT
