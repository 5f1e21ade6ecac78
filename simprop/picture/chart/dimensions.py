"""Dimensions of a drawing, one behind the other on one line, as ISO 129-1 has them (from memory)."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from simprop.picture.chart.drawn import INK, Line, Words
from simprop.picture.chart.labels import extent
from simprop.picture.chart.plots import spread

THIN, THICK = 0.35, 0.8
"""Widths of lines, points: dimensions and centre lines, and outlines (about 1 : 2 as ISO 128-2 has it, from memory)."""
SIZE = 7.0
"""Of the figures, points."""
OVER, GAP = 1.5, 1.0
"""How far a line to a feature runs past the dimension line, and stays off the feature, mm."""
ROW = 3.4
"""From one row of figures to the next, mm."""
STROKE = 0.9
"""Half of the slanted stroke at the end of a dimension, mm."""


def figure(length: float) -> str:
    """A length as drawings say it, in mm: to a tenth, less than 10 mm to a twentieth.

    Args:
        length: m.

    Example:
        >>> figure(0.2061554), figure(0.05), figure(0.00635), figure(0.0)
        ('206.2', '50', '6.35', '0')
    """
    step = 20 if abs(length) < 0.01 else 10
    return f"{round(1000 * step * length) / step + 0.0:.2f}".rstrip("0").rstrip(".")


def _tight(places: Sequence[float], texts: Sequence[str]) -> list[bool]:
    """Which figures are wider than what they measure."""
    return [
        extent(text, SIZE)[0] + 1.6 > abs(b - a)
        for a, b, text in zip(places, places[1:], texts, strict=False)
    ]


def chain(
    places: Sequence[float],
    texts: Sequence[str],
    line: float,
    feature: float,
    limits: tuple[float, float],
    *,
    upright: bool = False,
) -> tuple[list[Line], list[Words]]:
    """Dimensions one behind the other; a figure too wide for its place stands one row further out, on a thin line.

    Args:
        places: of what is measured along the dimension line, mm on paper, in order.
        texts: what each distance between two of them is, one fewer.
        line: where the dimension line lies, mm on paper.
        feature: where the features begin from which it stands off, mm on paper.
        limits: least and greatest place of a figure, mm on paper.
        upright: it runs up the paper, figures to the left of it; else across, figures above or below.

    Example:
        >>> lines, words = chain([10.0, 40.0, 42.0], ["300", "20"], 60.0, 50.0, (0.0, 90.0))
        >>> [(w.text, round(w.at[1] - 60.0, 1)) for w in words]
        [('300', 1.7), ('20', 5.1)]
    """
    side = 1.0 if line > feature else -1.0

    def at(along: float, across: float) -> tuple[float, float]:
        return (across, along) if upright else (along, across)

    def drawn(*points: tuple[float, float]) -> Line:
        return Line(np.array([at(*p) for p in points]), INK, THIN, order=5.0)

    lines = [drawn((place, feature + side * GAP), (place, line + side * OVER)) for place in places]
    lines.append(drawn((places[0], line), (places[-1], line)))
    lines += [drawn((p - STROKE, line - STROKE), (p + STROKE, line + STROKE)) for p in places]
    tight, words = _tight(places, texts), []
    middles = [(a + b) / 2 for a, b in pairwise(places)]
    far = [k for k, is_tight in enumerate(tight) if is_tight]
    gap = max((extent(texts[k], SIZE)[0] + 1.2 for k in far), default=0.0)
    low, high = limits[0] + gap / 2, limits[1] - gap / 2
    spots = dict(zip(far, spread([middles[k] for k in far], gap, low, high), strict=True))
    beyond = -1.0 if upright else side  # where the figures stand
    for k, text in enumerate(texts):
        spot, row = spots.get(k, middles[k]), ROW if k in spots else 0.0
        across = line + beyond * (row + ROW / 2)
        if k in spots:
            lines.append(drawn((middles[k], line), (spot, across - beyond * ROW / 2)))
        words.append(Words(text, at(spot, across), SIZE, across="center", upright=upright))
    return lines, words
