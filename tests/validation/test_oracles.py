"""Random mechanisms against Pinocchio, and one mechanism against a symbolic Lagrangian."""

from __future__ import annotations

import numpy as np
import pytest

from tests.validation.harness import run_text

ENGINES = {"mujoco": (2.5e-4, 1e-5), "bullet": (1e-4, 2e-3)}
"""Step, and tolerance as a share of the largest value of a kind: fourth and second order engines."""


def _point(rng: np.random.Generator, scale: float = 0.3) -> str:
    return "[" + ", ".join(f"{v:.6f} m" for v in rng.uniform(-scale, scale, 3)) + "]"


def _axis(rng: np.random.Generator) -> str:
    return " ".join(f"{v:.6f}" for v in rng.normal(size=3))


def _body(rng: np.random.Generator, name: str) -> str:
    """Three lumps with inertias of their own: a full tensor about a centre off every joint."""
    lumps = [
        f"{{lump: {rng.uniform(0.1, 1.0):.5f} kg, at: {_point(rng)}, "
        f"inertia: [{', '.join(f'{v:.3e} kg*m^2' for v in rng.uniform(2e-3, 3e-3, 3))}]}}"
        for _ in range(3)
    ]
    return f"  {name}: {{parts: [{', '.join(lumps)}]}}"


def mechanism(kind: str, seed: int) -> str:
    """A random mechanism as a rig file."""
    rng = np.random.default_rng(seed)
    joints, motors, count = {
        "chain": ("base b0 pin, b0 b1 pin, b1 b2 ball, b2 b3 pin", "j0 j1 j3", 4),
        "branches": ("base b0 slider, b0 b1 pin, b2 b0 pin, b2 b3 slider", "j1 j2", 4),
        "loop of balls": ("base b0 pin, b0 b1 ball, b1 b2 ball, base b2 pin", "j0", 3),
        "loop with pins": ("base b0 pin, b0 b1 pin, b1 b2 ball, b2 base ball", "j0 j1", 3),
        "floating": ("b0 b1 pin, b1 b2 pin", "j0 j1", 3),
    }[kind]
    bodies = [_body(rng, f"b{i}") for i in range(count)]
    lines = []
    for i, text in enumerate(joints.split(", ")):
        one, two, what = text.split()
        axis = {
            "pin": f", axis: {_axis(rng)}, viscous: 0.02 N*m*s/rad",
            "slider": f", along: {_axis(rng)}",
        }.get(what, "")
        lines.append(f"  j{i}: {{{what}: [{one}, {two}], at: {_point(rng)}{axis}}}")
    drives = [
        f"  m{i}: {{joint: {name}, motor: {{steady: {{torque: {rng.uniform(0.5, 2.0):.4f} N*m}}}}}}"
        for i, name in enumerate(motors.split())
    ]
    head = ["rig: 1", f"name: Random {kind}", "bodies:", "  base: {fixed: true}", *bodies, "joints:", *lines]
    first = "j1" if kind == "branches" else "j0"
    run = f"run: {{for: 0.2 s, gravity: 1 -2 -9 m/s^2, start_speeds: {{{first}: 2 rad/s}}}}"
    return "\n".join([*head, "motors:", *drives, run, ""])


KINDS = ["chain", "branches", "loop of balls", "loop with pins", "floating"]


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize(("kind", "seed"), [(kind, i + 11) for i, kind in enumerate(KINDS)])
def test_random_mechanism_against_pinocchio(kind: str, seed: int, engine: str) -> None:
    pytest.importorskip("pinocchio")
    pytest.importorskip({"mujoco": "mujoco", "bullet": "pybullet"}[engine])
    from tests.validation.oracle_pinocchio import Twin

    step, tolerance = ENGINES[engine]
    out = run_text(mechanism(kind, seed), engine, step)
    track, found = out.recording.track, out.loads.wrenches
    twin = Twin(out.recording.assembly)
    assert bool(twin.loops) == ("loop" in kind)
    for row in np.linspace(0.3 * len(out.time), len(out.time) - 10, 6).astype(int):
        said = twin.ask(track, row)
        for name, ours, theirs in (
            ("acceleration", track.acceleration[row], said.acceleration),
            ("spin acceleration", track.spin_acceleration[row], said.spin_acceleration),
            ("force", found.force[row], said.force),
            ("moment", found.moment[row], said.moment),
        ):
            most = np.abs(theirs).max()
            assert most > 0.1, name
            assert np.abs(ours - theirs).max() < tolerance * most, (name, row, ours, theirs)


