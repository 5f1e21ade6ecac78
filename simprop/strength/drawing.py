"""Members that bend, drawn at their worst moment."""

from __future__ import annotations

from math import ceil, log10
from pathlib import Path
from typing import Any

import numpy as np

from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.geometry.turning import matrices
from simprop.recording import Recording
from simprop.strength.members.bent import Bent
from simprop.strength.members.pieces import Piece, pieces
from simprop.strength.report import StrengthReport
from simprop.written import written_beside

SEEN = 0.04
"""Bending is drawn at least this large, as a share of the member's length; the scale is written beside it."""
WORTH = 1e-3
"""Members that bend by a smaller share of their length aren't drawn beside the first."""
_INK, _GREY, _BENT = "#1f2933", "#b8c0c8", "#c2410c"


def softest(report: StrengthReport, count: int = 4) -> tuple[Bent, ...]:
    """The members that bend most for their length: the first, and the others that bend by more than a thousandth.

    Args:
        count: how many at most.
    """
    rows = sorted(report.bent, key=lambda b: -b.most / float(b.place[-1]))[:count]
    return tuple(b for k, b in enumerate(rows) if k == 0 or b.most > WORTH * float(b.place[-1]))


def exaggeration(bent: Bent) -> float:
    """How many times larger the bending is drawn: 1, 2, 5, 10, ... so that it can be seen.

    Example:
        >>> place = np.array([0.0, 1.0])
        >>> line = np.zeros((2, 3))
        >>> exaggeration(Bent("arm", 0, 0.0, 0, place, line, line, place, 0.003))
        20.0
    """
    if bent.most <= 0:
        return 1.0
    wanted = SEEN * float(bent.place[-1]) / bent.most
    if wanted <= 1:
        return 1.0
    decade = 10.0 ** ceil(log10(wanted) - 1)
    return float(next(s * decade for s in (1.0, 2.0, 5.0, 10.0) if s * decade >= wanted))


def draw_bent(report: StrengthReport, recording: Recording, path: str | Path, count: int = 4) -> Path:
    """A picture of the members that bend most, each at its worst moment with the whole prop behind it.

    Args:
        path: where to write, ending in ``.png`` or ``.svg``.
        count: how many members at most.

    Returns:
        The path.

    Raises:
        RenderError: when nothing bends or the file can't be written.
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    found = softest(report, count)
    if not found:
        raise RenderError("no member's bending could be computed: nothing to draw")
    columns = min(len(found), 2)
    rows = ceil(len(found) / columns)
    figure = Figure(figsize=(5.2 * columns, 4.6 * rows), layout="constrained")
    FigureCanvasAgg(figure)
    for k, bent in enumerate(found):
        _panel(figure.add_subplot(rows, columns, k + 1), bent, recording)
    figure.suptitle(f"{report.rig}: bending at the worst moment", fontsize=12, color=_INK)
    path = Path(path)
    with written_beside(path.parent) as work:
        fixed = {"Software": None} if path.suffix == ".png" else {"Date": None}
        figure.savefig(work / path.name, dpi=120, metadata=fixed)
    return path


def _panel(draw: Any, bent: Bent, recording: Recording) -> None:
    """One member on matplotlib axes."""
    across, words = _view(bent)
    for index, body in enumerate(recording.assembly.bodies):
        turn = matrices(recording.track.rotation[bent.row, index])
        at = recording.track.position[bent.row, index]
        for piece in pieces(body):
            line = _outline(piece) @ turn.T + at
            draw.plot(line[:, across] * 1e3, line[:, 2] * 1e3, color=_GREY, lw=1.5, solid_capstyle="round")
    scale = exaggeration(bent)
    moved = bent.straight + scale * (bent.bent - bent.straight)
    draw.plot(bent.straight[:, across] * 1e3, bent.straight[:, 2] * 1e3, color=_INK, lw=1.2, ls=(0, (4, 3)))
    draw.plot(moved[:, across] * 1e3, moved[:, 2] * 1e3, color=_BENT, lw=2.4, solid_capstyle="round")
    k = int(np.argmax(bent.moment))
    draw.plot(moved[k, across] * 1e3, moved[k, 2] * 1e3, "o", color=_BENT, ms=5)
    text = f"{float(bent.moment[k]):.3g} N*m"
    draw.annotate(
        text,
        (moved[k, across] * 1e3, moved[k, 2] * 1e3),
        xytext=(6, 8),
        textcoords="offset points",
        color=_BENT,
        fontsize=9,
    )
    drawn = "true scale" if scale == 1 else f"drawn {scale:g} times larger"
    title = f"{bent.name}: {bent.most * 1e3:.3g} mm at {bent.time:.2f} s ({drawn})"
    draw.set_title(title, fontsize=9, color=_INK)
    draw.set_aspect("equal", adjustable="datalim")
    draw.set_xlabel(f"{words}, mm", fontsize=8)
    draw.set_ylabel("z, mm", fontsize=8)
    draw.tick_params(labelsize=8)
    for side in ("top", "right"):
        draw.spines[side].set_visible(False)


def _view(bent: Bent) -> tuple[int, str]:
    """Horizontal axis that shows most of the member and its bending: x, else y."""
    both = np.vstack([bent.straight, bent.bent])
    spread = np.ptp(both, axis=0)
    return (1, "y") if spread[1] > spread[0] + 1e-9 else (0, "x")


def _outline(piece: Piece) -> Array:
    """A piece as a line: its middle line, the edges of a block, a ring for a ball; (k, 3) m, body frame."""
    if piece.boxed:
        x, y, z = np.eye(3) * piece.half
        order = [
            x + y + z,
            x + y - z,
            x - y - z,
            x - y + z,
            x + y + z,
            -x + y + z,
            -x + y - z,
            -x - y - z,
            -x - y + z,
        ]
        order += [-x + y + z, -x - y + z, x - y + z, x - y - z, -x - y - z, -x + y - z, x + y - z]
        return np.asarray(piece.start + np.array(order) @ piece.turn.T)
    if np.array_equal(piece.start, piece.end):
        angle = np.linspace(0.0, 2 * np.pi, 25)
        return np.asarray(
            piece.start + piece.radius * np.column_stack([np.cos(angle), 0 * angle, np.sin(angle)])
        )
    return np.array([piece.start, piece.end])
