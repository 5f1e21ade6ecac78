"""The live page's pace and memory: from a change to motion, and to settled figures; what its processes hold.

    python -m tests.bench live [CHANGES]

Each rig runs for 6 s, and its first number is moved to and fro. What is told is timed in the session; where a browser
is installed also on its page, until that reads how far the new state travels. The browser draws in software.
"""

from __future__ import annotations

import os
import re
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from statistics import median
from threading import Condition
from typing import Any

from simprop.live.controls import value_text
from simprop.live.page.page import Page
from simprop.live.session import Session
from simprop.live.types import Control, Told
from simprop.scene.viewer import serving
from tests.bench.study import resident

RIGS = Path(__file__).parents[2] / "rigs"
NAMES = ("wall_peeper", "lantern_grabber", "two_head", "fence_owl")
COUNT, SETTLES, CHANGES, EVERY, WARM = 20, 5, 200, 10, 5
LONGEST = 120.0
"""What takes longer never comes, s."""
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
IN_SOFTWARE = ("--no-sandbox", "--use-angle=swiftshader", "--enable-unsafe-swiftshader")
WINDOW = {"width": 800, "height": 400}
"""Pixels: it is drawn by the same cores that work."""
READS = "text => document.body.textContent.includes(text)"


@dataclass
class Heard:
    """What a session tells, with when, s of `time.perf_counter`.

    Attributes:
        session: that tells it.
        rows: state's number, stage ("settled" for settled figures), when, and processor time, s.
    """

    session: Session
    rows: list[tuple[int, str, float, float]] = field(default_factory=list)
    turn: Condition = field(default_factory=Condition)

    def __post_init__(self) -> None:
        then = self.session.told

        def told(told: Told) -> None:
            then(told)
            if told.view is None:
                return
            stage = "settled" if told.settled else told.view.stage
            with self.turn:
                self.rows.append((told.number, stage, time.perf_counter(), told.seconds))
                self.turn.notify_all()

        self.session.told = told

    def wait(self, stage: str) -> tuple[float, float]:
        """When a stage of the newest state was told, and the processor time that it took, s."""

        def found() -> tuple[float, float] | None:
            rows = [r for r in self.rows if r[0] == self.session._number and r[1] == stage]
            return rows[0][2:] if rows else None

        with self.turn:
            assert self.turn.wait_for(lambda: found() is not None, LONGEST), f"no {stage} came"
            when = found()
        assert when is not None
        return when


def six(name: str, folder: Path) -> Path:
    """A shipped rig that runs for 6 s."""
    text = (RIGS / f"{name}.yaml").read_text()
    shorter, count = re.subn(r"(run:\s*\{?\s*for: )[\d.]+ s", r"\g<1>6 s", text)
    assert count == 1, f"{name} doesn't say how long it runs"
    file = folder / f"{name}.yaml"
    file.write_text(shorter)
    return file


def mover(session: Session) -> Callable[[int], tuple[Control, str]]:
    """The k-th text of the first number of a rig, which goes to and fro, another each time."""
    control = next(c for c in session.controls() if not c.choices)

    def text(k: int) -> tuple[Control, str]:
        middle, width = (control.low + control.high) / 2.5, (control.high - control.low) / 15
        steps = (middle + width * ((7 * k) % 20 - 10) / 10 - control.low) // control.step
        return control, value_text(control, control.low + steps * control.step)

    return text


def rest(session: Session) -> None:
    """Wait until both processes have done all that they were given."""
    until = time.perf_counter() + LONGEST
    while any(worker._done < session._number for worker in session._workers):
        assert time.perf_counter() < until, "it never came to rest"
        time.sleep(0.02)


@contextmanager
def moving(file: Path) -> Iterator[tuple[Session, Heard]]:
    """A session without a page whose engine is warm: its first state has settled."""
    session = Session(file)
    try:
        heard = Heard(session)
        session.ask()
        rest(session)
        yield session, heard
    finally:
        session.close()


