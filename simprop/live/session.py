"""A rig that is looked at: its state, the processes that work it out, its file that is followed, the views of it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from threading import Event, RLock, Thread

from simprop.errors import RigError, SimpropError, WriteError
from simprop.live.change import changed, followed, kept, put
from simprop.live.controls import controls
from simprop.live.types import Control, Figure, Held, Job, Stage, State, Told, View
from simprop.live.work import Worker
from simprop.reading.text import text_of
from simprop.written import write_text

STAGES: tuple[Stage, ...] = ("motion", "loads", "strength")
OFTEN = 0.25
"""Seconds between two looks at the file."""


class Session:
    """What all pages that are open on a rig share.

    Args:
        file: the rig file.
        engine: name of the engine; None: the usual one.
        sets: values put over the rig's from the start.

    Attributes:
        state: the rig as its file has it and what is put over it.
        view: the newest that could be run; None before the first.
        fault: why the state can't be run; "" where it can.
        as_filed: figures of the file without changes, by group and name, as far as they are known.
        held: the state that is kept beside it, as it was; None: there is none.
    """

    def __init__(self, file: Path, engine: str | None = None, sets: dict[str, str] | None = None):
        text_of(file)
        self.file = file
        self.state = State(_text(file), str(file), tuple((sets or {}).items()), engine)
        self.view: View | None = None
        self.fault = ""
        self.as_filed: dict[tuple[str, str], Figure] = {}
        self.held: Held | None = None
        self._asked: dict[int, State] = {}
        self.told: Callable[[Told], None] = lambda told: None
        self.followed: Callable[[], None] = lambda: None
        self._number, self._shown = 0, (0, False, -1)
        self._lock, self._end = RLock(), Event()
        self._workers = [Worker(self._hear, settled=False), Worker(self._hear, settled=True)]
        Thread(target=self._follow, daemon=True).start()

    def ask(self) -> None:
        """Have the state worked out."""
        with self._lock:
            self._number += 1
            self._asked[self._number] = self.state
            for worker in self._workers:
                worker.give(Job(self._number, self.state))

    def change(self, field: str, text: str) -> None:
        """Put another value over the rig's."""
        with self._lock:
            self.state = changed(self.state, field, text)
            self.ask()

    def put(self, line: str) -> None:
        """Put another value over the rig's, as somebody writes it.

        Args:
            line: see `simprop.live.change.put`.

        Raises:
            SimpropError: where it can't be put there; then nothing is changed.
        """
        with self._lock:
            self.state = put(self.state, line)
            self.ask()

    def run_by(self, engine: str | None) -> None:
        """Take another engine."""
        with self._lock:
            self.state, self.as_filed = replace(self.state, engine=engine), {}
            self.ask()

    def reset(self) -> None:
        """Take back all that is put over the rig's values."""
        with self._lock:
            self.state = replace(self.state, sets=())
            self.ask()

    def hold(self) -> None:
        """Keep the state that is shown now, to stand beside what comes; without one that can be run, none."""
        with self._lock:
            number = self._shown[0]
            self.held = None if self.view is None else Held(number, self._asked[number], self.view)

    def release(self) -> None:
        """Keep no state any more."""
        with self._lock:
            self.held = None

    def controls(self) -> tuple[Control, ...]:
        """What can be changed; nothing while the file has faults."""
        try:
            return controls(self.state)
        except RigError:
            return ()

    def keep(self, target: Path | None = None) -> Path:
        """Write the changes into the rig file, or into a copy of it.

        Args:
            target: the copy; None: the file itself, which then has no changes put over it.

        Returns:
            What was written.

        Raises:
            SimpropError: where a value can't be put in alone, or the file was saved since it was read.
            WriteError: where it can't be written, or the copy is there already.
        """
        with self._lock:
            text = kept(self.state)
            if target is not None:
                if target.exists():
                    raise WriteError(f"{target} is there already: write the name of a new file")
                return write_text(target, text)
            if _text(self.file) != self.state.text:
                raise SimpropError(f"{self.file} was saved meanwhile: look at it anew, then keep")
            write_text(self.file, text)
            self._take(text)
            return self.file

    def draw(self, text: str) -> None:
        """Take another text of the rig file, which is written at once.

        Args:
            text: of the whole file.

        Raises:
            SimpropError: where the file was saved since it was read, or a change that isn't kept would be lost.
            WriteError: where it can't be written.
        """
        with self._lock:
            if _text(self.file) != self.state.text:
                raise SimpropError(f"{self.file.name} was saved meanwhile: look at it anew")
            after = followed(self.state, text)
            lost = [field for field, value in self.state.sets if (field, value) not in after.sets]
            if lost:
                raise SimpropError(
                    f"{', '.join(lost)}: changed on this page and not kept; keep it in the file or reset it first"
                )
            write_text(self.file, text)
            self._take(text)
        self.followed()

    def close(self) -> None:
        """End its processes."""
        self._end.set()
        for worker in self._workers:
            worker.close()

    def _take(self, text: str) -> None:
        with self._lock:
            self.state, self.as_filed = followed(self.state, text), {}
            self.ask()

    def _follow(self) -> None:
        """Look at the file now and then; where it was saved, its new text counts."""
        while not self._end.wait(OFTEN):
            try:
                text = _text(self.file)
            except (OSError, UnicodeDecodeError):
                continue  # in the middle of being saved
            if text != self.state.text:
                self._take(text)
                self.followed()

    def _hear(self, told: Told) -> None:
        """What a process says; of one state settled figures stand before a draft's, and the deeper before others."""
        with self._lock:
            if told.view is None:
                known = self._shown >= (told.number, True, 0) and not told.settled
                if told.number < self._number or known:
                    return
                if told.settled and self.view is not None and self._shown[0] == told.number:
                    told = replace(told, fault=f"not settled: {told.fault}")
                self.fault = told.fault
            else:
                rank = (told.number, told.settled, STAGES.index(told.view.stage))
                if rank <= self._shown:
                    return
                self._shown, self.view = rank, told.view
                self._asked = {n: state for n, state in self._asked.items() if n >= told.number}
                if self.held is not None and self.held.number == told.number:
                    self.held = replace(self.held, view=told.view)
                if told.number == self._number and (told.settled or not self.fault.startswith("not settled")):
                    self.fault = ""
                if not self.state.sets and told.number == self._number:
                    self.as_filed |= {(f.group, f.name): f for f in told.view.figures}
        self.told(told)


def _text(file: Path) -> str:
    """A file's text with the line ends that it has."""
    return file.read_bytes().decode("utf-8")
