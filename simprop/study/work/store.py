"""One SQLite file that keeps what came of variants, so that none is run twice and a study goes on after it was stopped.

A variant is known by its content: the data of its rig, what files it names, how far it is off, how deep it is looked
into, the engine, and the code that would run it. Comments and layout of the rig file are no part of it.

What a run to its end answered is kept by question, for any study that asks the same, whatever its limits; what hangs on
the limits of a study (what it ruled out, and how deep it looked for that) only for one with the same questions and
limits. So a study is told what it would be told without a store.
"""

from __future__ import annotations

import hashlib
import json
import platform
import sqlite3
import struct
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace
from functools import cache, lru_cache
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from simprop.errors import SimpropError
from simprop.rig.load import data_with
from simprop.study.trial.tried import document_of, retold
from simprop.study.types import Answer, Level, Outcome, Study, Variant

FORMAT = 2
"""Of the file; another one is refused."""
OURS = int.from_bytes(b"prop", "big")
"""By what SQLite knows a file to be such a store (`pragma application_id`)."""
ENDING = ".variants.sqlite"
_TOOLS = ("simprop", "numpy", "scipy", "numba", "mujoco", "exudyn", "pybullet", "pint")
WAITS = 30.0
"""For another study that writes into the same file, s."""
AT_ONCE = 500
"""Variants that are looked up at once."""
_TABLES = f"""
begin immediate;
create table if not exists texts (number integer primary key, text text not null unique);
create table if not exists outcomes (
  variant blob, asked integer, ended text not null, depth text not null, reason text not null, seconds real not null,
  primary key (variant, asked)) without rowid;
create table if not exists answers (
  variant blob, asked integer, ask integer, numbers blob, unit text not null, unknown text not null,
  primary key (variant, asked, ask)) without rowid;
pragma application_id={OURS};
pragma user_version={FORMAT};
commit;
"""
_FOR_ANY = 0
"""In place of the number of what was asked, for what doesn't hang on it."""
_NUMBERS = struct.Struct("<2d")
"""An answer's two floats: SQLite's own would lose the sign of a zero, and what isn't a number."""


def store_beside(rig: str | Path) -> Path:
    """The store that goes with a rig file.

    Example:
        >>> store_beside("props/owl.yaml").name
        'owl.variants.sqlite'
    """
    path = Path(rig)
    return path.with_name(path.stem + ENDING)


def key_of(study: Study, variant: Variant, level: Level) -> bytes:
    """By what a variant of a study is known, whatever is asked of it: a SHA-256.

    Args:
        study: its prop and engine.
        variant: the variant.
        level: down to which it is looked into.
    """
    whole = hashlib.sha256(_of_study(study.text, study.file, tuple(study.files.items()), study.engine))
    data, faults = data_with(document_of(study.text, study.file), {**study.sets, **dict(variant.sets)})
    own = [level, data, variant.scatter, [str(f) for f in faults]]
    whole.update(json.dumps(own, default=str).encode())
    return whole.digest()


@lru_cache(maxsize=8)
def _of_study(text: str, file: str, files: tuple[tuple[str, bytes], ...], engine: str | None) -> bytes:
    content = [(name, hashlib.sha256(data).hexdigest()) for name, data in files]
    return json.dumps([engine, tools(), content]).encode()


@cache
def tools() -> dict[str, str]:
    """Versions of all that works out an answer; of this package a fingerprint too. Others may give other numbers."""
    found = {"Python": platform.python_version()}
    for name in _TOOLS:
        with suppress(PackageNotFoundError):
            found[name] = version(name)
    home = Path(__file__).parent.parent.parent
    whole = hashlib.sha256()
    for path in sorted(p for kind in ("*.py", "*.yaml", "*.txt") for p in home.rglob(kind)):
        whole.update(path.relative_to(home).as_posix().encode() + path.read_bytes())
    return {**found, "simprop": f"{found.get('simprop', '')} {whole.hexdigest()[:16]}".strip()}


