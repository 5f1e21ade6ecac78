"""The hardware list: all that is bought for a prop besides what is cut, counted and summed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from simprop.assembly.types import Assembly
from simprop.catalog.bought import Bought, Group
from simprop.making.grips import grip_of
from simprop.making.numbers import PartNumbers, part_numbers
from simprop.making.stacks import Fixing, fixings
from simprop.making.wiring import Circuit, Feed, Wiring

KNOTS = 0.3
"""Cord beyond what is drawn, for its knots, m (common practice, no source)."""


@dataclass(frozen=True)
class Hardware:
    """What is bought.

    Attributes:
        items: summed: each thing once, in the order of its group, then as it is met in the rig; `where` names the
            places, with how many in each.
        open: what the rig doesn't say, a few words each.
    """

    items: tuple[Bought, ...]
    open: tuple[str, ...]


def hardware(assembly: Assembly, plan: Wiring) -> Hardware:
    """All that is bought for a prop besides what is cut.

    Args:
        assembly: the prop.
        plan: how it is wired.
    """
    numbers, places = part_numbers(assembly), fixings(assembly)
    found = [
        *_held(assembly, numbers, places),
        *_fittings(numbers),
        *_acting(assembly),
        *_cords(assembly),
        *_fed(plan),
    ]
    return Hardware(tuple(summed(found)), tuple(_open(assembly, places)))


def _held(assembly: Assembly, numbers: PartNumbers, places: Sequence[Fixing]) -> Iterator[Bought]:
    for fixing in places:
        if fixing.hold is not None:
            through = _through(numbers, fixing)
            for item in fixing.hold.bought(grip_of(assembly, numbers, fixing)):
                yield replace(item, where=fixing.what + (through if item.group == "bolts" else ""))


def _through(numbers: PartNumbers, fixing: Fixing) -> str:
    """The numbers of the parts that it goes through, as `` (6 + 7)``; "" for none."""
    found = [numbers.of[layer.body, p.part] for layer in fixing.layers for p in layer.parts]
    return f" ({' + '.join(map(str, dict.fromkeys(found)))})" if found else ""


def _fittings(numbers: PartNumbers) -> Iterator[Bought]:
    """Fittings are parts with numbers, and bought."""
    for part in numbers.parts:
        if part.shape.knot is not None:
            yield Bought(
                "fittings and clamps", part.shape.asked, len(part.pieces), where=f"part {part.number}"
            )


def _acting(assembly: Assembly) -> Iterator[Bought]:
    rig = assembly.rig
    for name, spring in rig.springs.items():
        yield from (replace(item, where=f"spring {name}") for item in spring.bought())
    for name, pull in rig.pulls.items():
        yield from (replace(item, where=f"pull {name}") for item in pull.bought())
    for name, stop in rig.stops.items():
        yield from (replace(item, where=f"stop {name}") for item in stop.bought())
    for name, contact in rig.contacts.items():
        yield from (replace(item, where=f"contact {name}") for item in contact.bought())
    for name, strips in rig.strips.items():
        yield from (replace(item, where=f"strips {name}") for item in strips.bought())
    for coupling in (*assembly.couplings, *assembly.slips):
        for item in coupling.kind.bought(*coupling.sides):
            yield replace(item, where=f"coupling {coupling.name}")


def _cords(assembly: Assembly) -> Iterator[Bought]:
    bodies = {body.name: body for body in assembly.drawn}
    for name, cord in assembly.rig.cords.items():
        points = np.array([bodies[p.body].placement.world(p.at) for p in cord.places])
        drawn = float(np.linalg.norm(np.diff(points, axis=0), axis=1).sum()) + cord.slack
        long, where = (drawn if cord.length is None else cord.length) + KNOTS, f"cord {name}"
        words = f"{cord.material or 'cord'}, {1e3 * cord.diameter:g} mm"
        note = f"{long:.2f} m: as drawn, with 0.3 m for its knots"
        if any(place.diameter is not None for place in cord.places):
            note += ", and what is wound on wheels and drums on top"
        yield Bought("cords and wheels", words, 1, where, "it frays where it bends", note)
        for place in cord.over:
            if place.diameter is not None and not place.mu:
                wheel = f"pulley, {1e3 * place.diameter:g} mm to the cord's middle, on its own bearing"
                yield Bought("cords and wheels", wheel, 1, where)
            elif place.diameter is None:
                yield Bought(
                    "cords and wheels", f"smooth eye for cord of {1e3 * cord.diameter:g} mm", 1, where
                )


def _fed(plan: Wiring) -> Iterator[Bought]:
    """Drives, and what feeds and tells them."""
    for circuit in plan.circuits:
        yield from _circuit(circuit)
        for feed in circuit.feeds:
            yield from _drive(feed, plugged=not circuit.mains)
    if any(not circuit.mains for circuit in plan.circuits) or plan.air:
        yield Bought("supply, fuses and wire", "stop button that stays in", 1, "all supplies")
    for line in plan.air:
        where = ", ".join(feed.name for feed in line.feeds)
        yield Bought("supply, fuses and wire", "shut-off that vents, filter and regulator", 1, where)
        yield Bought(
            "supply, fuses and wire", "air hose and push-in connectors", 1, where, note="by the valve's ports"
        )
        for feed in line.feeds:
            yield from _drive(feed, plugged=False)
    if plan.controller is not None:
        outputs, triggers = len(plan.controller.outputs), plan.controller.triggers
        sound = ", plays sound" if plan.controller.sound else ""
        words = f"controller with {outputs} output{'s' * (outputs != 1)}"
        words += f" and {len(triggers)} input{'s' * (len(triggers) != 1)}" if triggers else ""
        yield Bought("supply, fuses and wire", words + sound, 1, "cues")
        for trigger in triggers:
            yield Bought("supply, fuses and wire", trigger, 1, "cues")


def _drive(feed: Feed, *, plugged: bool) -> Iterator[Bought]:
    words = feed.model or f"{feed.word} as the rig describes it"
    prefix = "" if feed.word in words else f"{feed.word}: "
    yield Bought("drives", f"{prefix}{words}", 1, feed.name)
    if feed.stage:
        rated = "" if feed.peak is None else f", for at least {feed.peak:.2g} A"
        yield Bought("supply, fuses and wire", f"{feed.stage}{rated}", 1, feed.name)
    if plugged:
        words = "plug and socket, outdoor, two poles or as the drive has"
        note = "proposed, so that the prop can be taken apart"
        yield Bought("supply, fuses and wire", words, 1, feed.name, note=note)


def _circuit(circuit: Circuit) -> Iterator[Bought]:
    group: Group = "supply, fuses and wire"
    if circuit.mains:
        words = f"mains feed, {circuit.voltage:g} V" if circuit.voltage is not None else "mains feed"
        yield Bought(
            group, words, 1, circuit.name, note="by a licensed person, with its switch, fuse and RCD or GFCI"
        )
        return
    gives = (circuit.voltage, circuit.limit) if circuit.voltage is not None else circuit.proposed
    if gives is None or gives[0] is None:
        yield Bought(group, "supply, not stated", 1, circuit.name)
    else:
        limit = "" if gives[1] is None else f" {gives[1]:g} A"
        note = "" if circuit.voltage is not None else "not stated: proposed"
        yield Bought(group, f"supply {gives[0]:g} V{limit}", 1, circuit.name, note=note)
    if circuit.fuse is not None:
        yield Bought(group, f"fuse {circuit.fuse:g} A, slow-blow", 1, circuit.name, "it blows")
        yield Bought(group, "fuse holder, in line", 1, circuit.name)
    if circuit.gauge is not None:
        if circuit.length is not None:
            note = f"{circuit.length:g} m one way, and a branch to each drive"
        else:
            note = "length not stated"
            note += "" if circuit.longest is None else f"; up to {circuit.longest:.2g} m one way"
        yield Bought(group, f"two-core cable, {circuit.gauge} AWG, for outdoors", 1, circuit.name, note=note)


def summed(found: Sequence[Bought]) -> list[Bought]:
    """Each thing once, with its counts added and its places named, group by group.

    Args:
        found: as they are met.

    Example:
        >>> rows = [Bought("bolts", "bolt", 1, "joint a"), Bought("bolts", "bolt", 2, "joint b")]
        >>> [(item.count, item.where) for item in summed(rows)]
        [(3, 'joint a; joint b x 2')]
    """
    rows: dict[tuple[str, str], list[Bought]] = {}
    for item in found:
        rows.setdefault((item.group, item.what), []).append(item)
    order = list(get_args(Group))
    result = []
    for (_, _), own in sorted(rows.items(), key=lambda row: order.index(row[0][0])):
        places: dict[str, int] = {}
        for item in own:
            places[item.where] = places.get(item.where, 0) + item.count
        where = "; ".join(f"{place} x {count}" if count > 1 else place for place, count in places.items())
        notes = list(dict.fromkeys(note for item in own for note in item.note.split("; ") if note))
        wears = next((item.wears for item in own if item.wears), "")
        total = sum(item.count for item in own)
        result.append(replace(own[0], count=total, where=where, wears=wears, note="; ".join(notes)))
    return result


def _open(assembly: Assembly, places: Sequence[Fixing]) -> Iterator[str]:
    """What the rig doesn't say of what holds it together."""
    for fixing in places:
        if fixing.hold is None:
            yield fixing.what
    for name, motor in assembly.rig.motors.items():
        if motor.mount is None and motor.figures.sized:
            yield f"motor {name}"
