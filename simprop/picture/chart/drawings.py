"""A dimensioned front and side view with joint names and travel, as a vector drawing (SVG or PDF)."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError
from simprop.geometry.arrays import Array
from simprop.geometry.surface import Surface
from simprop.picture.chart.plots import figure, save
from simprop.picture.render.motion import poses_at
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory

Part = tuple[int, list[Surface]]
"""Body and surfaces of a part."""

INK = "#1c1e22"
FAINT = "#8a8d92"
MARK = "#b3400a"


def _outline(surfaces: list[Surface], turn: Array, shift: Array, plane: tuple[int, int]) -> Array:
    """Silhouette of a part in a plane as a closed polygon: its convex hull, (k, 2) mm."""
    from scipy.spatial import ConvexHull, QhullError

    points = np.concatenate([s.vertices for s in surfaces])
    flat = 1000 * (points @ turn.T + shift)[:, list(plane)]
    try:
        return np.asarray(flat[ConvexHull(flat).vertices])
    except QhullError:
        return flat[:2]


def _tint(colour: tuple[float, float, float]) -> tuple[float, float, float]:
    red, green, blue = (0.45 * c ** (1 / 2.2) + 0.55 for c in colour)
    return (red, green, blue)


def dimension(
    axes: Any, a: tuple[float, float], b: tuple[float, float], text: str, off: tuple[float, float]
) -> None:
    """A dimension line from a to b, set off by `off` (all mm), with extension lines and its length in words."""
    pa, pb = np.add(a, off), np.add(b, off)
    for p, q in ((a, pa), (b, pb)):
        over = np.subtract(q, p) * 1.12
        axes.plot([p[0], p[0] + over[0]], [p[1], p[1] + over[1]], color=FAINT, linewidth=0.5)
    axes.annotate(
        "", pb, pa, arrowprops={"arrowstyle": "<|-|>", "color": INK, "linewidth": 0.7, "mutation_scale": 7}
    )
    upright = abs(pb[1] - pa[1]) > abs(pb[0] - pa[0])
    axes.text(
        (pa[0] + pb[0]) / 2, (pa[1] + pb[1]) / 2, text, fontsize=7.5, ha="center", va="center", color=INK,
        rotation=90 if upright else 0, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.8},
    )  # fmt: skip


def schematic(assembly: Assembly, track: Trajectory | None, path: str | Path, at: float = 0.0) -> Path:
    """Front and side view at one instant: outlines of the parts, joints by name, main sizes, travel of watched points.

    Args:
        track: its motion, for poses and travel; None draws the start pose without travel.
        path: SVG or PDF (or PNG) by its ending.
        at: instant, s.

    Returns:
        The path written.
    """
    count = len(assembly.bodies)
    if track is None or at == 0.0:
        turn, shift = np.tile(np.eye(3), (count, 1, 1)), np.array([b.com for b in assembly.bodies])
    else:
        poses = poses_at(assembly, track, np.array([at]))
        turn, shift = poses.turn[0], poses.shift[0]
    parts: list[Part] = []
    for i, body in enumerate(assembly.bodies):
        for shape in body.shapes:
            surfaces = shape.surfaces()
            if surfaces:
                parts.append((i, surfaces))
    if not parts:
        raise RenderError("there is nothing to draw: no body has a visible part")
    corners = [s.vertices @ turn[i].T + shift[i] for i, own in parts for s in own]
    low = 1000 * np.min([c.min(axis=0) for c in corners], axis=0)
    high = 1000 * np.max([c.max(axis=0) for c in corners], axis=0)
    size = high - low
    views: list[tuple[str, tuple[int, int]]] = [("Front", (0, 2)), ("Side", (1, 2))]
    if any(j.kind.mark == "hinge" and abs(j.axis[2]) > 0.7 for j in assembly.joints):
        views.append(("From above", (0, 1)))
    widths = [float(size[plane[0]]) + 0.35 * float(size.max()) for _, plane in views]
    tallest = max(float(size[plane[1]]) for _, plane in views) * 1.3
    wide = 5.0 * len(views)
    page, panes = figure(
        wide, float(np.clip(wide * tallest / sum(widths) + 0.8, 3.5, 9.5)), 1, len(views), width_ratios=widths
    )
    for axes, (name, plane) in zip(panes[0], views, strict=True):
        _view(axes, assembly, parts, turn, shift, plane)
        _sizes(axes, low[list(plane)], high[list(plane)])
        if track is not None:
            _travel(axes, assembly, track, plane)
        _joints(axes, assembly, track, at, plane, low, high)
        axes.set_title(name, fontsize=10, loc="left")
        axes.set_aspect("equal")
        axes.axis("off")
    lengths = _lengths(assembly)
    if lengths:
        page.text(
            0.01, 0.0, "Between joints: " + ";  ".join(lengths), fontsize=8, color=INK, va="bottom", wrap=True
        )
    page.suptitle(f"{assembly.rig.name}: sizes in mm, at {at:.2f} s", fontsize=11, x=0.01, ha="left")
    save(page, Path(path))
    return Path(path)


def _view(
    axes: Any, assembly: Assembly, parts: list[Part], turn: Array, shift: Array, plane: tuple[int, int]
) -> None:
    # nearer parts over farther ones: seen from the front small y is near, from the side and above large x and z
    def depth(part: Part) -> float:
        i, own = part
        middle = np.concatenate([s.vertices for s in own]).mean(axis=0) @ turn[i].T + shift[i]
        return float({(0, 2): -middle[1], (1, 2): middle[0], (0, 1): middle[2]}[plane])

    for i, own in sorted(parts, key=depth):
        shape = _outline(own, turn[i], shift[i], plane)
        colour = own[0].finish.colour
        dash = "-" if not assembly.bodies[i].fixed else (0, (5, 1.5))
        axes.fill(*shape.T, facecolor=_tint(colour), edgecolor=INK, linewidth=0.7, linestyle=dash, alpha=0.9)


def _sizes(axes: Any, low: Array, high: Array) -> None:
    gap = 0.07 * float(max(high - low))
    dimension(axes, (low[0], low[1]), (high[0], low[1]), f"{high[0] - low[0]:.0f}", (0.0, -gap))
    dimension(axes, (low[0], low[1]), (low[0], high[1]), f"{high[1] - low[1]:.0f}", (-gap, 0.0))


def _joints(
    axes: Any,
    assembly: Assembly,
    track: Trajectory | None,
    at: float,
    plane: tuple[int, int],
    low: Array,
    high: Array,
) -> None:
    places: list[tuple[float, float, str]] = []
    for joint in assembly.joints:
        point = joint.point
        if track is not None and at > 0:
            poses = poses_at(assembly, track, np.array([at]))
            body = joint.first
            point = poses.turn[0, body] @ (joint.point - assembly.bodies[body].com) + poses.shift[0, body]
        x, z = float(1000 * point[plane[0]]), float(1000 * point[plane[1]])
        along = bool(abs(joint.axis[3 - sum(plane)]) > 0.7)
        marker = {"hinge": "o" if along else "_", "circle": "o", "square": "s", "diamond": "D", "cross": "x"}[
            joint.kind.mark
        ]
        axes.plot(
            [x], [z], marker, color=MARK, markersize=5, markerfacecolor="white", markeredgewidth=1.2, zorder=5
        )
        places.append((x, z, joint.name))
    if not places:
        return
    right = float(high[plane[0]]) + 0.08 * float(max(high - low))
    gap = 0.03 * float(max(high - low)) + 4
    heights: list[float] = []
    for x, z, name in sorted(places, key=lambda p: p[1]):
        height = max(z, heights[-1] + gap) if heights else z
        heights.append(height)
        axes.annotate(
            name, (x, z), xytext=(right, height), fontsize=8, color=MARK, va="center",
            arrowprops={"arrowstyle": "-", "color": MARK, "linewidth": 0.5},
        )  # fmt: skip


def _travel(axes: Any, assembly: Assembly, track: Trajectory, plane: tuple[int, int]) -> None:
    step = max(1, len(track.time) // 1500)
    poses = poses_at(assembly, track, track.time[::step])
    points = watched(assembly)
    paths = 1000 * follow(points, poses)
    for k, point in enumerate(points):
        path = paths[:, k][:, list(plane)]
        axes.plot(*path.T, color="#0072b2", linewidth=1.1, zorder=6)
        span = np.ptp(path, axis=0)
        words = [
            f"{v:.0f} {w}"
            for v, w in zip(span, ("across", "away" if plane == (0, 1) else "up"), strict=True)
            if v > 0.5
        ]
        if words:
            axes.annotate(
                f"{point.name}: {', '.join(words)}", tuple(path[int(np.argmax(path[:, 1]))]), xytext=(0, 7),
                textcoords="offset points", fontsize=7.5, color="#0072b2", ha="center", zorder=7,
                bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.6, "alpha": 0.8},
            )  # fmt: skip


def _lengths(assembly: Assembly) -> list[str]:
    """Distances between the joints of each moving body, in words."""
    out = []
    for i, body in enumerate(assembly.bodies):
        own = [j for j in assembly.joints if i in (j.first, j.second)]
        if body.fixed:
            continue
        for a in range(len(own)):
            for b in range(a + 1, len(own)):
                gap = 1000 * float(np.linalg.norm(own[a].point - own[b].point))
                if gap > 0.5:
                    out.append(f"{body.name} {own[a].name} to {own[b].name} {gap:.1f}")
    return out
