"""A browser without a window, for the pages of build notes."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
MARGINS = {"A4": (210.0 - 28.0, 297.0 - 30.0), "Letter": (215.9 - 28.0, 279.4 - 30.0)}
"""Width and height between the margins of the page's style sheet, mm (ISO 216, ANSI/ASME Y14.1)."""
MM = 96 / 25.4
"""Pixels of CSS in a millimetre."""


@contextmanager
def opened(*options: str) -> Iterator[Any]:
    """Chromium by Playwright; skips where none is installed, and fails where that is on a CI run.

    Args:
        options: more of its command line.
    """
    found = next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None:
        reason = f"no browser is installed here (looked for {', '.join(NAMES)})"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        chromium = play.chromium.launch(executable_path=found, args=["--no-sandbox", *options])
        yield chromium
        chromium.close()


class Watched:
    """A page of a browser that keeps what is fetched and what its console says.

    Args:
        browser: the browser.
        file: the page.
        width: of the window, pixels.
    """

    def __init__(self, browser: Any, file: Path, width: int):
        self.page = browser.new_page(viewport={"width": width, "height": 844})
        self.said: list[str] = []
        self.fetched: list[str] = []
        self.page.on("console", lambda message: self.said.append(f"{message.type}: {message.text}"))
        self.page.on("pageerror", lambda error: self.said.append(f"error: {error}"))
        self.page.on("request", lambda request: self.fetched.append(request.url))
        self.page.goto(file.resolve().as_uri(), wait_until="load")

    @property
    def elsewhere(self) -> list[str]:
        """What was fetched besides the page itself and what it holds."""
        return [url for url in self.fetched[1:] if not url.startswith(("data:", "blob:"))]

    def wider(self) -> float:
        """How much wider than its window the page is, pixels."""
        return float(self.page.evaluate("document.documentElement.scrollWidth - innerWidth"))

    def plays(self) -> float:
        """Seconds of the first clip that were played once it was started."""
        self.page.evaluate("document.querySelector('video').play()")
        script = "(clip => clip.played.length && clip.played.end(0))(document.querySelector('video'))"
        return float(self.page.wait_for_function(script, timeout=30_000).json_value())

    def unseen(self) -> list[str]:
        """Pictures that could not be decoded, by what they are said to show."""
        script = "Array.from(document.images).filter(i => !i.complete || !i.naturalWidth).map(i => i.alt)"
        return list(self.page.evaluate(script))

    def printed(self, paper: str, style: str = "") -> list[str]:
        """Text of each page as printed; what may not be cut begins with [k and ends with k], k being its number.

        Args:
            paper: A4 or Letter.
            style: more style sheet.
        """
        from pypdf import PdfReader

        script = """style => {
          const extra = document.createElement('style');
          extra.id = 'extra';
          extra.textContent = style + ' .mark { position: absolute; font: 4px monospace; } '
            + ' figure, tr { position: relative; } .mark.top { top: 0; left: 0; } .mark.end { bottom: 0; right: 0; }';
          document.head.append(extra);
          document.querySelectorAll('figure, tr').forEach((whole, k) => {
            const inside = whole.tagName == 'TR' ? whole.cells[0] : whole;
            for (const [sort, text] of [['top', '[' + k + '#'], ['end', '#' + k + ']']]) {
              const mark = document.createElement('span');
              mark.className = 'mark ' + sort;
              mark.textContent = text;
              inside.append(mark);
            }
          });
        }"""
        self.page.evaluate(script, style)
        content = self.page.pdf(format=paper, print_background=True)
        self.page.evaluate("document.querySelectorAll('.mark, #extra').forEach(e => e.remove())")
        return [page.extract_text() for page in PdfReader(BytesIO(content)).pages]

    def too_wide(self, paper: str) -> list[str]:
        """What reaches beyond the margins when printed: the tag and words of each."""
        wide, _ = MARGINS[paper]
        self.page.emulate_media(media="print")
        self.page.set_viewport_size({"width": int(wide * MM), "height": 900})
        script = """() => Array.from(document.querySelectorAll('main *')).filter(e =>
          e.getBoundingClientRect().right > innerWidth + 1).map(e => e.tagName + ' ' + e.textContent.slice(0, 60))"""
        found = list(self.page.evaluate(script))
        self.page.emulate_media(media="null")
        return found


def cut(pages: list[str]) -> list[int]:
    """Numbers of what begins on a printed page and ends on another (see `Watched.printed`).

    The head of a table that goes on is on both, whole.
    """
    begins, ends = (
        {(int(n), k) for k, text in enumerate(pages) for n in re.findall(mark, text)}
        for mark in (r"\[(\d+)#", r"#(\d+)\]")
    )
    return sorted({n for n, _ in begins ^ ends})


def marked(pages: list[str]) -> int:
    """How many were found of what may not be cut."""
    return len({n for text in pages for n in re.findall(r"\[(\d+)#", text)})
