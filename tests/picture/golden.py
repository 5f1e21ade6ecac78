"""Golden pictures: what is drawn, how pictures are compared, and the one command that draws them anew.

python -m tests.picture.golden
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
from PIL import Image

from simprop.picture.render.extras import Arrow, CueRow, Extras, Flash, Gauge
from simprop.picture.render.film import Shot, prepare, still
from tests.picture.props import motion, prop

HERE = Path(__file__).parent
KEPT = HERE / "golden"
FAILED = HERE / "failed"
SIZE = (320, 240)


def _still(view: str, light: str, at: float, extras: bool = False) -> np.ndarray:
    assembly = prop()
    track = motion(assembly)
    more = Extras()
    if extras:
        wave = 2 * np.pi * track.time
        force = np.stack([30 * np.cos(wave), 0 * wave, 20 + 20 * np.sin(wave)], axis=1)
        point = np.tile([0.0, 0.0, 0.56], (len(wave), 1))
        more = Extras(
            [Arrow("wrist", track.time, point, force)],
            [Gauge("drive", track.time, 1 + np.sin(wave), 3.0, 0 * wave + 6.0, 0 * wave + 1.2)],
            [Flash("peak: wrist 41 N", 0.7, point[0])],
            [CueRow("drive", ((0.0, 1.2),))],
            ticks=0.1,
        )
    shot = Shot(
        size=SIZE, view=view, light=light, watch=["wrist", "crankpin"], caption="12 V 5 A", extras=more
    )  # type: ignore[arg-type]
    film = prepare(assembly, track, shot)
    return np.asarray(still(film, int(np.argmin(np.abs(film.poses.time - at)))))


PICTURES: dict[str, Callable[[], np.ndarray]] = {
    "three_quarter_start": lambda: _still("three_quarter", "day", 0.0),
    "front_quarter": lambda: _still("front", "day", 0.24),
    "side_half_night": lambda: _still("side", "night", 0.52),
    "top_three_quarters": lambda: _still("top", "day", 0.76),
    "extras": lambda: _still("three_quarter", "night", 0.72, extras=True),
}


def unlike(expected: np.ndarray, actual: np.ndarray) -> str | None:
    """Why two pictures differ by more than rounding on another processor may do, or None.

    At most 1 % of pixels may differ by more than 10 of 255 in any colour (edges that fall the other way), and the mean
    difference may be at most 0.25.
    """
    if expected.shape != actual.shape:
        return f"size {actual.shape} instead of {expected.shape}"
    away = np.abs(expected.astype(int) - actual.astype(int)).max(axis=2)
    share, mean = float((away > 10).mean()), float(away.mean())
    if share > 0.01 or mean > 0.25:
        return f"{100 * share:.2f} % of pixels differ by more than 10 (allowed: 1 %), mean {mean:.3f} (allowed: 0.25)"
    return None


def save_failure(name: str, expected: np.ndarray, actual: np.ndarray) -> Path:
    """Write expected, actual and a strengthened difference side by side where a person finds them."""
    FAILED.mkdir(exist_ok=True)
    Image.fromarray(expected).save(FAILED / f"{name}_expected.png")
    Image.fromarray(actual).save(FAILED / f"{name}_actual.png")
    if expected.shape == actual.shape:
        away = np.clip(8 * np.abs(expected.astype(int) - actual.astype(int)), 0, 255).astype(np.uint8)
        Image.fromarray(away).save(FAILED / f"{name}_difference.png")
    return FAILED


if __name__ == "__main__":
    KEPT.mkdir(exist_ok=True)
    for picture, make in PICTURES.items():
        Image.fromarray(make()).save(KEPT / f"{picture}.png", optimize=True)
        print(f"drawn: {KEPT / picture}.png")
