"""A picture drawn on in a browser: laid by two clicks, a four-bar traced off it, a point dragged and taken back."""

from __future__ import annotations

import time
from difflib import unified_diff
from math import dist, tan
from pathlib import Path
from typing import Any

import pytest

from simprop.errors import SimpropError
from simprop.live.drawing.steps import Steps
from simprop.live.page.page import Page
from simprop.live.session import Session
from simprop.reading.text import read_text
from simprop.rig.load import parse_rig
from simprop.scene.viewer import serving
from simprop.tracing.kept import kept_beside, load_placing
from simprop.tracing.placing import fineness, place_of
from simprop.tracing.types import Placing
from tests.live.sketch import APART, COUPLER, CRANK, GROUND, ROCKER, pins, pixel, sketch
from tests.live.test_page import SOON
from tests.live.test_state import Idle
from tests.notes.browser import opened
from tests.page.test_page import DRAWN_IN_SOFTWARE, QUIET

EMPTY = """# a four-bar, to be traced off a sketch
rig: 1
name: Traced
bodies:
  base: {fixed: true, parts: [{block: 400 x 60 x 18 mm, of: pine, at: 200 60 9 mm}]}
run: {for: 0.1 s}
"""
NOISE = (*QUIET, "warning: (OK)", "error: Unable to preventDefault inside passive event listener invocation.")
"""What the viewer says of itself, the last of each press of a mouse button."""


class Hand:
    """A hand at a page.

    Args:
        page: of the browser.
        client: of the server, whose camera tells what is where.
    """

    def __init__(self, page: Any, client: Any):
        self.page, self._camera = page, client.camera

    def at(self, spot: tuple[float, float]) -> tuple[float, float]:
        """Where a place seen from the front is on the screen, pixels: by its pinhole camera."""
        box = self.page.locator("canvas").first.bounding_box()
        eye, target = self._camera.position, self._camera.look_at
        metre = box["height"] / (2 * abs(target[1] - eye[1]) * tan(self._camera.fov / 2))
        x, y = (spot[0] - target[0]) * metre, (target[2] - spot[1]) * metre
        return box["x"] + box["width"] / 2 + x - 0.5, box["y"] + box["height"] / 2 + y - 0.5

    def click(self, spot: tuple[float, float], answer: str) -> None:
        """Click a place, and wait for what is said."""
        self.page.mouse.click(*self.at(spot))
        self.hear(answer)

    def drag(self, one: tuple[float, float], other: tuple[float, float]) -> None:
        """Drag what is at one place to another."""
        self.page.mouse.move(*self.at(one))
        self.page.mouse.down()
        self.page.mouse.move(*self.at(other), steps=6)
        self.page.mouse.up()

    def press(self, button: str, answer: str) -> None:
        """Press a button, and wait for what is said."""
        self.page.get_by_role("button", name=button).click()
        self.hear(answer)

    def field(self, label: str) -> Any:
        """The input beside a label."""
        beside = f"//*[normalize-space(text())='{label}']/ancestor::*[.//input][1]//input"
        return self.page.locator(f"xpath={beside}").first

    def write(self, label: str, text: str) -> None:
        """Write into a field."""
        self.field(label).fill(text)
        self.field(label).press("Enter")

    def choose(self, label: str, option: str) -> None:
        """Choose from a drop-down."""
        self.field(label).click()
        self.page.get_by_role("option", name=option, exact=True).click()

    def hear(self, answer: str) -> None:
        """Wait for what is said."""
        self.page.get_by_text(answer).first.wait_for(timeout=SOON, state="attached")


def test_a_four_bar_is_traced_and_a_point_dragged(tmp_path: Path) -> None:
    file, bench = tmp_path / "traced.yaml", tmp_path / "elsewhere" / "bench.png"
    file.write_text(EMPTY)
    bench.parent.mkdir()
    sketch().save(bench)
    said: list[str] = []
    asked: list[str] = []
    session = Session(file)
    try:
        with serving() as server, opened(*DRAWN_IN_SOFTWARE) as browser:
            shown = Page(server, session)
            url = f"http://127.0.0.1:{server.get_port()}"
            page = browser.new_page(viewport={"width": 1280, "height": 800})
            page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
            page.on("pageerror", lambda error: said.append(f"error: {error}"))
            page.on("request", lambda request: asked.append(request.url))
            page.goto(url)
            page.get_by_role("tab", name="Draw").click(timeout=SOON)
            with page.expect_file_chooser() as chosen:
                page.get_by_role("button", name="Take a picture").click()
            chosen.value.set_files(bench)
            (client,) = server.get_clients().values()
            hand = Hand(page, client)
            hand.hear("Saved beside the rig as bench.png")
            laid(hand, shown)
            for mark, true in zip(
                load_placing(kept_beside(file)).marks, ((0.0, 0.0), (APART, 0.0)), strict=True
            ):
                assert dist(mark, pixel(true)) < 1.5, "a mark is where it was clicked, pixels of the sketch"
            traced(hand, load_placing(kept_beside(file)))
            lengths(file.read_text())
            hand.page.get_by_text("Not so:").wait_for(timeout=SOON, state="detached")
            dragged(hand, file, fineness(load_placing(kept_beside(file))))
            shown.close()
    finally:
        session.close()
    assert [u for u in asked if not u.startswith((url, "blob:", "data:"))] == []
    assert [text for text in said if not text.startswith(NOISE)] == []


