"""Curves of a run: torque against crank angle, load rose."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from simprop.errors import RenderError, one_of
from simprop.geometry.arrays import Array
from simprop.loads.driving import Rows, stretches
from simprop.picture.chart.plots import (
    FLATTENS,
    INKS,
    TEXT,
    WIDE,
    draw_series,
    figure,
    in_columns,
    save,
    thinned,
    titled,
)
from simprop.picture.render.extras import given
from simprop.picture.render.motion import poses_at

if TYPE_CHECKING:
    from simprop.loads.joints import JointLoads


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
    page, panes = figure(WIDE, 3.9)
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
                  ha="center", va="top", fontsize=TEXT, color="#777777")  # fmt: skip
    axes.plot([shown[top]], [load[top]], "o", color="white", markeredgecolor=INKS[2], markersize=6.5,
              markeredgewidth=1.8, zorder=4, clip_on=False)  # fmt: skip
    axes.annotate(
        words, (shown[top], load[top]), xytext=(9, 6), textcoords="offset points", fontsize=TEXT,
        weight="bold", color=INKS[2], ha="left" if shown[top] < np.mean([shown.min(), shown.max()]) else "right",
    )  # fmt: skip
    _room_above(axes, float(load[top]))
    able = loads.motors[k].able
    if able is not None and able < axes.get_ylim()[1] * 1.5:
        axes.set_ylim(top=max(axes.get_ylim()[1], 1.08 * able))
        axes.axhline(able, color="#555555", linewidth=0.9, linestyle=(0, (1, 2)))
        axes.annotate(
            f"can give {able:.3g} {unit}", (1.0, able), xycoords=("axes fraction", "data"), xytext=(-4, 4),
            textcoords="offset points", ha="right", fontsize=TEXT, color="#555555",
        )  # fmt: skip
    if around:
        axes.set_xlim(0, 360)
        axes.set_xticks(range(0, 361, 90))
    axes.set_xlabel(
        "angle from the start pose, deg" if turning else "place from the start pose, mm", fontsize=TEXT
    )
    axes.set_ylabel(f"{name}: {'torque' if turning else 'force'}, {unit}", fontsize=TEXT)
    laid = (
        f", {len(np.unique(turn))} turns (the last in colour)" if around and len(np.unique(turn)) > 1 else ""
    )
    titled(axes, f"{loads.recording.assembly.rig.name}: {name}{laid}")
    save(page, Path(path))
    return Path(path)


def _room_above(axes: Any, value: float) -> None:
    """Room for words over a mark at `value`."""
    low, high = axes.get_ylim()
    axes.set_ylim(low, max(high, low + 1.16 * (value - low)))


def _starts(axes: Any, begun: Rows, place: Array, load: Array) -> None:
    """The starts of a drive, lighter than its running."""
    for begin, end in stretches(begun):
        wraps = np.flatnonzero(np.abs(np.diff(place[begin:end])) > 180.0) + 1 + begin
        for first, last in pairwise([begin, *wraps.tolist(), end]):
            found = in_columns(place[first:last], load[first:last])
            draw_series(axes, found, color="#c9b79c", linewidth=1.0, zorder=2)
    if begun.any():
        axes.annotate(
            "start, lighter",
            (0.995, 0.02),
            xycoords="axes fraction",
            ha="right",
            fontsize=TEXT,
            color="#a08c6c",
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
    page, _ = figure(WIDE, 5.9)
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
        fontsize=TEXT, loc="left",
    )  # fmt: skip
    axes.set_xticks(
        np.radians([0, 90, 180, 270]),
        ["right", "away", "left", "near"] if abs(axis[2]) > 0.9 else ["right", "up", "left", "down"],
        fontsize=TEXT,
    )
    axes.tick_params(labelsize=TEXT)
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
