"""``python -m simprop``."""

from __future__ import annotations

import os
import signal
import sys
import threading
from typing import Any, NoReturn

STOPPED, ENDED = 130, 143
"""Exit codes after Ctrl-C and after SIGTERM: 128 and the number of the signal, as shells count."""


AGAIN = 2.0
"""A signal that has not ended the command after so long was swallowed by a library, and is sent again, s."""


def _send(number: int, after: float) -> None:
    later = threading.Timer(after, os.kill, (os.getpid(), number))
    later.daemon = True
    later.start()


def _end(number: int, frame: Any) -> NoReturn:
    _send(number, AGAIN)
    raise KeyboardInterrupt if number == signal.SIGINT else SystemExit(ENDED)


def _again(lost: Any) -> None:
    """A signal that came while foreign code called back is lost there: it is sent once more, a moment later."""
    if isinstance(lost.exc_value, KeyboardInterrupt | SystemExit):
        _send(signal.SIGINT if isinstance(lost.exc_value, KeyboardInterrupt) else signal.SIGTERM, 0.02)
        return
    sys.__unraisablehook__(lost)


def main() -> NoReturn:
    """The command line, ended in order by Ctrl-C and SIGTERM from its first moment on.

    Algebra has one thread: matrices here are so small that more of them wait for each other longer than they compute,
    and figures then don't hang on how many cores there are.
    """
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, _end)
    sys.unraisablehook = _again
    try:
        from simprop.cli import main as command

        command()
        code: Any = 0
    except KeyboardInterrupt:
        code = STOPPED
    except SystemExit as end:
        code = end.code
    except SystemError as error:  # a signal that came as a compiled loop returned
        from simprop.errors import signal_behind

        found = signal_behind(error)
        if found is None:
            raise
        code = getattr(found, "code", STOPPED)
    for number in (signal.SIGINT, signal.SIGTERM):
        signal.signal(number, signal.SIG_IGN)
    if code in (STOPPED, ENDED):
        print("Stopped; nothing half-written was left.", file=sys.stderr, flush=True)
        os._exit(code)  # without waiting for threads that go on
    sys.exit(code)


if __name__ == "__main__":
    main()
