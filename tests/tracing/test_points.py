"""A point dragged: its numbers follow, every other byte stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from simprop.errors import RigError, SimpropError
from simprop.tracing.placing import AXES, in_view
from simprop.tracing.points import free, moved, points_of
from simprop.tracing.types import View

RIGS = sorted((Path(__file__).parents[2] / "rigs").glob("*.yaml"))
STEP = 0.001


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_every_point_of_every_rig(path: Path) -> None:
    """Dragged by 12.3 and -7.1 mm: only lines of what changed are others, and it is there when read again."""
    text = path.read_bytes().decode().replace("\n", "\r\n")
    for k, point in enumerate(points_of(text)):
        view: View = ("front", "side")[k % 2]
        x, y = in_view(view, point.at)
        found = moved(text, point.name, view, (x + 0.0123, y - 0.0071), STEP)
        old, new = text.split("\n"), found.text.split("\n")
        assert len(old) == len(new)
        lines = [i + 1 for i, (a, b) in enumerate(zip(old, new, strict=True)) if a != b]
        assert lines == sorted({c.line for c in found.changes})
        assert len(found.told) == sum(not point.coordinates[axis].field for axis in AXES[view][:2])
        assert bool(found.changes) == free(point, view)
        if all(c.field[:1] != ("params",) for c in point.coordinates):
            assert len(lines) <= 1
        again = next(p for p in points_of(found.text) if p.name == point.name)
        for axis, goal in zip(AXES[view][:2], (x + 0.0123, y - 0.0071), strict=True):
            if point.coordinates[axis].field:
                assert again.at[axis] == pytest.approx(goal, abs=STEP / 2 + 1e-9)
            else:
                assert point.coordinates[axis].why in found.told
        assert moved(text, point.name, view, (x, y), STEP).text is text


def _moved(row: str, to: tuple[float, float], *, params: str = "", step: float = STEP) -> str:
    """What stands at a point `p` after it was moved in the front view."""
    text = f"params: {{{params}}}\npoints:\n  p: {row}\n"
    found = moved(text, "p", "front", to, step).text
    head = text[: text.index(row)]
    assert found.startswith(head)
    return found.removeprefix(head).rstrip("\n")


@pytest.mark.parametrize(
    ("row", "to", "after"),
    [
        ("0 0 300 mm", (0.0123, 0.2957), "12 0 296 mm"),
        ("0  -5  300 mm   # up", (0.0123, 0.2957), "12  -5  296 mm   # up"),
        ("[0 mm, 4 mm, 300 mm]", (0.0123, 0.2957), "[12 mm, 4 mm, 296 mm]"),
        ("[ 0 mm , 0 mm,300 mm ]", (-0.0123, 0.3), "[ -12 mm , 0 mm,300 mm ]"),
        ("'0 0 300 mm'", (0.0123, 0.3), "'12 0 300 mm'"),
        ('["0 mm", 0 mm, "300 mm"]', (0.0123, 0.2), '["12 mm", 0 mm, "200 mm"]'),
        ("&here 0 0 300 mm", (0.0123, 0.3), "&here 12 0 300 mm"),
        ("0 0 30 cm", (0.0123, 0.2957), "1.2 0 29.6 cm"),
        ("0 0 0.3 m", (0.0123, 0.2957), "0.012 0 0.296 m"),
        ("0mm 0mm 300mm", (0.0123, 0.2957), "12mm 0mm 296mm"),
        ("0 0 12 in", (0.0254, 0.3137), "1 0 12.35 in"),
        ("1/2 0 11-3/4 in", (0.0191, 0.3076), "3/4 0 12-1/8 in"),
        ("+3 0 300 mm", (0.005, 0.3), "5 0 300 mm"),
        ("- 3 mm\n  - 0 mm\n  - 300 mm", (0.005, 0.3), "- 5 mm\n  - 0 mm\n  - 300 mm"),
    ],
)
def test_written_as_it_was(row: str, to: tuple[float, float], after: str) -> None:
    """Unit, brackets, quotes, blanks and fractions stay."""
    if row.startswith("- "):
        row, after = "\n  " + row, "\n  " + after
        text = f"points:\n  p:{row}\n"
        assert moved(text, "p", "front", to, STEP).text == f"points:\n  p:{after}\n"
    else:
        assert _moved(row, to) == after


def test_rounded_to_what_the_picture_tells() -> None:
    assert _moved("0 0 300 mm", (0.0123, 0.2957), step=0.0005) == "12.5 0 295.5 mm"
    assert _moved("0 0 300 mm", (0.0123, 0.2957), step=0.005) == "10 0 295 mm"
    assert _moved("0 0 58.73 mm", (0.0, 0.0589), step=0.001) == "0 0 58.73 mm"  # less than half a step
    assert _moved("0 0 58.73 mm", (0.0, 0.0593), step=0.001) == "0 0 59 mm"
    assert _moved("0 0 300 mm", (-0.0004, 0.3004), step=0.001) == "0 0 300 mm"


def test_a_named_value_follows() -> None:
    text = "params:\r\n  throw: 50 mm   # hole to hole\r\n"
    text += "points: {p: [throw, 0 mm, 300 mm], q: [0 mm, 0 mm, -throw]}\r\n"
    found = moved(text, "p", "front", (0.0621, 0.3), STEP)
    assert found.text == text.replace("50 mm", "62 mm")
    assert [(c.field, c.before, c.after, c.line) for c in found.changes] == [
        ("params.throw", "50 mm", "62 mm", 2)
    ]
    found = moved(text, "q", "side", (0.0, -0.0621), STEP)
    assert found.text == text.replace("50 mm", "62 mm")
    assert moved(text, "q", "side", (0.0, 0.01), STEP).text == text.replace("50 mm", "-10 mm")
    both = moved(text, "p", "front", (0.0621, 0.25), STEP)
    assert both.text == text.replace("50 mm", "62 mm").replace("300 mm", "250 mm")
    assert [c.field for c in both.changes] == ["params.throw", "points.p.2"]


def test_what_is_worked_out_stays_and_says_so() -> None:
    params = "throw: 50 mm, reach: 2 * throw"
    text = f"params: {{{params}}}\npoints: {{p: [2 * throw, reach, 300 mm]}}\n"
    found = moved(text, "p", "front", (0.2, 0.25), STEP)
    assert found.told == ("x of p is worked out: 2 * throw",)
    assert found.text == text.replace("300 mm", "250 mm")
    assert moved(text, "p", "side", (0.2, 0.3), STEP).told == ("y of p is worked out: reach = 2 * throw",)
    still = moved(text, "p", "front", (0.2, 0.3), STEP)
    assert (still.text, still.changes) == (text, ())
    (point,) = points_of(text)
    assert (free(point, "front"), point.at) == (True, pytest.approx((0.1, 0.1, 0.3)))


def test_one_named_value_for_both_coordinates() -> None:
    text = "params: {r: 50 mm}\npoints: {p: [r, 0 mm, -r]}\n"
    found = moved(text, "p", "front", (0.08, -0.06), STEP)
    assert found.text == text.replace("50 mm", "80 mm")
    assert found.told == ("z of p goes by -r too",)


def test_what_an_alias_shares_isnt_changed() -> None:
    text = "points: {a: &a 0 0 300 mm, b: *a, c: 0 0 5 mm}\n"
    for name in "ab":
        with pytest.raises(SimpropError, match=rf"points\.{name}: can't be changed alone"):
            moved(text, name, "front", (0.1, 0.3), STEP)
    assert moved(text, "c", "front", (0.1, 0.005), STEP).text == text.replace("0 0 5", "100 0 5")


def test_points_of_a_rig_with_faults() -> None:
    text = "params: {throw: 50 mn, r: 5 mm}\n"
    text += "points: {p: [throw, 0 mm, 0 mm], q: 0 0, s: [r, 0 mm, 0 mm], 1x: 0 0 0 mm}\n"
    text += "bodies: {b: {parts: [{bar: 3}]}}\n"
    assert [p.name for p in points_of(text)] == ["s"]
    assert moved(text, "s", "front", (0.01, 0.0), STEP).text == text.replace("5 mm", "10 mm", 1)
    for name in ("p", "q", "x"):
        with pytest.raises(SimpropError, match="not a point of this file that can be read"):
            moved(text, name, "front", (0.0, 0.0), STEP)
    with pytest.raises(RigError, match="not YAML"):
        points_of("points: {p: [}")
    assert points_of("") == points_of("points:\n") == points_of("- 1\n") == ()