def laid(hand: Hand, shown: Page) -> None:
    """Lay the sketch by its two crosses, which are level though the sheet lies askew."""
    hand.hear("Settled")
    hand.press("Set two marks", "Click the two marks")
    settle(hand)
    guessed = shown._drawing._board.placing
    assert guessed is not None
    hand.click(place_of(guessed, pixel((0.0, 0.0))), "Now the second mark.")
    hand.click(place_of(guessed, pixel((APART, 0.0))), "Drag the crosses")
    hand.write("marks apart", f"{APART:g} mm")
    hand.choose("the marks are", "level")
    hand.press("Lay it", "Laid; kept in traced.picture.yaml")
    settle(hand)


def traced(hand: Hand, placing: Placing) -> None:
    """Click the four pins, then the bars between them and the pins in them."""
    spots = {name: place_of(placing, pixel(spot)) for name, spot in pins().items()}
    hand.page.get_by_role("tab", name="New").click()
    for name, spot in spots.items():
        hand.write("name", name)
        hand.press("New point", "Click where the new point is.")
        hand.click(spot, f"new: {name}:")
    for name, one, other in (
        ("crank", "hub", "knob"),
        ("coupler", "knob", "elbow"),
        ("rocker", "elbow", "heel"),
    ):
        hand.write("name", name)
        hand.press("New bar", "Click the two points")
        hand.click(spots[one], f"From {one}:")
        hand.click(spots[other], f"new: {name}:")
    for name, one, other in (
        ("hub", "base", "crank"),
        ("knob", "crank", "coupler"),
        ("elbow", "coupler", "rocker"),
        ("heel", "rocker", "base"),
    ):
        hand.write("name", name)
        hand.choose("first body", one)
        hand.choose("second body", other)
        hand.press("New pin", "Click a point")
        hand.click(spots[name], f"at: {name}")


def lengths(text: str) -> None:
    """Its four lengths are those of the sketch within a millimetre, and nothing else came into the file."""
    points = parse_rig(text, "traced.yaml").points
    for one, other, length in (
        ("hub", "knob", CRANK),
        ("knob", "elbow", COUPLER),
        ("elbow", "heel", ROCKER),
        ("hub", "heel", GROUND),
    ):
        found = dist(points[one][:3], points[other][:3])
        assert found == pytest.approx(length / 1e3, abs=1e-3), (one, other)
    assert not [
        row for row in unified_diff(EMPTY.splitlines(), text.splitlines(), n=0) if row[:1] == "-" != row[1:2]
    ]


def dragged(hand: Hand, file: Path, step: float) -> None:
    """Drag a point: its numbers follow to within the fineness, every other line stays; taken back, every byte does."""
    before = file.read_text()
    x, _, z = parse_rig(before, "traced.yaml").points["elbow"][:3]
    goal = (x - 0.0314, z + 0.0227)
    hand.drag((x, z), goal)
    hand.hear(", line ")
    end = time.monotonic() + SOON / 1e3
    while file.read_text() == before:
        assert time.monotonic() < end, "nothing was written"
        time.sleep(0.02)
    after = file.read_text()
    rows = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert [b.split(":")[0].strip() for _, b in rows] == ["elbow"]
    now = parse_rig(after, "traced.yaml").points["elbow"]
    assert abs(now[0] - goal[0]) <= step
    assert abs(now[2] - goal[1]) <= step
    hand.press("Take back", "Taken back: elbow:")
    assert file.read_text() == before


def settle(hand: Hand) -> None:
    """Wait until the eye stands still."""
    last = None
    for _ in range(100):
        now = tuple(hand._camera.position)
        if now == last:
            return
        last = now
        hand.page.wait_for_timeout(150)
    raise AssertionError("the eye never stands still")


def test_a_step_is_not_written_over_what_was_saved_or_not_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("simprop.live.session.OFTEN", 60.0)
    monkeypatch.setattr("simprop.live.session.Worker", Idle)
    text = "rig: 1\nname: A\nparams: {throw: 50 mm}\npoints:\n  pin: 0 0 300 mm   # up\nbodies: {post: {fixed: true}}\n"
    file = tmp_path / "arm.yaml"
    file.write_text(text)
    session = Session(file)
    steps = Steps(session)
    other = text.replace("0 0 300", "5 0 300")
    assert steps.take(other) == "pin: 0 0 300 mm -> 5 0 300 mm, line 5"
    assert steps.back() == "pin: 5 0 300 mm -> 0 0 300 mm, line 5"
    assert file.read_text() == text
    with pytest.raises(SimpropError, match="nothing was drawn"):
        steps.back()
    session.change("throw", "60 mm")
    steps.take(other)
    assert session.state.sets == (("throw", "60 mm"),)
    with pytest.raises(SimpropError, match="throw: changed on this page and not kept"):
        steps.take(other.replace("50 mm", "55 mm"))
    file.write_text(other + "# mine\n")
    with pytest.raises(SimpropError, match="saved meanwhile"):
        steps.take(text)
    with pytest.raises(SimpropError, match="saved meanwhile"):
        steps.back()
    assert read_text(file.read_text()).data["points"] == {"pin": "5 0 300 mm"}
    assert file.read_text().endswith("# mine\n")
    session.close()
