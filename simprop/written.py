"""Writing files so that they appear whole, and together, or not at all."""

from __future__ import annotations

import os
import re
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from simprop.errors import WriteError

_MAKING = ".making-"


@contextmanager
def written_beside(folder: Path) -> Iterator[Path]:
    """A temporary folder inside `folder`; its files are moved up together when the block ends well, else thrown away.

    What a run left here that was killed before it could do so is thrown away too. Names that begin with a dot are not
    moved.

    Args:
        folder: where the files go; made where it isn't there, and taken away again when the block fails.

    Raises:
        WriteError: where it can't be written, or the disk is full.
    """
    made = [place for place in (folder, *folder.parents) if not place.exists()]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _sweep(folder)
        work = Path(tempfile.mkdtemp(prefix=f"{_MAKING}{os.getpid()}-", dir=folder))
        work.chmod(0o777 & ~_umask())
    except OSError as error:
        raise WriteError(f"can't write into {folder}: {error.strerror}") from None
    try:
        yield work
        _move_up(work, folder)
    except OSError as error:
        raise WriteError(f"can't write into {folder}: {error.strerror or error}") from None
    finally:
        shutil.rmtree(work, ignore_errors=True)
        with suppress(OSError):
            for place in made:
                place.rmdir()  # only what is empty


def write_text(path: Path, text: str) -> Path:
    """Write text (UTF-8).

    Args:
        path: where, in a folder that `written_beside` gave or beside nothing that must fit to it.
        text: what.

    Raises:
        WriteError: when it can't be written.
    """
    with written_beside(path.parent) as work:
        (work / path.name).write_text(text, encoding="utf-8")
    return path


def file_name(text: str) -> str:
    """A name from a rig as part of a file's name: letters, digits, dot, dash and underscore stay.

    Example:
        >>> file_name("left arm"), file_name("../<a|b>")
        ('left_arm', '.._a_b_')
    """
    return re.sub(r"[^\w.-]+", "_", text)[:100]


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _move_up(work: Path, folder: Path) -> None:
    files = [p for p in sorted(work.rglob("*")) if p.is_file()]
    with _alone(folder):
        for file in files:
            place = file.relative_to(work)
            if not any(part.startswith(".") for part in place.parts):
                (folder / place).parent.mkdir(parents=True, exist_ok=True)
                os.replace(file, folder / place)


@contextmanager
def _alone(folder: Path) -> Iterator[None]:
    """No other run moves its files into the folder meanwhile; where the system has no such locks, they may mix."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _sweep(folder: Path) -> None:
    """Throw away what killed runs left; only where a process can be asked for without harm."""
    if os.name != "posix":
        return
    for left in folder.glob(f"{_MAKING}*"):
        owner = left.name.removeprefix(_MAKING).split("-", 1)[0]
        try:
            os.kill(int(owner), 0)
        except (ProcessLookupError, ValueError):
            shutil.rmtree(left, ignore_errors=True)
        except OSError:  # it runs, under another user
            continue