def lines(changes: int = CHANGES) -> Iterator[str]:
    """The tables, a line at a time.

    Args:
        changes: in a row, over which memory is looked at.
    """
    yield f"Each rig for 6 s: medians of {COUNT} changes in a row, and of {SETTLES} until figures have settled."
    yield ""
    yield "| Rig | Motion told | Its processor time | Settled figures told | Motion read on a page |"
    yield "|---|---|---|---|---|"
    with tempfile.TemporaryDirectory() as folder:
        for name in NAMES:
            file = six(name, Path(folder))
            yield f"| {name} | {' | '.join([*_paced(file), _read(file)])} |"
        file = six(NAMES[0], Path(folder))
        yield ""
        yield f"Memory over {changes} changes of {NAMES[0]} in a row, MB; warm: after {WARM} of them."
        yield ""
        yield "| Process | warm | at each tenth | most over warm |"
        yield "|---|---|---|---|"
        with moving(file) as (session, heard):
            yield from _held("session alone", session, heard, changes)
        with paged(file) as open_:
            if open_ is not None:
                yield from _held("with a page open", *open_[:2], changes)


def _paced(file: Path) -> Iterator[str]:
    with moving(file) as (session, heard):
        text = mover(session)
        told, spent, settled = [], [], []
        for k in range(COUNT):
            control, value = text(k)
            begin = time.perf_counter()
            session.change(control.field, value)
            when, seconds = heard.wait("motion")
            told.append(when - begin)
            spent.append(seconds)
            if k < SETTLES:
                settled.append(heard.wait("settled")[0] - begin)
    for values in (told, spent, settled):
        yield f"{median(values):.2f} s"


@contextmanager
def paged(file: Path) -> Iterator[tuple[Session, Heard, Any] | None]:
    """The same with its page open in Chromium without a window; None where no browser is installed."""
    found = next((path for name in BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        yield None
        return
    from playwright.sync_api import sync_playwright

    session = Session(file)
    try:
        with serving() as server, sync_playwright() as play:
            shown = Page(server, session)
            heard = Heard(session)
            chromium = play.chromium.launch(executable_path=found, args=list(IN_SOFTWARE))
            page = chromium.new_page(viewport=WINDOW)
            page.goto(f"http://127.0.0.1:{server.get_port()}")
            session.ask()
            rest(session)
            yield session, heard, page
            shown.close()
            chromium.close()
    finally:
        session.close()


def _read(file: Path) -> str:
    """Median time from a change, as another page makes it, until the page reads how far that state travels."""
    with paged(file) as open_:
        if open_ is None:
            return "no browser"
        session, heard, page = open_
        page.get_by_role("tab", name="Answers").click()
        text, taken = mover(session), []
        for k in range(COUNT):
            control, value = text(k)
            before, begin = _travels(session), time.perf_counter()
            session.change(control.field, value)
            heard.wait("motion")
            new = sorted(_travels(session) - before)
            if new:
                page.wait_for_function(READS, arg=new[0], timeout=1000 * LONGEST)
                taken.append(time.perf_counter() - begin)
    return f"{median(taken):.2f} s" if taken else "its travel stays"


def _travels(session: Session) -> set[str]:
    view = session.view
    return set() if view is None else {f.text for f in view.figures if f.group == "Motion"}


def _held(how: str, session: Session, heard: Heard, changes: int) -> Iterator[str]:
    """A row for each process."""
    text = mover(session)
    pids = {"page": os.getpid()} | {
        name: worker._process.pid or 0
        for name, worker in zip(("draft", "settling"), session._workers, strict=True)
    }
    seen: dict[str, list[float]] = {name: [] for name in pids}
    for k in range(changes):
        control, value = text(k)
        session.change(control.field, value)
        heard.wait("motion")
        if k % EVERY == WARM - 1:
            rest(session)
            for name, pid in pids.items():
                seen[name].append(resident(pid))
    assert [w._process.pid for w in session._workers] == list(pids.values())[1:], "a process died of it"
    for name, values in seen.items():
        tenths = values[:: max(1, len(values) // 10)]
        told = " ".join(f"{v:.0f}" for v in tenths)
        yield f"| {name}, {how} | {values[0]:.0f} | {told} | {max(values) - values[0]:.0f} |"
