"""The live page in a browser: values moved there and in the file, faults, keeping, a second page, a phone's width."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from simprop.live.page.page import Page
from simprop.live.session import Session
from simprop.scene.viewer import serving
from tests.live.test_state import TEXT
from tests.notes.browser import opened
from tests.page.test_page import DRAWN_IN_SOFTWARE, QUIET

SOON = 60_000
"""Longest that anything may take on a machine that is busy, ms."""


@pytest.fixture
def live(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """Address and file of a rig that is served."""
    file = tmp_path / "peeper.yaml"
    file.write_text(TEXT)
    session = Session(file)
    try:
        with serving() as server:
            page = Page(server, session)
            yield f"http://127.0.0.1:{server.get_port()}", file
            page.close()
    finally:
        session.close()


def test_moves_what_is_moved_and_follows_its_file(live: tuple[str, Path]) -> None:
    url, file = live
    with opened(*DRAWN_IN_SOFTWARE) as browser:
        said: list[str] = []
        asked: list[str] = []
        page = browser.new_page(viewport={"width": 1280, "height": 800})
        page.on("console", lambda message: said.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda error: said.append(f"error: {error}"))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(url)
        page.get_by_text("DRAFT").or_(page.get_by_text("Settled")).first.wait_for(timeout=SOON)
        put(page, "50", "62.5")
        page.get_by_role("tab", name="Answers").click()
        page.get_by_text("125 mm").first.wait_for(timeout=SOON, state="attached")
        assert file.read_text() == TEXT, "nothing is written before it is to be kept"

        page.get_by_role("tab", name="Change").click()
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
