"""Rigs that several tests use, built as text so that each test goes through the front door."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def fourbar(
    turn: np.ndarray | None = None,
    shift: Sequence[float] = (0.0, 0.0, 0.0),
    along: Sequence[float] = (0.0, 0.0, 0.0, 0.0),
    joints: Sequence[int] = (0, 1, 2, 3),
    bodies: Sequence[int] = (0, 1, 2, 3),
    run: str = "for: 0.25 s",
    torque: float = 0.05,
    gravity: float = 9.81,
) -> str:
    """The four-bar 40/120/80/100 mm with bars of 40, 120, 80 g, crank at 40 deg, driven by a constant torque.

    Args:
        turn: rotation of the whole, gravity with it.
        shift: translation of the whole, m.
        along: how far each pin is moved along its axis, m.
        joints: order in which the joints are listed.
        bodies: order in which the bodies are listed.
        run: fields of the run besides gravity.
        torque: on the crank, N*m.
        gravity: m/s^2, along -y of the drawing plane.
    """
    turn = np.eye(3) if turn is None else turn
    r1, r2, r3, r4 = 0.1, 0.04, 0.12, 0.08
    a = np.array([r2 * np.cos(np.radians(40)), r2 * np.sin(np.radians(40))])
    d = np.array([r1, 0.0]) - a
    length = float(np.hypot(*d))
    x = (r3**2 - r4**2 + length**2) / (2 * length)
    left = np.array([-d[1], d[0]]) / length
    b = a + x * d / length + np.sqrt(r3**2 - x**2) * left
    flat = [np.zeros(2), a, b, np.array([r1, 0.0])]

    def place(p: np.ndarray, off: float = 0.0) -> str:
        # the drawing plane is x-z of the world, pins along -y, so that angles count from x to z
        world = turn @ np.array([p[0], -off, p[1]]) + np.asarray(shift)
        return "[" + ", ".join(f"{v:.15g} m" for v in world) + "]"

    axis = " ".join(f"{v:.15g}" for v in turn @ np.array([0.0, -1.0, 0.0]))
    g = ", ".join(f"{v:.15g} m/s^2" for v in turn @ np.array([0.0, 0.0, -gravity]))
    body = [
        "  ground: {fixed: true}",
        f"  crank: {{parts: [{{slender: 40 g, from: {place(flat[0])}, to: {place(flat[1])}}}]}}",
        f"  coupler: {{parts: [{{slender: 120 g, from: {place(flat[1])}, to: {place(flat[2])}}}]}}",
        f"  rocker: {{parts: [{{slender: 80 g, from: {place(flat[2])}, to: {place(flat[3])}}}]}}",
    ]
    pairs = [
        ("O2", "ground, crank"),
        ("A", "crank, coupler"),
        ("B", "coupler, rocker"),
        ("O4", "ground, rocker"),
    ]
    joint = [
        f"  {name}: {{pin: [{pair}], at: {place(p, off)}, axis: {axis}}}"
        for (name, pair), p, off in zip(pairs, flat, along, strict=True)
    ]
    return "\n".join(
        [
            "rig: 1",
            "name: Four-bar",
            "bodies:",
            *[body[i] for i in bodies],
            "joints:",
            *[joint[i] for i in joints],
            f"motors: {{drive: {{joint: O2, motor: {{steady: {{torque: {torque} N*m}}}}}}}}",
            f"run: {{{run}, gravity: [{g}]}}",
        ]
    )
