"""``simprop live``: a rig that moves in the browser while it is written."""

from __future__ import annotations

import signal
import threading
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from rich.text import Text

from simprop.commands.source import SAVED
from simprop.commands.terminal import console
from simprop.errors import SimpropError
from simprop.scene.viewer import serving, viewer

HERE = ("127.0.0.1", "localhost", "::1")


def live_rig(
    file: Path,
    sets: dict[str, str],
    engine: str | None,
    *,
    host: str,
    port: int,
    browse: bool,
    picture: Path | None = None,
) -> int:
    """Serve the page of a rig until Ctrl-C.

    Args:
        file: the rig file, which is followed.
        sets: values put over the rig's from the start.
        engine: name of the engine; None: the usual one.
        host: address to listen on; another than this machine's own brings a warning.
        port: 0: any that is free.
        browse: open the page in the browser.
        picture: to draw on; None: the one that is kept beside the rig, if any.

    Raises:
        RenderError: where viser isn't installed.
        RigError: where the picture can't be read.
        SimpropError: for a recording, or where the address can't be had.
    """
    from simprop.live.page.page import Page
    from simprop.live.session import Session
    from simprop.tracing.pictures import read_picture

    if file.suffix == SAVED:
        raise SimpropError(f"{file}: a recording can't be changed: give its rig file, or make a page of it")
    viewer()
    if picture is not None:
        read_picture(picture)
    if host not in HERE:
        console.print(
            Text(
                f"Caution: --host {host} lets everybody who reaches this address change the rig file and use this "
                "machine; there is no password. Use it in a network of your own alone.",
                style="bold",
            )
        )
    with ending() as end:
        session = Session(file, engine, sets)
        try:
            with serving(host, port) as server:
                page = Page(server, session, picture)
                where = f"http://{'127.0.0.1' if host == '0.0.0.0' else host}:{server.get_port()}"
                console.print(Text(f"{file} moves at {where}; save it and it follows. Ctrl-C ends."))
                if browse:
                    webbrowser.open(where)
                end.wait()
                page.close()
        finally:
            session.close()
    return 0


@contextmanager
def ending() -> Iterator[threading.Event]:
    """An event that Ctrl-C, or the end that the system asks for, sets."""
    end = threading.Event()

    def stop(number: int, frame: FrameType | None) -> None:
        end.set()

    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield end
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
