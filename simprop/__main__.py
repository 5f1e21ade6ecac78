"""``python -m simprop``."""

from __future__ import annotations

import os
import signal
import sys
import threading
from typing import Any, NoReturn

STOPPED, ENDED = 130, 143
"""Exit codes after Ctrl-C and after SIGTERM: 128 and the number of the signal, as shells count."""


def _end(number: int, frame: Any) -> NoReturn:
    raise SystemExit(ENDED)


def _again(lost: Any) -> None:
    """A signal that came while foreign code called back is lost there: it is sent once more, a moment later."""
    if isinstance(lost.exc_value, KeyboardInterrupt | SystemExit):
        number = signal.SIGINT if isinstance(lost.exc_value, KeyboardInterrupt) else signal.SIGTERM
        later = threading.Timer(0.02, os.kill, (os.getpid(), number))
        later.daemon = True
        later.start()
        return
    sys.__unraisablehook__(lost)


def _behind(error: BaseException | None) -> BaseException | None:
    """The signal that an error came from, however deep; None where it came from none."""
    while error is not None and not isinstance(error, KeyboardInterrupt | SystemExit):
        error = error.__cause__ or error.__context__
    return error


def main() -> NoReturn:
    """The command line, ended in order by Ctrl-C and SIGTERM from its first moment on."""
    signal.signal(signal.SIGTERM, _end)
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
        signalled = _behind(error)
        if signalled is None:
            raise
        code = getattr(signalled, "code", STOPPED)
    if code in (STOPPED, ENDED):
        print("Stopped; nothing half-written was left.", file=sys.stderr, flush=True)
        os._exit(code)  # without waiting for threads that go on
    sys.exit(code)


if __name__ == "__main__":
    main()
