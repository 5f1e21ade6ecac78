"""The tuned rig: what changes in its file, and that nothing else does."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from simprop.commands.tune import tune_rig
from simprop.errors import SimpropError, WriteError
from simprop.reading.text import Path as Place
from simprop.reading.text import read_text
from simprop.rig.load import load_rig, parse_rig
from simprop.tuning.figures import figures_of, texts
from simprop.tuning.rewrite import rewritten
from simprop.tuning.tune import base_run
from tests.tuning.props import LANTERN

RIGS = sorted((Path(__file__).parents[2] / "rigs").glob("*.yaml"))


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_every_other_line_stays_byte_for_byte(path: Path) -> None:
    """A weight for each body that moves, other friction for each joint and another supply, in every shipped rig."""
    text = path.read_bytes().decode()
    data = read_text(text).data
    places: dict[Place, str] = {
        ("bodies", name, "mass"): "0.5 kg" for name, body in data["bodies"].items() if not body.get("fixed")
    }
    places |= {("joints", name, "friction"): "0.25" for name in data.get("joints", {})}
    places |= {("motors", name, "supply"): "{voltage: 9 V, limit: 2 A}" for name in data.get("motors", {})}
    after = rewritten(text.replace("\n", "\r\n"), places)
    assert after.count("\r\n") == after.count("\n") == after.count("\r")
    before, changed = text.splitlines(), rewritten(text, places).splitlines()
    kept = [line for line in before if line in changed]
    touched = len(before) - len(kept)
    assert touched <= len(places)
    new = [line for line in changed if line not in before]
    assert all(any(value in line for value in places.values()) for line in new)


def test_figures_at_their_places() -> None:
    """All eight figures of a prop 10 % up: its rig reads them back, comments stay."""
    text = LANTERN.replace("  drive:\n", "  drive:   # from a drill\n")
    run = base_run(parse_rig(text))
    figures = figures_of(run, ())
    after = rewritten(text, texts(run.rig, figures, [1.1 * f.value for f in figures]))
    again = figures_of(base_run(parse_rig(after)), ())
    assert [f.value for f in again] == pytest.approx([1.1 * f.value for f in figures], rel=1e-3)
    assert "  drive:   # from a drill\n" in after


def test_a_class_of_the_catalogue_becomes_its_figures() -> None:
    peeper = next(p for p in RIGS if p.stem == "wall_peeper")
    run = base_run(load_rig(peeper, {"run.for": "0.1 s"}))
    figures = [f for f in figures_of(run, ()) if f.place == ("motors", "drive", "motor")]
    assert [f.inside for f in figures] == [
        "no_load_speed",
        "stall_torque",
        "no_load_current",
        "stall_current",
    ]
    after = rewritten(run.rig.source.text, texts(run.rig, figures[:1], [5.0]))
    motor = parse_rig(after).motors["drive"].figures
    old = run.rig.motors["drive"].figures
    assert motor.model_copy(update={"no_load_speed": old.no_load_speed}) == old  # type: ignore[attr-defined]
    assert motor.no_load_speed == pytest.approx(5.0, rel=1e-3)  # type: ignore[attr-defined]


def test_a_value_that_an_alias_shares_is_refused() -> None:
    with pytest.raises(SimpropError, match=r"a\.b: can't be changed alone"):
        rewritten("a: {b: &x 1 m}\nc: *x\n", {("a", "b"): "2 m"})


def test_the_command_from_blank_to_tuned(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    rig, sheet = Path("lantern.yaml"), Path("renders/lantern/measured.yaml")
    rig.write_text(LANTERN.replace("rig: 1", "# mine\nrig: 1"))
    assert tune_rig(rig, None, None) == 0
    assert "weight of arm" in capsys.readouterr().out
    filled = sheet.read_text().replace("weight:  ", "weight: 450 g  ")
    sheet.write_text(filled)
    with pytest.raises(WriteError, match="is there already"):
        tune_rig(rig, None, None)
    assert sheet.read_text() == filled
    assert tune_rig(rig, sheet, None) in (0, 1, 3)  # as the strength of the tuned rig has it
    told = capsys.readouterr().out
    assert max(map(len, told.splitlines())) <= 80
    assert "mass of arm" in told
    assert "The readings say nothing of:" in told
    drawn = "{lump: 0.4 kg, at: 120 0 300 mm}"
    assert Path("renders/lantern/lantern_tuned.yaml").read_text() == rig.read_text().replace(
        f"{{parts: [{drawn}]}}", f"{{parts: [{drawn}], mass: 0.45 kg}}"
    )
    assert json.loads(Path("renders/lantern/tuned.json").read_text())["figures"]["mass of arm"]["told"]
