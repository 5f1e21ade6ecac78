"""A run carries its results: one command works each of them out once."""

from __future__ import annotations

import sys
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from simprop.commands.clip import ClipOptions
from simprop.commands.run import run_rig

RIGS = Path(__file__).parents[2] / "rigs"
COUNTED = {
    "simprop.assembly.assemble": "assemble",
    "simprop.engine.acting.actuation": "actuate",
    "simprop.engine.acting.program": "script",
    "simprop.loads.binding": "binding",
    "simprop.loads.newton_euler": "wrenches",
    "simprop.loads.energy": "energy",
    "simprop.loads.driving": "driven",
    "simprop.strength.report": "strength",
    "simprop.run.once": "once",
}


@pytest.fixture
def calls(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each function was called, wherever it had been imported to."""
    count: Counter[str] = Counter()
    for home, name in COUNTED.items():
        real = getattr(sys.modules[home], name)

        def counting(*args: Any, _real: Any = real, _name: str = name, **more: Any) -> Any:
            count[_name] += 1
            return _real(*args, **more)

        for module in [m for key, m in sys.modules.items() if key.startswith("simprop.")]:
            if getattr(module, name, None) is real:
                monkeypatch.setattr(module, name, counting)
    return count


def _run(rig: str, sets: dict[str, str], folder: Path) -> None:
    options = ClipOptions((160, 120), gif=False, loads=True)
    run_rig(RIGS / f"{rig}.yaml", sets, "mujoco", folder, options, settle=True)


@pytest.mark.parametrize(
    ("rig", "sets", "winds"),
    [
        ("wall_peeper", {"run.for": "0.4 s", "motors.drive.supply": "12 V"}, 4),
        ("cider_press", {"run.for": "0.4 s", "motors.turn.supply": "12 V"}, 0),
        ("barn_owl", {"run.for": "0.3 s"}, 0),
    ],
)
def test_one_command_works_everything_out_once(
    rig: str, sets: dict[str, str], winds: int, calls: Counter[str], tmp_path: Path
) -> None:
    _run(rig, sets, tmp_path)
    steps = calls.pop("once")
    assert steps >= 2
    assert calls.pop("wrenches") == steps + winds  # as often as settling needs, and once for each wind
    assert calls.pop("energy") == calls.pop("driven") == steps
    assert calls == {"assemble": 1, "actuate": 1, "script": 1, "binding": 1, "strength": 1}


def test_a_supply_that_holds_back_costs_one_more_run(calls: Counter[str], tmp_path: Path) -> None:
    _run("wall_peeper", {"run.for": "0.4 s", "motors.drive.supply": "12 V 2 A"}, tmp_path)
    assert calls["once"] == calls["wrenches"] - 4 + 1  # the winds from four sides have loads of their own
    assert (calls["assemble"], calls["actuate"]) == (1, 2)
    assert calls["driven"] == calls["once"]
