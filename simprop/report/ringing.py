"""Whether rigid will do, in words: for `check` before a run, and for the reports of one."""

from __future__ import annotations

from collections.abc import Sequence
from math import isinf

from simprop.loads.ringing import ABOVE, Ringing
from simprop.report.figures import number
from simprop.report.structure import Table


def ringing_table(found: Sequence[Ringing]) -> Table:
    """One row a body: how it rings as held and loaded, and whether rigid will do."""
    return Table(("body", "rings at", "taken as rigid"), [(r.body, rings_at(r), judged(r)) for r in found])


def rings_at(ring: Ringing) -> str:
    """Its lowest frequency.

    Example:
        >>> rings_at(Ringing("arm", 3.87, 0.02, 1.05, 0.33, "the start of drive"))
        '3.87 Hz'
    """
    return "-" if isinf(ring.frequency) else f"{number(ring.frequency)} Hz"


def judged(ring: Ringing) -> str:
    """Whether rigid will do, and why.

    Example:
        >>> judged(Ringing("arm", 3.87, 0.02, 1.05, 0.33, "the start of drive"))
        'will do: the start of drive bends it 1.05 times as far as if it followed at once'
        >>> judged(Ringing("arm", 1.21, 0.02, 1.05, 0.75, "the start of drive"))
        'RINGS: only 1.6 times above the 0.75 turns a second of what drives it (10 times are wanted)'
    """
    if isinf(ring.frequency):
        return "will do: it is held all over"
    if ring.frequency < ABOVE * ring.turns:
        times = number(ring.frequency / ring.turns, 2)
        turns = f"the {number(ring.turns, 2)} turns a second of what drives it ({ABOVE:g} times are wanted)"
        return f"RINGS: only {times} times above {turns}"
    if ring.ratio is None:
        return "will do: nothing bends it"
    return (
        f"{'RINGS' if ring.rings else 'will do'}: {ring.cause} bends it {ring.ratio:.2f} times as far as if it "
        "followed at once"
    )


def ringing_line(found: Sequence[Ringing]) -> str:
    """The verdict on all bodies in one sentence; "" where there is none to judge.

    Example:
        >>> ringing_line([Ringing("arm", 3.87, 0.02, 1.05, 0.33, "a start at 0.1 s")])
        'Rigid will do: no body rings by itself'
    """
    rings = [r for r in found if r.rings]
    if not rings:
        return "Rigid will do: no body rings by itself" if found else ""
    starting = [r for r in rings if r.frequency >= ABOVE * r.turns and r.cause.startswith(STARTS)]
    running = [r for r in rings if r not in starting]
    lines = []
    if running:
        who, whose = ("it rings", "its") if len(running) == 1 else ("they ring", "their")
        names = ", ".join(f"{r.body} ({rings_at(r)})" for r in running)
        ask = "put `bends: true` on it or run with --bend"
        lines.append(f"Taken as rigid, but {who}: {names}; for {whose} loads with bending {ask}")
    if starting:
        names = ", ".join(f"{r.body} ({rings_at(r)}) {r.ratio:.2g}" for r in starting)
        first = "These ring only" if running else "Rigid will do once the motors run; some ring only"
        lines.append(
            f"{first} while one starts, and bear then so many times what a rigid run tells of the start: {names}; "
            "--bend tells how much that is"
        )
    return ". ".join(lines)


STARTS = ("the start", "a start")
"""How the cause begins of what rings because a motor starts."""
