"""New points, pins and bars: in the style of the file, all else as it was."""

from __future__ import annotations

from difflib import ndiff
from pathlib import Path

import pytest

from simprop.errors import RigError, SimpropError
from simprop.reading.text import read_text
from simprop.rig.load import parse_rig
from simprop.tracing.adding import with_bar, with_pin, with_point
from simprop.tracing.points import points_of

RIGS = sorted((Path(__file__).parents[2] / "rigs").glob("*.yaml"))
STOCK = "bar: 25 x 3 mm, of: steel"
STEP = 0.001


@pytest.mark.parametrize("path", RIGS, ids=lambda p: p.stem)
def test_added_to_every_rig(path: Path) -> None:
    """A point, a bar to it and a pin: new lines only; the rig reads as before with them; line ends are the file's."""
    text = path.read_bytes().decode().replace("\n", "\r\n")
    data = read_text(text).data
    first = points_of(text)[0].name
    post = next(name for name, body in data["bodies"].items() if body.get("fixed"))
    after = with_point(text, "new_tip", (0.1234, -0.05, 0.3), STEP)
    after = with_bar(after, "new_arm", "new_tip", first, STOCK)
    after = with_pin(after, "new_tip", (post, "new_arm"), "new_tip", "side")
    assert after.count("\r\n") == after.count("\n") == after.count("\r")
    lines = list(ndiff(text.split("\r\n"), after.split("\r\n")))
    assert not [line for line in lines if line.startswith("- ")]
    assert len([line for line in lines if line.startswith("+ ")]) in (3, 4)
    rig, was = parse_rig(after, str(path)), parse_rig(text, str(path))
    assert rig.points["new_tip"][:3] == pytest.approx((0.123, -0.05, 0.3))
    assert {n: b for n, b in rig.bodies.items() if n != "new_arm"} == was.bodies
    assert {n: j for n, j in rig.joints.items() if n != "new_tip"} == was.joints
    assert rig.joints["new_tip"].axis == (1.0, 0.0, 0.0)  # type: ignore[attr-defined]


def test_style_of_the_file() -> None:
    lines = "bodies:\n    post:\n        fixed: true   # oak\n    # the arm comes later\n\nrun: {for: 1 s}\n"
    text = "points: {a: 0 0 0 in, b: 0 0 9 in}\n" + lines
    after = with_bar(with_point(text, "c", (0.0254, 0.0, 0.0), STEP), "arm", "b", "c", STOCK, fixed=True)
    assert after == (
        "points: {a: 0 0 0 in, b: 0 0 9 in, c: 1 0 0 in}\n"
        "bodies:\n    post:\n        fixed: true   # oak\n    # the arm comes later\n"
        f"    arm:\n        fixed: true\n        parts: [{{{STOCK}, from: b, to: c}}]\n\nrun: {{for: 1 s}}\n"
    )


@pytest.mark.parametrize(
    ("text", "after"),
    [
        ("", "points:\n  p: 10 0 20 mm\n"),
        ("# mine", "# mine\n\npoints:\n  p: 10 0 20 mm\n"),
        ("rig: 1\n", "rig: 1\n\npoints:\n  p: 10 0 20 mm\n"),
        ("rig: 1\nrun: {for: 1 s}", "rig: 1\n\npoints:\n  p: 10 0 20 mm\n\nrun: {for: 1 s}"),
        ("points:\n", "points:\n  p: 10 0 20 mm\n"),
        ("points:   # none yet\nrun: {}\n", "points:   # none yet\n  p: 10 0 20 mm\nrun: {}\n"),
        ("points: ~\n", "points: {p: 10 0 20 mm}\n"),
        ("points: {}\n", "points: {p: 10 0 20 mm}\n"),
        ("points: { }  # none\n", "points: {p: 10 0 20 mm }  # none\n"),
        ("{rig: 1}\n", "{rig: 1, points: {p: 10 0 20 mm}}\n"),
        ("points:\n  a: 0 0 0 mm", "points:\n  a: 0 0 0 mm\n  p: 10 0 20 mm\n"),
        ("points:\n  a:\n  - 0 mm\n  - 0 mm\n  - 1 cm\nx: 1\n", None),
        ("points:\n  a: &a 0 0 0 mm\n  b: *a # same\n", "points:\n  a: &a 0 0 0 mm\n  b: *a # same\n  p: 10 0 20 mm\n"),
        ("points:\n  a: {\n    }\n", "points:\n  a: {\n    }\n  p: 10 0 20 mm\n"),
        ("points: {a: 0 0 0 mm,\n  b: 0 0 1 mm # up\n  }\n",
         "points: {a: 0 0 0 mm,\n  b: 0 0 1 mm, p: 10 0 20 mm # up\n  }\n"),
        ("about: |\n  a\n  b\n\n\nrun: {}\n", "about: |\n  a\n  b\n\n\npoints:\n  p: 10 0 20 mm\n\nrun: {}\n"),
    ],
)  # fmt: skip
def test_where_it_is_put(text: str, after: str | None) -> None:
    found = with_point(text, "p", (0.01, 0.0, 0.02), STEP)
    assert found == (after or "points:\n  a:\n  - 0 mm\n  - 0 mm\n  - 1 cm\n  p: 1 0 2 cm\nx: 1\n")
    crlf = with_point(text.replace("\n", "\r\n"), "p", (0.01, 0.0, 0.02), STEP)
    assert crlf.replace("\r\n", "\n") == found