@pytest.mark.parametrize("engine", ENGINES)
def test_double_pendulum_with_a_spring_against_its_symbolic_lagrangian(engine: str) -> None:
    """sympy derives Lagrange's equations of two rods, a torsion spring between them and a drag on the first pin."""
    sympy = pytest.importorskip("sympy")
    pytest.importorskip({"mujoco": "mujoco", "bullet": "pybullet"}[engine])
    t = sympy.symbols("t")
    a, b = (sympy.Function(name)(t) for name in "ab")
    m1, m2, l1, l2, g, k, c = 0.4, 0.3, 0.5, 0.4, 9.81, 1.5, 0.05
    # Angles from the start pose (rods along x), turning from x to -z about y; b is relative.
    x1, z1 = l1 / 2 * sympy.cos(a), -l1 / 2 * sympy.sin(a)
    x2, z2 = l1 * sympy.cos(a) + l2 / 2 * sympy.cos(a + b), -l1 * sympy.sin(a) - l2 / 2 * sympy.sin(a + b)
    kinetic = sum(m * (x.diff(t) ** 2 + z.diff(t) ** 2) / 2 for m, x, z in ((m1, x1, z1), (m2, x2, z2)))
    kinetic += m1 * l1**2 / 24 * a.diff(t) ** 2 + m2 * l2**2 / 24 * (a + b).diff(t) ** 2
    energy = kinetic - g * (m1 * z1 + m2 * z2) - k * (b - sympy.Float(0.3)) ** 2 / 2
    equations = [
        sympy.diff(energy.diff(q.diff(t)), t) - energy.diff(q) - drag
        for q, drag in ((a, -c * a.diff(t)), (b, sympy.Integer(0)))
    ]
    rates, seconds, values = sympy.symbols("wa wb"), sympy.symbols("ea eb"), sympy.symbols("qa qb")
    for old, new in zip((a, b), seconds, strict=True):
        equations = [e.subs(old.diff(t, 2), new) for e in equations]
    for old, new in zip((a, b), rates, strict=True):
        equations = [e.subs(old.diff(t), new) for e in equations]
    for old, new in zip((a, b), values, strict=True):
        equations = [e.subs(old, new) for e in equations]
    solved = sympy.solve(equations, seconds)
    accelerations = sympy.lambdify((*values, *rates), [solved[s] for s in seconds])

    text = f"""
rig: 1
name: Double pendulum
bodies:
  post: {{fixed: true}}
  one: {{parts: [{{slender: {m1} kg, from: 0 0 0 mm, to: {l1} 0 0 m}}]}}
  two: {{parts: [{{slender: {m2} kg, from: {l1} 0 0 m, to: {l1 + l2} 0 0 m}}]}}
joints:
  a: {{pin: [post, one], at: 0 0 0 mm, axis: y, viscous: {c} N*m*s/rad}}
  b: {{pin: [one, two], at: {l1} 0 0 m, axis: y}}
springs: {{coil: {{torsion: b, rate: {k} N*m/rad, free_angle: 0.3 rad}}}}
run: {{for: 1 s, gravity: {g} m/s^2}}
"""
    step, tolerance = ENGINES[engine]
    out = run_text(text, engine, step)
    track = out.recording.track
    for row in np.linspace(0.1 * len(out.time), len(out.time) - 10, 12).astype(int):
        state = [*track.coordinate[row], *track.rate[row]]
        ours = track.spin_acceleration[row, 1:, 1]
        first, second = accelerations(*state)
        assert ours == pytest.approx([first, first + second], abs=tolerance * 100)
