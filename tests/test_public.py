"""The public names work as the README says, whatever was imported before."""

from __future__ import annotations

from pathlib import Path

import pytest

import simprop

RIG = Path(__file__).parents[1] / "rigs" / "wall_peeper.yaml"


def test_every_public_name_is_there() -> None:
    for name in simprop.__all__:
        assert getattr(simprop, name) is not None
    with pytest.raises(AttributeError, match="no attribute 'simulat'"):
        simprop.simulat  # noqa: B018
    assert set(dir(simprop)) == set(simprop.__all__)


def test_the_example_of_the_readme_twice(tmp_path: Path) -> None:
    for _ in range(2):
        rig = simprop.load_rig(RIG, {"throw": "60 mm", "run.for": "0.2 s"})
        run = simprop.simulate(rig)
        loads = run.loads
    assert loads.worst is not None
    assert loads.worst.value > 0
    paths = simprop.render_clip(run.assembly, run.track, tmp_path, size=(320, 240))
    assert paths.mp4.exists()