class Store:
    """Outcomes by their variants, in a file that several studies may share.

    Args:
        path: of the file; made where it isn't there.

    Raises:
        SimpropError: where it can't be opened, is no store, or one of another format.
    """

    def __init__(self, path: Path):
        self.path = path
        self._number: dict[str, int] = {}
        with self._told():
            self._base = sqlite3.connect(path, timeout=WAITS, isolation_level=None)
        try:
            with self._told():
                self._look()
                self._begin()
        except BaseException:
            self._base.close()
            raise

    def _look(self) -> None:
        """Refuse what is something else, before anything is changed in it."""
        (ours,) = self._base.execute("pragma application_id").fetchone()
        (made,) = self._base.execute("pragma user_version").fetchone()
        (tables,) = self._base.execute("select count(*) from sqlite_master").fetchone()
        if tables and (ours, made) != (OURS, FORMAT):
            what = f"a store of format {made}" if ours == OURS else "a database that is no store"
            raise self._refused(f"{what} (allowed: a store of format {FORMAT})")

    def _begin(self) -> None:
        until = time.monotonic() + WAITS
        while True:
            try:
                self._base.execute("pragma journal_mode=wal")
                break
            except (
                sqlite3.OperationalError
            ) as error:  # another study is at this very step: SQLite doesn't wait here
                if "locked" not in str(error) or time.monotonic() > until:
                    raise
                time.sleep(0.01)
        self._base.execute("pragma synchronous=normal")
        self._base.executescript(_TABLES)

    def _refused(self, why: str) -> SimpropError:
        return SimpropError(f"{self.path}: {why}; move it away, or name another one by --store other.sqlite")

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.OperationalError as error:
            raise SimpropError(
                f"{self.path}: the store can't be read or written: {error}; name another place by --store "
                "other.sqlite"
            ) from None
        except sqlite3.DatabaseError as error:
            raise self._refused(f"{error}, so it is no store") from None

    def known(self, study: Study, level: Level, keys: Sequence[bytes]) -> dict[bytes, Outcome]:
        """What is kept of some variants that answers a study's questions.

        Args:
            study: that asks.
            level: down to which they are to be looked into.
            keys: of the variants at that level, as `key_of` tells them.
        """
        found: dict[bytes, Outcome] = {}
        with self._told():
            for start in range(0, len(keys), AT_ONCE):
                found.update(self._known(study, level, keys[start : start + AT_ONCE]))
        return found

    def _known(self, study: Study, level: Level, keys: Sequence[bytes]) -> Iterator[tuple[bytes, Outcome]]:
        question = self._numbered([_question(study)]).get(_question(study), -1)
        numbered = self._numbered(study.asks)
        marks = ",".join("?" * len(keys))
        where = f"where variant in ({marks}) and asked in ({_FOR_ANY}, {question})"
        rows = self._base.execute(
            f"select variant, asked, ended, depth, reason, seconds from outcomes {where} and ended!='lost'",
            keys,
        ).fetchall()
        answers: dict[tuple[bytes, int], dict[int, tuple[Answer | None, str]]] = {}
        for key, asked, ask, numbers, unit, why in self._base.execute(
            f"select variant, asked, ask, numbers, unit, unknown from answers {where}", keys
        ):
            answers.setdefault((key, asked), {})[ask] = (_unpacked(numbers, unit), why)
        for key, asked, ended, depth, reason, seconds in sorted(rows, key=lambda row: row[1] == question):
            own = answers.get((key, asked), {})
            told = {text: own[n] for text, n in numbered.items() if n in own}
            if asked == _FOR_ANY and ended == "done":
                again = retold(study, level, told)
                if again is not None:
                    yield key, replace(again, seconds=seconds)
                continue
            values = [told.get(text, (None, "")) for text in study.asks]
            answered, unknown = tuple(a for a, _ in values), tuple(w for _, w in values)
            yield key, Outcome(ended, depth, answered, reason, unknown, seconds)

    def keep(self, study: Study, level: Level, found: Sequence[tuple[bytes, Outcome]]) -> None:
        """Keep what came of some variants; those that were lost will be tried again.

        Args:
            study: that asked.
            level: down to which they were to be looked into.
            found: keys and outcomes.
        """
        with self._told(), self._writing():
            question, *asks = self._numbers([_question(study), *study.asks])
            for key, out in found:
                for asked in _places(study, level, out, question):
                    row = (key, asked, out.ended, out.level, out.reason, out.seconds)
                    self._base.execute("insert or replace into outcomes values (?,?,?,?,?,?)", row)
                    answers = [
                        (key, asked, ask, *_packed(*one)) for ask, one in zip(asks, _told(out), strict=True)
                    ]
                    self._base.executemany("insert or replace into answers values (?,?,?,?,?,?)", answers)

    def _numbers(self, texts: Sequence[str]) -> list[int]:
        """Numbers of texts; they are entered where they are new."""
        for text in texts:
            if text not in self._number:
                self._base.execute("insert or ignore into texts (text) values (?)", (text,))
        return list(map(self._numbered(texts).__getitem__, texts))

    def _numbered(self, texts: Sequence[str]) -> dict[str, int]:
        """Numbers of those texts that have one."""
        for text in texts:
            if text not in self._number:
                found = self._base.execute("select number from texts where text=?", (text,)).fetchone()
                if found:
                    self._number[text] = found[0]
        return {text: self._number[text] for text in texts if text in self._number}

    @contextmanager
    def _writing(self) -> Iterator[None]:
        self._base.execute("begin immediate")
        try:
            yield
        except BaseException:
            self._base.execute("rollback")
            self._number.clear()
            raise
        self._base.execute("commit")

    def close(self) -> None:
        """Let go of the file."""
        self._base.close()


def _question(study: Study) -> str:
    """What is asked and wanted, for outcomes that hang on that."""
    return repr((study.asks, study.limits))


def _places(study: Study, level: Level, out: Outcome, question: int) -> set[int]:
    """Under which numbers an outcome is kept."""
    if out.ended in ("refused", "open") and not any(a or w for a, w in _told(out)):
        return {_FOR_ANY}
    if out.ended != "done" or out.level not in ("draft", "settled"):
        return {question}
    again = retold(study, level, dict(zip(study.asks, _told(out), strict=True)))
    return {_FOR_ANY} if again is not None else {_FOR_ANY, question}


def _told(out: Outcome) -> list[tuple[Answer | None, str]]:
    unknown = out.unknown or ("",) * len(out.answers)
    return list(zip(out.answers, unknown, strict=True))


def _packed(answer: Answer | None, unknown: str) -> tuple[bytes | None, str, str]:
    return (
        (None, "", unknown)
        if answer is None
        else (_NUMBERS.pack(answer.value, answer.si), answer.unit, unknown)
    )


def _unpacked(numbers: bytes | None, unit: str) -> Answer | None:
    if numbers is None:
        return None
    value, si = _NUMBERS.unpack(numbers)
    return Answer(value, unit, si)
