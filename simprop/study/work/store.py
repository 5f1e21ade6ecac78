"""One SQLite file that keeps what came of variants, so that none is run twice and a study goes on after it was stopped.

A variant is known by its content: the data of its rig, what files it names, how far it is off, the engine, and the code
that would run it. Comments and layout of the rig file are no part of it.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from simprop.errors import SimpropError
from simprop.reading.text import read_text
from simprop.rig.load import data_with
from simprop.run.once import versions
from simprop.study.types import Answer, Level, Outcome, Study, Variant

FORMAT = 1
"""Of the file; another one is refused."""
ENDING = ".variants.sqlite"
WAITS = 30.0
"""For another study that writes into the same file, s."""
AT_ONCE = 500
"""Variants that are looked up at once."""
_TABLES = """
create table if not exists outcomes (
  variant text, level text, asked text, ended text not null, depth text not null, reason text not null,
  seconds real not null, primary key (variant, level, asked)) without rowid;
create table if not exists answers (
  variant text, level text, asked text, ask text, value real, unit text not null, si real, unknown text not null,
  primary key (variant, level, asked, ask)) without rowid;
"""
_FOR_ANY = ""
"""What an outcome was asked that doesn't hang on its questions."""


def store_beside(rig: str | Path) -> Path:
    """The store that goes with a rig file.

    Example:
        >>> store_beside("props/owl.yaml").name
        'owl.variants.sqlite'
    """
    path = Path(rig)
    return path.with_name(path.stem + ENDING)


def key_of(study: Study, variant: Variant) -> str:
    """By what a variant of a study is known, whatever is asked of it: a SHA-256 in hexadecimal.

    Args:
        study: its prop and engine.
        variant: the variant.
    """
    whole = hashlib.sha256(_of_study(study.text, study.file, tuple(study.files.items()), study.engine))
    data, faults = data_with(_read(study.text, study.file), {**study.sets, **dict(variant.sets)})
    whole.update(json.dumps([data, variant.scatter, [str(f) for f in faults]], default=str).encode())
    return whole.hexdigest()


@lru_cache(maxsize=8)
def _read(text: str, file: str) -> Any:
    return read_text(text, file)


@lru_cache(maxsize=8)
def _of_study(text: str, file: str, files: tuple[tuple[str, bytes], ...], engine: str | None) -> bytes:
    names = ("mujoco", "exudyn") if engine is None else (engine,)
    made = [versions(name) for name in names]
    content = [(name, hashlib.sha256(data).hexdigest()) for name, data in files]
    return json.dumps([engine, made, code(), content]).encode()


@cache
def code() -> str:
    """Fingerprint of this package: another one may compute other numbers."""
    home = Path(__file__).parent.parent.parent
    found = hashlib.sha256()
    for path in sorted(p for kind in ("*.py", "*.yaml", "*.txt") for p in home.rglob(kind)):
        found.update(path.relative_to(home).as_posix().encode() + path.read_bytes())
    return found.hexdigest()


def _question(study: Study) -> str:
    """What is asked and wanted, for outcomes that hang on that."""
    return hashlib.sha256(repr((study.asks, study.limits)).encode()).hexdigest()[:32]


class Store:
    """Outcomes by their variants, in a file that several studies may share.

    Args:
        path: of the file; made where it isn't there.

    Raises:
        SimpropError: where it can't be opened, is no store, or one of another format.
    """

    def __init__(self, path: Path):
        self.path = path
        with self._told():
            self._base = sqlite3.connect(path, timeout=WAITS, isolation_level=None)
            self._base.execute("pragma journal_mode=wal")
            self._base.execute("pragma synchronous=normal")
            self._open()

    def _open(self) -> None:
        (format_,) = self._base.execute("pragma user_version").fetchone()
        tables = {name for (name,) in self._base.execute("select name from sqlite_master where type='table'")}
        if format_ == 0 and not tables:
            self._base.executescript(f"begin immediate; {_TABLES} pragma user_version={FORMAT}; commit;")
        elif format_ != FORMAT or not tables >= {"outcomes", "answers"}:
            self._base.close()
            what = f"a store of format {format_}" if "outcomes" in tables else "a database that is no store"
            raise SimpropError(
                f"{self.path}: {what} (allowed: a store of format {FORMAT}); move it away, or name another one by "
                "--store other.sqlite"
            )

    @contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.DatabaseError as error:
            raise SimpropError(
                f"{self.path}: can't be used as a store: {error}; move it away, or name another one by --store "
                "other.sqlite"
            ) from None

    def known(self, study: Study, keys: Sequence[str], level: Level) -> dict[str, Outcome]:
        """What is kept of some variants that answers a study's questions.

        Args:
            study: that asks.
            keys: of the variants, as `key_of` tells them.
            level: down to which they are to be looked into.
        """
        found: dict[str, Outcome] = {}
        with self._told():
            for start in range(0, len(keys), AT_ONCE):
                found.update(self._known(study, keys[start : start + AT_ONCE], level))
        return found

    def _known(self, study: Study, keys: Sequence[str], level: Level) -> Iterator[tuple[str, Outcome]]:
        marks = ",".join("?" * len(keys))
        given = [*keys, level, _FOR_ANY, _question(study)]
        where = f"where variant in ({marks}) and level=? and asked in (?, ?)"
        rows = self._base.execute(
            f"select variant, asked, ended, depth, reason, seconds from outcomes {where}", given
        ).fetchall()
        answers = {
            (key, asked, ask): (None if value is None else Answer(value, unit, si), unknown)
            for key, asked, ask, value, unit, si, unknown in self._base.execute(
                f"select variant, asked, ask, value, unit, si, unknown from answers {where}", given
            )
        }
        for key, asked, ended, depth, reason, seconds in rows:
            own = [answers.get((key, asked, ask)) for ask in study.asks]
            if ended == "done" and None in own:  # it was asked something else
                continue
            told = [(None, "") if one is None else one for one in own]
            values, unknown = zip(*told, strict=True) if told else ((), ())
            yield key, Outcome(ended, depth, tuple(values), reason, tuple(unknown), seconds)

    def keep(self, study: Study, level: Level, found: Sequence[tuple[str, Outcome]]) -> None:
        """Keep what came of some variants; those that were lost will be tried again.

        Args:
            study: that asked.
            level: down to which they were to be looked into.
            found: keys and outcomes.
        """
        outcomes, answers = list[tuple[object, ...]](), list[tuple[object, ...]]()
        for key, out in found:
            if out.ended == "lost":
                continue
            asked = _question(study) if out.ended in ("ruled out", "jams") else _FOR_ANY
            outcomes.append((key, level, asked, out.ended, out.level, out.reason, out.seconds))
            unknown = out.unknown or ("",) * len(study.asks)
            for ask, answer, why in zip(study.asks, out.answers, unknown, strict=True):
                if answer is not None:
                    answers.append((key, level, asked, ask, answer.value, answer.unit, answer.si, ""))
                else:
                    answers.append((key, level, asked, ask, None, "", None, why))
        with self._told():
            self._base.execute("begin immediate")
            self._base.executemany("insert or replace into outcomes values (?,?,?,?,?,?,?)", outcomes)
            self._base.executemany("insert or replace into answers values (?,?,?,?,?,?,?,?)", answers)
            self._base.execute("commit")

    def close(self) -> None:
        """Let go of the file."""
        with suppress(sqlite3.Error):
            self._base.execute("pragma wal_checkpoint(truncate)")
        self._base.close()
