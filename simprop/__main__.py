"""``python -m simprop``."""

from __future__ import annotations

import os
import signal
import sys
from typing import Any, NoReturn

STOPPED, ENDED = 130, 143
"""Exit codes after Ctrl-C and after SIGTERM: 128 and the number of the signal, as shells count."""


def _end(number: int, frame: Any) -> NoReturn:
    raise SystemExit(ENDED)


def main() -> NoReturn:
    """The command line, ended in order by Ctrl-C and SIGTERM from its first moment on."""
    signal.signal(signal.SIGTERM, _end)
    try:
        from simprop.cli import main as command

        command()
        code: Any = 0
    except KeyboardInterrupt:
        code = STOPPED
    except SystemExit as end:
        code = end.code
    except SystemError as error:  # a signal that came as a compiled loop returned
        if not isinstance(error.__cause__, (KeyboardInterrupt, SystemExit)):
            raise
        code = getattr(error.__cause__, "code", STOPPED)
    if code in (STOPPED, ENDED):
        print("Stopped; nothing half-written was left.", file=sys.stderr, flush=True)
        os._exit(code)  # without waiting for threads that go on
    sys.exit(code)


if __name__ == "__main__":
    main()
