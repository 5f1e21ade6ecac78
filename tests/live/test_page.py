"""The live page in a browser: values moved there and in the file, faults, keeping, a second page, a phone's width."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from simprop.geometry.arrays import Array
from simprop.live.page.clock import RATE
from simprop.live.page.page import Page
from simprop.live.session import Session
from simprop.scene.viewer import serving
from tests.live.test_state import TEXT
from tests.notes.browser import opened
from tests.page.test_page import DRAWN_IN_SOFTWARE, QUIET

SOON = 60_000
"""Longest that anything may take on a machine that is busy, ms."""


@pytest.fixture
def live(tmp_path: Path) -> Iterator[tuple[str, Path, Page]]:
    """Address and file of a rig that is served, and its page."""
    file = tmp_path / "peeper.yaml"
    file.write_text(TEXT)
    session = Session(file)
    try:
        with serving() as server:
            page = Page(server, session)
            yield f"http://127.0.0.1:{server.get_port()}", file, page
            page.close()
    finally:
        session.close()


def test_moves_what_is_moved_and_follows_its_file(live: tuple[str, Path, Page]) -> None:
    url, file, served = live
    with opened(*DRAWN_IN_SOFTWARE) as browser:
        said: list[str] = []
        asked: list[str] = []
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: said.append(f"error: {error}"))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(url)
        page.get_by_text("DRAFT").or_(page.get_by_text("Settled")).first.wait_for(timeout=SOON)
        clock(page, served)
        clicked(page, served)
        seen(page, served)
        put(page, "50", "62.5")
        page.get_by_role("tab", name="Answers").click()
        page.get_by_text("125 mm").first.wait_for(timeout=SOON, state="attached")
        assert file.read_text() == TEXT, "nothing is written before it is to be kept"

        page.get_by_role("tab", name="Change").click()
        copied(page, served, file)
        page.get_by_role("button", name="Keep in the file").click()
        page.get_by_text("Written: peeper.yaml").wait_for(timeout=SOON)
        assert "  throw: 62.5 mm                     # crank arm, hole to hole" in file.read_text()

        file.write_text(TEXT.replace("axis: y", "axis: u", 1))
        line = next(k for k, row in enumerate(TEXT.splitlines(), 1) if "axis: y" in row)
        page.get_by_text(f"peeper.yaml:{line}:").first.wait_for(timeout=SOON, state="attached")
        file.write_text(TEXT)
        page.get_by_text("Not so:").wait_for(timeout=SOON, state="detached")

        second = browser.new_page(viewport={"width": 390, "height": 700})
        page.close()
        second.goto(url)
        second.get_by_role("tab", name="Answers").click(timeout=SOON)
        second.get_by_text("100 mm").first.wait_for(timeout=SOON, state="attached")
        assert second.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
        assert [u for u in asked if not u.startswith((url, "blob:", "data:"))] == []
        quiet = (
            *QUIET,
            "warning: (OK)",
        )  # of the viewer, where a control is replaced before it was ever drawn
        assert [text for text in said if not text.startswith(quiet)] == []


def clock(page: Any, served: Page) -> None:
    """Keys, buttons, the bar and the way to a peak show the prop at the time that they say."""
    prop, session = served._prop, served._session
    page.keyboard.press("Space")
    until(lambda: not served._clock.plays)
    choose(page, "go to the peak of", "shaft, ")
    view = session.view
    assert view is not None
    when = next(at for name, at in view.peaks if name.startswith("shaft, "))
    until(lambda: abs(prop.time - when) < 1e-3)
    page.get_by_role("button", name="step >").click()
    until(lambda: abs(prop.time - when - 1 / RATE) < 1e-3)
    page.keyboard.press("b")
    until(lambda: abs(prop.time - when) < 1e-3)
    put(page, f"{when:.6g}", "0.75")
    until(lambda: abs(prop.time - 0.75) < 0.5 / RATE)


def clicked(page: Any, served: Page) -> None:
    """A click on the wall tells its mass and its line."""
    shown = served._prop.shown
    assert shown is not None
    wall = next(s for s in shown.data.solids if s.name == "prop/wall")
    middle = wall.surfaces[0].vertices.mean(axis=0) + wall.motion.place[0]
    canvas = page.locator("canvas").first.bounding_box()
    (client,) = served._panel.server.get_clients().values()
    eye = client.camera
    ahead = eye.look_at - eye.position
    ahead /= np.linalg.norm(ahead)
    right = np.cross(ahead, eye.up_direction)
    right /= np.linalg.norm(right)
    way = middle - eye.position
    half = np.tan(eye.fov / 2) * (way @ ahead)  # a pinhole camera
    x = canvas["width"] / 2 + way @ right / half * canvas["height"] / 2
    y = canvas["height"] / 2 - way @ np.cross(right, ahead) / half * canvas["height"] / 2
    page.mouse.click(canvas["x"] + x, canvas["y"] + y)
    line = next(k for k, row in enumerate(TEXT.splitlines(), 1) if row.startswith("  wall:"))
    page.get_by_text(f"(peeper.yaml, line {line})").wait_for(timeout=SOON)


def seen(page: Any, served: Page) -> None:
    """Names stand in the scene; by night its sky is darker."""
    page.get_by_role("tab", name="Seen").click()
    without, day = scene(page), scene(page)[:20].mean()
    page.get_by_label("names of joints").click()
    until(lambda: (scene(page)[200:] != without[200:]).mean() > 0.002)
    choose(page, "light", "night")
    until(lambda: scene(page)[:20].mean() < 0.5 * day)
    page.get_by_role("tab", name="Change").click()


def copied(page: Any, served: Page, file: Path) -> None:
    """A value written in inches, another engine, and both kept: in a copy alone."""
    put(page, "throw = 50 mm", "throw = 2 1/2 in")
    page.get_by_role("button", name="Put it in").click()
    page.get_by_role("button", name="Keep in a copy").click()
    page.get_by_text("Written: peeper_changed.yaml").wait_for(timeout=SOON)
    assert "  throw: 2-1/2 in" in file.with_name("peeper_changed.yaml").read_text()
    assert file.read_text() == TEXT
    choose(page, "engine", "bullet")
    until(lambda: any("bullet" in f.text for v in [served._session.view] if v for f in v.figures))
    choose(page, "engine", "as usual")
    put(page, "63.5", "62.5")


def scene(page: Any) -> Array:
    """How bright the scene is, (800, 500), 0 to 255."""
    picture = page.screenshot(clip={"x": 320, "y": 0, "width": 500, "height": 800})
    return np.asarray(Image.open(BytesIO(picture)).convert("L"), dtype=float)


def choose(page: Any, label: str, begin: str) -> None:
    """Take what begins with some words from a list."""
    page.get_by_label(label).first.click()
    page.get_by_role("option").filter(has_text=begin).first.click()


def until(true: Callable[[], bool]) -> None:
    """Wait for something to come true."""
    end = time.monotonic() + SOON / 1000
    while not true():
        assert time.monotonic() < end, "it never came true"
        time.sleep(0.05)


def put(page: Any, old: str, new: str) -> None:
    """Type another number where one stands."""
    for box in page.locator("input:visible").all():
        if box.input_value() == old:
            box.fill(new)
            box.press("Enter")
            return
    raise AssertionError(f"no {old} is on the page")


def test_ends_by_ctrl_c_with_all_its_processes(tmp_path: Path) -> None:
    psutil = pytest.importorskip("psutil")
    file = tmp_path / "peeper.yaml"
    file.write_text(TEXT)
    command = [sys.executable, "-u", "-m", "simprop", "live", str(file), "--no-open"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert any("127.0.0.1" in row for row in process.stdout)
        children = psutil.Process(process.pid).children(recursive=True)
        process.send_signal(signal.SIGINT)
        assert process.wait(60) == 0
    assert len(children) >= 2
    _, alive = psutil.wait_procs(children, timeout=20)
    assert alive == []
