"""Wall time: shipped rigs through the package and through bare engine loops, and cost against the number of bodies."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any

from simprop.assembly.assemble import assemble
from simprop.assembly.types import Assembly
from simprop.engine.acting.actuation import actuate
from simprop.engine.choose import engine as choose
from simprop.engine.world import Trajectory
from simprop.loads.joints import joint_loads
from simprop.recording import Recording
from simprop.rig.load import load_rig, parse_rig
from simprop.run.simulate import simulate
from tests.validation.chains import windows

RIGS = Path(__file__).parents[2] / "rigs"


def best(run: Callable[[], Any], times: int = 3) -> tuple[float, Any]:
    """Shortest wall time of a few runs, s, and the last result."""
    shortest, result = float("inf"), None
    for _ in range(times):
        start = time.perf_counter()
        result = run()
        shortest = min(shortest, time.perf_counter() - start)
    return shortest, result


def bare_mujoco(assembly: Assembly, step: float, steps: int) -> float:
    """Wall time of mj_step alone on the same model, s; switched motors and fed laws stay as they start."""
    import mujoco

    from simprop.engine.mujoco.engine import _Run

    run = _Run(mujoco, assembly, actuate(assembly), step)
    model, data, forward = run.model, run.data, mujoco.mj_step
    start = time.perf_counter()
    for _ in range(steps):
        forward(model, data)
    return time.perf_counter() - start


def bare_bullet(assembly: Assembly, step: float, steps: int) -> float:
    """Wall time of stepSimulation alone on the same links, s; no law acts."""
    from simprop.engine.bullet.engine import World, _pybullet

    world = World(_pybullet(), assembly, actuate(assembly), step)
    try:
        go, client = world.p.stepSimulation, world.client
        start = time.perf_counter()
        for _ in range(steps):
            go(physicsClientId=client)
        return time.perf_counter() - start
    finally:
        world.close()


BARE = {"bullet": bare_bullet, "mujoco": bare_mujoco}


def _step(assembly: Assembly, name: str, step: float, steps: int) -> Trajectory:
    return choose(name).run(assembly, actuate(assembly), step, steps)


def rigs(names: list[str] | None = None) -> Iterator[str]:
    """A table of the shipped rigs, a line at a time; wall times per simulated second but for the settled run."""
    yield "| Rig | Engine | Step | Engine loop bare | Our engine | Loads | Over bare, loads in | Settled run, whole |"
    yield "|---|---|---|---|---|---|---|---|"
    for path in sorted(RIGS.glob("*.yaml")):
        if names and path.stem not in names:
            continue
        assembly = assemble(load_rig(path))
        duration = assembly.rig.run.duration
        for name in ("mujoco", "bullet"):
            whole, run = best(partial(simulate, assembly, name), 1)
            step, steps = run.track.step, len(run.track.time)
            ours, track = best(partial(_step, assembly, name, step, steps), 2)
            loads, _ = best(partial(joint_loads, Recording(assembly, actuate(assembly), name, track)), 2)
            bare = min(BARE[name](assembly, step, steps) for _ in range(2))
            cells = [f"{value / duration * 1e3:.0f} ms" for value in (bare, ours, loads)]
            over = f"{(ours + loads) / bare:.2f}"
            yield f"| {path.stem} | {name} | {step * 1e3:g} ms | {' | '.join(cells)} | {over} | {whole:.2f} s |"


def bodies() -> Iterator[str]:
    """Cost of a step against the number of bodies, on a chain of parallelogram windows."""
    yield "| Bodies | Assemble | mujoco, a step | bullet, a step | Loads, a step |"
    yield "|---|---|---|---|---|"
    for count in (2, 5, 10, 20, 40):
        built, assembly = best(partial(_windows, count), 1)
        steps = 40
        cells = []
        for name in ("bullet", "mujoco"):
            wall, track = best(partial(_step, assembly, name, 1e-3, steps), 2)
            cells.append(f"{wall / steps * 1e6:.0f} us")
        wall, _ = best(partial(joint_loads, Recording(assembly, actuate(assembly), "mujoco", track)), 1)
        cells = [*reversed(cells), f"{wall / steps * 1e6:.0f} us"]
        yield f"| {2 * count + 1} | {built:.2f} s | {' | '.join(cells)} |"


def _windows(count: int) -> Assembly:
    return assemble(parse_rig(windows(count, "0.04 s")))
