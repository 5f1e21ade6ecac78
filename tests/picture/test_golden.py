"""Pictures against kept ones; on a difference expected, actual and difference are saved in tests/picture/failed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from tests.picture import golden


@pytest.mark.parametrize("name", golden.PICTURES)
def test_picture_is_as_kept(name: str) -> None:
    expected = np.asarray(Image.open(golden.KEPT / f"{name}.png"))
    actual = golden.PICTURES[name]()
    fault = golden.unlike(expected, actual)
    if fault is not None:
        folder = golden.save_failure(name, expected, actual)
        pytest.fail(f"{name}: {fault}; see {folder}. If the change is meant: python -m tests.picture.golden")


def test_a_moved_part_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The comparison fails when the prop stands one frame further, and saves three pictures."""
    expected = golden._still("three_quarter", "day", 0.0)
    actual = golden._still("three_quarter", "day", 0.08)
    assert golden.unlike(expected, actual) is not None
    assert golden.unlike(expected, expected) is None
    monkeypatch.setattr(golden, "FAILED", tmp_path)
    golden.save_failure("x", expected, actual)
    assert sorted(p.name for p in tmp_path.iterdir()) == [
        "x_actual.png",
        "x_difference.png",
        "x_expected.png",
    ]
