"""What a prop costs beside another: a class for all that has to be bought."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import isfinite, nan

from simprop.catalog.costs import cost_of, stock_cost
from simprop.drives.base import Drive
from simprop.drives.kinds import Motor, Pusher
from simprop.drives.supplies import SupplySpec
from simprop.making.pieces import BUILT
from simprop.making.stacks import holds
from simprop.rig.model import Rig
from simprop.run.run import Run
from simprop.study.ask.measure import measure


def _drives(run: Run) -> Iterator[float]:
    yield from (_drive("motor", motor.figures) for motor in run.rig.motors.values())
    yield from (_drive("pusher", pusher.figures) for pusher in run.rig.pushers.values())


def _drive(sort: str, figures: Drive) -> float:
    able = figures.able()
    power = able.stall * able.speed / 4.0  # the greatest along a straight line
    return cost_of(f"{sort} {figures.kind}", power=power, torque=able.stall, force=able.stall)


def _supplies(run: Run) -> Iterator[float]:
    shared: dict[str, tuple[SupplySpec, float]] = {}
    drives: list[Motor | Pusher] = [*run.rig.motors.values(), *run.rig.pushers.values()]
    for drive in drives:
        supply = drive.supply
        if supply is None or supply.frequency is not None:
            continue
        asked = drive.figures.able().stall_current
        if supply.shared is None:
            yield _supply(supply, asked)
        else:
            shared[supply.shared] = (supply, asked + shared.get(supply.shared, (supply, 0.0))[1])
    yield from (_supply(supply, asked) for supply, asked in shared.values())


def _supply(supply: SupplySpec, asked: float) -> float:
    """By its power; where it has no limit, by what its drives take when they stall."""
    return cost_of("supply", power=supply.voltage * (asked if supply.limit is None else supply.limit))


def _springs(run: Run) -> Iterator[float]:
    rig: Rig = run.rig
    yield from (cost_of("spring") for _ in rig.springs)
    yield from (cost_of(f"pull {pull.kind}") for pull in rig.pulls.values())
    yield from (cost_of("cord") for _ in rig.cords)


def _gears(run: Run) -> Iterator[float]:
    yield from (cost_of("coupling") for _ in run.rig.couplings)


def _fasteners(run: Run) -> Iterator[float]:
    for hold in holds(run.assembly):
        size = nan if hold.diameter is None else hold.diameter
        yield hold.count * cost_of(f"fastener {hold.kind}", diameter=size)


def _stock(run: Run) -> Iterator[float]:
    for body in run.assembly.drawn:
        for shape in body.shapes:
            if not body.scenery and shape.looks in BUILT and shape.cut_from is not None:
                yield stock_cost(shape.material) * shape.mass


GROUPS: dict[str, Callable[[Run], Iterator[float]]] = {
    "drives": _drives,
    "supplies": _supplies,
    "springs": _springs,
    "gears": _gears,
    "fasteners": _fasteners,
    "stock": _stock,
}
"""What is bought, by groups."""


def groups(run: Run) -> Iterator[str]:
    """Groups of what is bought."""
    yield from GROUPS


@measure("", "still", of=groups)
def cost(run: Run, of: str | None = None) -> float:
    """What has to be bought beside a small bolt with its nut (1), in steps that double by kind and size, stock by its
    mass: motors and pushers, supplies, springs with pulls and cords, gears and belts, fasteners, stock; of all or of a
    group. Common practice, no source: it tells which build is dearer, not what one costs. What isn't named in the rig
    (a fastener that it leaves open, heads and cloth, wire, mains plugs, controllers) isn't in it."""
    found = [value for group in ([of] if of else GROUPS) for value in GROUPS[group](run)]
    return sum(found) if all(isfinite(v) for v in found) else nan
