"""The page of build notes of every shipped rig in a browser: it needs nothing, plays, fits a phone, prints whole."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from simprop.commands.fields import write_page
from simprop.commands.notes import notes_of
from simprop.rig.examples import EXAMPLES, example
from simprop.rig.reference import reference
from tests.notes.browser import Watched, cut, marked, opened

RIGS = sorted((Path(__file__).parents[2] / "rigs").glob("*.yaml"))
PHONE, DESK = 390, 1280


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    with opened() as found:
        yield found


def written(rig: Path, folder: Path) -> Path:
    """The page of a rig whose motion is cut short: what is tried here is the page, not the motion."""
    notes_of(rig, {"run.for": "0.05 s"}, None, folder, size=(160, 120), settle=False)
    return folder / "notes.html"


@pytest.mark.parametrize("rig", RIGS, ids=lambda p: p.stem)
def test_page(rig: Path, tmp_path: Path, browser: Any) -> None:
    file = written(rig, tmp_path)
    watched = Watched(browser, file, PHONE)
    assert watched.wider() <= 0
    assert watched.plays() > 0
    assert watched.unseen() == []
    watched.page.set_viewport_size({"width": DESK, "height": 844})
    assert watched.wider() <= 0
    figures = watched.page.evaluate("document.querySelectorAll('figure, tr').length")
    for paper in ("A4", "Letter"):
        assert watched.too_wide(paper) == []
        pages = watched.printed(paper)
        assert marked(pages) == figures
        assert cut(pages) == []
    assert watched.elsewhere == []
    assert watched.said == []
    watched.page.close()
    links_hold(tmp_path / "notes.md", file)


def links_hold(markdown: Path, page: Path) -> None:
    """Every picture of the Markdown is there, and the page has as many."""
    text = markdown.read_text()
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", text)
    assert pictures
    for name in pictures:
        assert (markdown.parent / name).is_file()
    assert page.read_text().count("<figure") == len(pictures)


PAGE = """<!DOCTYPE html><title>Bad</title><style>@page { margin: 14mm 14mm 16mm }</style><main>
<figure style="height: 200mm">a</figure><figure style="height: 200mm">b</figure><p style="width: 2000px">c</p>
<img src="missing.png"><video muted></video></main>
<script>console.log("said"); fetch("http://localhost:1/x").catch(() => 0)</script>"""


def test_what_is_wrong_with_a_page_is_seen(tmp_path: Path, browser: Any) -> None:
    """The same questions of a page that has every fault."""
    (tmp_path / "bad.html").write_text(PAGE)
    watched = Watched(browser, tmp_path / "bad.html", PHONE)
    watched.page.wait_for_timeout(300)
    assert watched.wider() > 0
    assert len(watched.unseen()) == 1
    assert any("said" in line for line in watched.said)
    assert any("localhost" in url for url in watched.elsewhere)
    assert watched.too_wide("A4")
    pages = watched.printed("A4", "figure { break-inside: auto }")
    assert marked(pages) == 2
    assert cut(pages)
    watched.page.close()


def test_the_page_of_fields_has_an_example_of_every_kind(tmp_path: Path, browser: Any) -> None:
    """Those that `tests/kinds` takes through every room; it fits a phone and needs nothing."""
    write_page(tmp_path / "fields.html")
    watched = Watched(browser, tmp_path / "fields.html", PHONE)
    assert watched.wider() <= 0
    assert (watched.elsewhere, watched.said) == ([], [])
    told = set(
        watched.page.evaluate("Array.from(document.querySelectorAll('p > code')).map(e => e.textContent)")
    )
    assert {example(sort, kind) for sort, table in EXAMPLES.items() for kind in table} <= told
    places = {e.place or "The whole file" for e in reference()}
    assert places <= set(
        watched.page.evaluate("Array.from(document.querySelectorAll('h2')).map(e => e.textContent)")
    )
    watched.page.close()
