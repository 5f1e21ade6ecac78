"""Rigs, runs and recordings show themselves in IPython."""

from __future__ import annotations

import subprocess
import sys
from html import unescape
from typing import Any

import pytest
from IPython.core.interactiveshell import InteractiveShell

import simprop
from tests.page.held import held
from tests.page.test_page import RIGS

PENDULUM = """
rig: 1
name: Pendulum
bodies: {post: {fixed: true}, bob: {parts: [{bar: 20 x 20 mm, of: pine, from: 0 0 0 mm, to: 300 0 0 mm}]}}
joints: {hook: {pin: [post, bob], at: 0 0 0 mm, axis: y}}
run: {for: 0.2 s}
"""


@pytest.fixture(scope="module")
def shell() -> Any:
    made = InteractiveShell()
    simprop.load_ipython_extension(made)
    return made


def shown(shell: Any, thing: object) -> str:
    """The page within what a notebook shows of something."""
    data, _ = shell.display_formatter.format(thing)
    text: str = data["text/html"]
    return unescape(text[text.index('srcdoc="') + 8 : text.rindex('"')])


def test_a_rig_shows_what_it_is(shell: Any) -> None:
    text = shown(shell, simprop.parse_rig(PENDULUM))
    assert "Pendulum: reads and goes together" in text
    assert "<img" in text
    assert "hook" in text


def test_a_rig_that_does_not_go_together_says_why(shell: Any) -> None:
    data, _ = shell.display_formatter.format(simprop.load_rig(RIGS / "wall_peeper.yaml", {"throw": "900 mm"}))
    assert data["text/html"].startswith("<pre>")
    assert "900 mm" in data["text/html"]


def test_a_run_and_its_recording_move(shell: Any) -> None:
    run = simprop.simulate(simprop.parse_rig(PENDULUM), settle=False)
    for thing in (run, run.recording):
        text = shown(shell, thing)
        assert held(text).duration == pytest.approx(0.2, abs=0.05)
        assert "joint hook" in text


def test_without_the_viewer_a_run_is_a_still(shell: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "viser", None)
    text = shown(shell, simprop.simulate(simprop.parse_rig(PENDULUM), settle=False))
    assert "<iframe" not in text
    assert "data:image/jpeg" in text
    assert "joint hook" in text


def test_importing_it_in_ipython_is_enough() -> None:
    line = f"simprop.load_rig({str(RIGS / 'well_lid.yaml')!r})"
    script = (
        "from IPython.core.interactiveshell import InteractiveShell as S; s = S.instance();"
        "s.run_cell('import simprop'); f = s.display_formatter.formatters['text/html'];"
        f"rig = s.run_cell({line!r}).result;"
        "print('Well lid' in f(rig))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip().endswith("True")