def test_sections_in_their_usual_order() -> None:
    text = "rig: 1\nname: Arm\n\nmotors: {}\n\nrun: {for: 1 s}\n"
    text = with_point(with_point(text, "a", (0, 0, 0), STEP), "b", (0, 0, 0.3), STEP)
    text = with_bar(text, "post", "a", "b", STOCK, fixed=True)
    text = with_bar(text, "arm", "a", "b", STOCK)
    text = with_pin(text, "hub", ("post", "arm"), "a", "front")
    assert list(read_text(text).data) == ["rig", "name", "points", "bodies", "joints", "motors", "run"]
    assert "\n\n\n" not in text
    assert parse_rig(text).joints["hub"].axis == (0.0, 1.0, 0.0)  # type: ignore[attr-defined]


TEXT = "points: {a: 0 0 0 mm, b: 0 0 9 mm}\nbodies: {post: {fixed: true}, wall: {fixed: true}}\njoints: {}\n"


def test_names_that_cant_be() -> None:
    for name in ("", "1a", "left arm", "a-b", "a: 1", "a\nb"):
        with pytest.raises(RigError, match="name"):
            with_point(TEXT, name, (0, 0, 0), STEP)
    with pytest.raises(RigError, match=r"points\.a: there is one of this name already, in line 1"):
        with_point(TEXT, "a", (0, 0, 0), STEP)
    with pytest.raises(RigError, match=r"bodies\.post: there is one of this name already, in line 2"):
        with_bar(TEXT, "post", "a", "b", STOCK)


def test_pins_and_bars_that_cant_be() -> None:
    arm = with_bar(TEXT, "arm", "a", "b", STOCK)
    with pytest.raises(RigError, match="did you mean 'post'"):
        with_pin(arm, "hub", ("pots", "arm"), "a", "front")
    with pytest.raises(RigError, match="joins a body to itself"):
        with_pin(arm, "hub", ("arm", "arm"), "a", "front")
    with pytest.raises(RigError, match="both stand still"):
        with_pin(arm, "hub", ("post", "wall"), "a", "front")
    with pytest.raises(RigError, match="not a point of this file"):
        with_pin(arm, "hub", ("post", "arm"), "c", "front")
    with pytest.raises(RigError, match="not a point of this file"):
        with_bar(TEXT, "arm", "a", "c", STOCK)
    with pytest.raises(RigError, match="on one spot"):
        with_bar(TEXT, "arm", "a", "a", STOCK)
    with pytest.raises(RigError, match="did you mean 'steel'"):
        with_bar(TEXT, "arm", "a", "b", "bar: 25 x 3 mm, of: stel")
    with pytest.raises(RigError, match="sizes with an x between them"):
        with_bar(TEXT, "arm", "a", "b", "bar")
    with pytest.raises(RigError, match="names its kind as a key"):
        with_bar(TEXT, "arm", "a", "b", "of: steel")
    for stock in (
        "",
        "bar: 1 x 1 mm, from: a",
        "bar: 1 x 1 mm}, {b: 2",
        "bar: 1 x 1 mm # x",
        "a: 1\nb: 2",
        "[1]",
    ):
        with pytest.raises(RigError, match="stock"):
            with_bar(TEXT, "arm", "a", "b", stock)


def test_faults_elsewhere_dont_keep_from_drawing() -> None:
    """A bar that is joined to nothing yet, a motor that names no joint: the next point still goes in."""
    text = TEXT.replace("joints: {}", "motors: {m: {joint: hub}}")
    after = with_pin(with_bar(text, "arm", "a", "b", f"{{{STOCK}}}"), "hub", ("post", "arm"), "a", "front")
    assert "\njoints:\n  hub: {pin: [post, arm], at: a, axis: y}\n" in after


def test_files_that_nothing_can_be_put_into() -> None:
    for text in ("- 1\n", "points: [1]\n", "points: up\n"):
        with pytest.raises(SimpropError, match="mapping"):
            with_point(text, "p", (0, 0, 0), STEP)
    with pytest.raises(SimpropError, match="changing something else"):
        with_point("about: &a {}\npoints: *a\n", "p", (0, 0, 0), STEP)
    with pytest.raises(RigError, match="not YAML"):
        with_point("points: {", "p", (0, 0, 0), STEP)
