"""Curves of a run: path of a point coloured by speed, torque against crank angle, load rose."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.assembly.types import Assembly
from simprop.errors import RenderError, one_of
from simprop.geometry.arrays import Array
from simprop.loads.driving import Rows, stretches
from simprop.picture.chart.plots import FLATTENS, INKS, draw_series, figure, in_columns, save, thinned
from simprop.picture.chart.sheets import cycle_span
from simprop.picture.render.extras import given
from simprop.picture.render.motion import poses_at
from simprop.picture.render.watch import follow, watched

if TYPE_CHECKING:
    from simprop.engine.world import Trajectory
    from simprop.loads.joints import JointLoads


def pole_path(assembly: Assembly, track: Trajectory, point: str, path: str | Path) -> Path:
    """The path of a point over the last cycle, in the plane it moves in most, coloured by speed.

    A dot marks every 0.1 s.

    Args:
        point: a point or joint of the rig.
        path: PNG, SVG or PDF by its ending.

    Raises:
        RenderError: for a name that is neither.
    """
    from matplotlib.collections import LineCollection

    span = cycle_span(track)
    time = np.linspace(*span, 1500)
    poses = poses_at(assembly, track, time)
    places = 1000 * follow(watched(assembly, [point]), poses)[:, 0]
    speed = np.linalg.norm(np.gradient(places, time, axis=0), axis=1) / 1000
    spread = np.ptp(places, axis=0)
    a, b = sorted(np.argsort(-spread, kind="stable")[:2])
    names = ("x (to the right)", "y (away)", "z (up)")
    page, panes = figure(6.4, 5.6)
    axes = panes[0, 0]
    flat = places[:, [a, b]]
    lines = LineCollection(
        [flat[i : i + 2] for i in range(len(flat) - 1)],
        array=speed[:-1],
        cmap="cividis",
        linewidth=2.6,
        capstyle="round",
    )
    axes.add_collection(lines)
    for mark in np.arange(np.ceil(time[0] / 0.1) * 0.1, time[-1], 0.1):
        row = int(np.searchsorted(time, mark))
        axes.plot(
            *flat[row], "o", color="white", markeredgecolor="#333333", markersize=3.2, markeredgewidth=0.7
        )
    fast = int(np.argmax(speed))
    axes.annotate(
        f"fastest {speed[fast]:.2f} m/s", tuple(flat[fast]), xytext=(10, 8), textcoords="offset points", fontsize=9,
        arrowprops={"arrowstyle": "-", "linewidth": 0.6},
        bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.85},
    )  # fmt: skip
    bar = page.colorbar(lines, ax=axes, shrink=0.8)
    bar.set_label("speed, m/s", fontsize=9)
    axes.set_xlabel(f"{names[a]}, mm", fontsize=10)
    axes.set_ylabel(f"{names[b]}, mm", fontsize=10)
    middle, half = (flat.min(axis=0) + flat.max(axis=0)) / 2, 0.58 * max(float(spread.max()), 1.0)
    axes.set_xlim(middle[0] - half, middle[0] + half)
    axes.set_ylim(middle[1] - half, middle[1] + half)
    axes.set_aspect("equal")
    axes.set_title(f"{assembly.rig.name}: path of {point}, a dot every 0.1 s", fontsize=11, loc="left")
    save(page, Path(path))
    return Path(path)


def torque_against_angle(loads: JointLoads, path: str | Path, motor: str | None = None) -> Path:
    """What a motor gives against the angle of its joint, every turn laid over the last, with what it can give.

    Args:
        path: PNG, SVG or PDF by its ending.
        motor: its name; None: the first.

    Raises:
        RenderError: without that motor.
    """
    shafts = zip(loads.recording.laws.motors, given(loads), strict=False)
    motors = {m.name: (k, m.axis, load) for k, (m, (_, load)) in enumerate(shafts)}
    if not motors:
        raise RenderError("there is no motor whose torque could be drawn")
    name = next(iter(motors)) if motor is None else motor
    one_of(name, motors, "motor")
    k, axis, load = motors[name]
    track = loads.recording.track
    turning = loads.recording.assembly.axes[axis].motion == "turn"
    place = np.degrees(track.coordinate[:, axis]) if turning else 1000 * track.coordinate[:, axis]
    page, panes = figure(8.0, 4.2)
    axes = panes[0, 0]
    around = turning and np.ptp(place) >= 360
    shown = np.mod(place, 360.0) if around else place
    turn = np.floor(place / 360.0) if around else np.zeros(len(place))
    many = np.unique(turn)
    full = [n for n in many if np.ptp(shown[turn == n]) > 350] if around else []
    last = full[-1] if full else many[-1]
    begun = loads.driven[k].start
    _starts(axes, begun, shown, load)
    for one in many:
        rows = np.flatnonzero((turn == one) & ~begun)
        if not len(rows):
            continue
        latest = one == last
        draw_series(
            axes,
            in_columns(shown[rows], load[rows]),
            color=INKS[1] if latest else "#9aa0a6",
            linewidth=1.6 if latest else 0.9,
            zorder=3 if latest else 2,
        )
    unit = "N*m" if turning else "N"
    top = loads.motors[k].peak.row
    words = f"{load[top]:.3g} {unit} at {track.time[top]:.2f} s"
    runs = load[~begun]
    usual, jolt = float(np.abs(runs).max(initial=0.0)), float(np.abs(load[begun]).max(initial=0.0))
    if jolt > FLATTENS * usual > 0.0:
        axes.set_ylim(min(0.0, 1.2 * float(runs.min())), 1.3 * max(usual, 0.0))
        axes.text(0.5, 0.97, f"a start goes to {jolt:.3g} {unit}, off the scale", transform=axes.transAxes,
                  ha="center", va="top", fontsize=9, color="#777777")  # fmt: skip
    axes.plot([shown[top]], [load[top]], "o", color="white", markeredgecolor=INKS[2], markersize=6.5,
              markeredgewidth=1.8, zorder=4, clip_on=False)  # fmt: skip
    axes.annotate(
        words, (shown[top], load[top]), xytext=(9, 6), textcoords="offset points", fontsize=9.5,
        weight="bold", color=INKS[2], ha="left" if shown[top] < np.mean([shown.min(), shown.max()]) else "right",
    )  # fmt: skip
    able = loads.motors[k].able
    if able is not None and able < axes.get_ylim()[1] * 1.5:
        axes.set_ylim(top=max(axes.get_ylim()[1], 1.08 * able))
        axes.axhline(able, color="#555555", linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            f"can give {able:.3g} {unit}", (1.0, able), xycoords=("axes fraction", "data"), xytext=(-4, 4),
            textcoords="offset points", ha="right", fontsize=8.5, color="#555555",
        )  # fmt: skip
    if around:
        axes.set_xlim(0, 360)
        axes.set_xticks(range(0, 361, 45))
    axes.set_xlabel(
        "angle from the start pose, deg" if turning else "place from the start pose, mm", fontsize=10
    )
    axes.set_ylabel(f"{name}: {'torque' if turning else 'force'}, {unit}", fontsize=10)
    laid = (
        f", {len(np.unique(turn))} turns (the last in colour)" if around and len(np.unique(turn)) > 1 else ""
    )
    axes.set_title(f"{loads.recording.assembly.rig.name}: {name}{laid}", fontsize=11, loc="left")
    save(page, Path(path))
    return Path(path)


def _starts(axes: Any, begun: Rows, place: Array, load: Array) -> None:
    """The starts of a drive, lighter than its running."""
    for begin, end in stretches(begun):
        wraps = np.flatnonzero(np.abs(np.diff(place[begin:end])) > 180.0) + 1 + begin
        for first, last in pairwise([begin, *wraps.tolist(), end]):
            found = in_columns(place[first:last], load[first:last])
            draw_series(axes, found, color="#c9b79c", linewidth=1.0, zorder=2)
    if begun.any():
        axes.annotate(
            "start, lighter", (0.995, 0.02), xycoords="axes fraction", ha="right", fontsize=8, color="#a08c6c"
        )


def load_rose(loads: JointLoads, joint: str, path: str | Path) -> Path:
    """The force in a joint by direction, as it turns over the run, seen along the joint's axis; its peak is marked.

    Directions are those of the joint's first body, so that the picture shows where the pin presses on its hole.

    Args:
        path: PNG, SVG or PDF by its ending.

    Raises:
        RenderError: for a name that isn't a joint.
    """
    assembly, track = loads.recording.assembly, loads.recording.track
    index = {j.name: k for k, j in enumerate(assembly.joints)}
    one_of(joint, index, "joint")
    data = assembly.joints[index[joint]]
    poses = poses_at(assembly, track, track.time)
    force = np.einsum("nji,nj->ni", poses.turn[:, data.first], loads.wrenches.force[:, index[joint]])
    axis = data.axis if np.linalg.norm(data.axis) > 0.5 else np.array([0.0, 1.0, 0.0])
    if axis @ np.array([-0.3, 1.0, -0.5]) < 0:
        axis = -axis  # seen from the front (from above for an upright axis)
    up = np.array([0.0, 0.0, 1.0]) if abs(axis[2]) < 0.9 else np.array([0.0, 1.0, 0.0])
    up = up - axis * float(up @ axis)
    up /= np.linalg.norm(up)
    right = np.cross(axis, up) * -1.0
    right = right if right @ np.array([1.0, 0.3, 0.0]) >= 0 else -right
    u, v = force @ right, force @ up
    size = np.hypot(u, v)
    page, _ = figure(5.4, 5.6)
    page.clear()
    axes = page.add_subplot(projection="polar")
    t, _ = thinned(np.arange(len(size), dtype=float), size, 3000)
    rows = t.astype(int)
    axes.fill(np.arctan2(v, u)[rows], size[rows], color="#56b4e9", alpha=0.25, linewidth=0)
    axes.plot(np.arctan2(v, u)[rows], size[rows], color=INKS[1], linewidth=1.0)
    top = int(np.argmax(size))
    angle = float(np.arctan2(v[top], u[top]))
    axes.plot([angle, angle], [0, size[top]], color=INKS[2], linewidth=1.8)
    axes.plot([angle], [size[top]], "o", color=INKS[2], markersize=6)
    axes.set_title(
        f"{joint}: force on {assembly.bodies[data.second].name}, N, seen along the axis from {_seen_from(axis)}\n"
        f"peak {size[top]:.3g} N at {track.time[top]:.2f} s; directions turn with {assembly.bodies[data.first].name}",
        fontsize=9.5, loc="left",
    )  # fmt: skip
    axes.set_xticks(
        np.radians([0, 90, 180, 270]),
        ["right", "away", "left", "near"] if abs(axis[2]) > 0.9 else ["right", "up", "left", "down"],
        fontsize=9,
    )
    axes.tick_params(labelsize=8.5)
    axes.grid(color="#d9d9d6", linewidth=0.7)
    save(page, Path(path))
    return Path(path)


def _seen_from(axis: Array) -> str:
    names = {
        (0, 1): "the left",
        (0, -1): "the right",
        (1, 1): "the front",
        (1, -1): "behind",
        (2, -1): "above",
        (2, 1): "below",
    }
    k = int(np.argmax(np.abs(axis)))
    return names[k, 1 if axis[k] > 0 else -1]
