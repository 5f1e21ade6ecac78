"""Order of building: each step with what it takes, where its hardware goes, and what to try on the way."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from math import degrees

import numpy as np

from simprop.assembly.types import BodyData
from simprop.cords.base import span_names
from simprop.geometry.arrays import Array
from simprop.making.holes import Hole, Place, holes
from simprop.making.numbers import PartNumbers, part_called, part_numbers
from simprop.making.order import Step, Travel, order
from simprop.quantities import show
from simprop.report.figures import number
from simprop.report.structure import Items, Section
from simprop.run.run import Run

WAYS = (
    ((0.0, -1.0, 0.0), "from the far side to the near side"),
    ((0.0, 1.0, 0.0), "from the near side to the far side"),
    ((1.0, 0.0, 0.0), "from left to right"),
    ((-1.0, 0.0, 0.0), "from right to left"),
    ((0.0, 0.0, 1.0), "from below to above"),
    ((0.0, 0.0, -1.0), "from above to below"),
)
"""Ways along the axes of the world, as who stands before the prop says them."""


@dataclass(frozen=True)
class Bench:
    """What the steps are told from.

    Attributes:
        run: of the prop.
        numbers: of its parts.
        holes: in them.
    """

    run: Run
    numbers: PartNumbers
    holes: Mapping[Place, tuple[Hole, ...]]


def building(run: Run) -> Section:
    """The steps of building the prop, numbered."""
    at = Bench(run, part_numbers(run.assembly), holes(run.assembly))
    steps = order(run)
    items = [list(_told(at, step)) for step in steps]
    first = (
        "Every part has its number from the cut list. The rig doesn't say how the parts of one piece are fastened to "
        "each other: screw and glue wood, glue plastic pipe into its fittings after a dry fit, bolt or weld steel."
    )
    return Section("order", "Order of building", [first, Items(items, numbered=True)])


def _told(at: Bench, step: Step) -> Iterator[str]:
    """A step: its heading, then a sentence for each thing to do."""
    yield from {
        "make": _make,
        "stand": _stand,
        "place": _place,
        "slip": _slip,
        "mount": _mount,
        "join": _join,
        "close": _join,
        "couple": _couple,
        "turn": _turn,
        "fit": _fit,
        "hub": _hub,
        "power": _power,
    }[step.does](at, step)


def name_of(text: str) -> str:
    """A name of the rig as the notes write it.

    Example:
        >>> name_of("arm_left")
        'arm left'
    """
    return text.replace("_", " ")


def _make(at: Bench, step: Step) -> Iterator[str]:
    body = next(b for b in at.run.assembly.drawn if b.name == step.name)
    weighs = "which stands still" if body.fixed else f"about {_weight(body.mass)}"
    yield f"Make the {name_of(step.name)}, {weighs}"
    parts = [at.numbers.of[step.name, i] for i in range(len(body.shapes)) if (step.name, i) in at.numbers.of]
    called = [f"{n} ({at.numbers.parts[n - 1].name})" for n in dict.fromkeys(parts)]
    twice = [
        f"{text} x {parts.count(n)}" if parts.count(n) > 1 else text for n, text in _pairs(parts, called)
    ]
    yield f"of {', '.join(twice)}" if twice else "it has no part to cut"
    yield from _holes(at, body)


def _weight(mass: float) -> str:
    return f"{1000 * mass:.2g} g" if mass < 0.0995 else f"{number(mass, 2)} kg"


def _pairs(parts: list[int], called: list[str]) -> Iterator[tuple[int, str]]:
    yield from zip(dict.fromkeys(parts), called, strict=True)


def _holes(at: Bench, body: BodyData) -> Iterator[str]:
    """The holes of its parts, while they still lie flat on the bench."""
    found = at.holes
    for i in range(len(body.shapes)):
        place = (body.name, i)
        if place not in found or place not in at.numbers.of:
            continue
        told = [f"{show(h.diameter, 'length')} for {h.words} at {name_of(h.joint)}" for h in found[place]]
        yield f"drill {part_called(at.numbers, *place)}: {', '.join(dict.fromkeys(told))}"


def _stand(at: Bench, step: Step) -> Iterator[str]:
    names = ", ".join(map(name_of, step.bodies))
    yield f"Set up the {names}, level" if names else "Set up what it hangs on"
    stand = at.run.rig.stand
    if stand is None:
        yield "hold it so that it can't fall over while you build"
        return
    if stand.anchored:
        yield "anchor it now, before anything hangs on it"
    if stand.ballast:
        yield f"put its ballast of {show(stand.ballast, 'mass')} on it now"
    if stand.stakes:
        yield f"where it will stand: {stand.stakes} stakes or ground screws, each to hold {stand.stake_pull:.0f} N"
    if not (stand.anchored or stand.ballast or stand.stakes):
        yield "nothing but its own weight holds it: keep a hand on it while you build"


def _place(at: Bench, step: Step) -> Iterator[str]:
    yield f"Set the {name_of(step.name)} in its place and hold it there"
    yield "no joint holds it: it hangs on what is fitted later"


def _slip(at: Bench, step: Step) -> Iterator[str]:
    about = at.run.rig.springs[step.name].about()
    joint = "" if about is None else name_of(about[0])
    yield f"Slip the spring {name_of(step.name)} onto the shaft of the joint {joint}"
    yield "it must be on before the next step; hook its ends when both pieces are there, eyes away from it"


def _mount(at: Bench, step: Step) -> Iterator[str]:
    motor = at.run.rig.motors[step.name]
    if motor.figures.unwired:
        yield f"No motor for {name_of(step.name)} on {name_of(motor.joint)}"
        yield motor.figures.unwired
        return
    what = motor.motor if isinstance(motor.motor, str) else f"{motor.figures.word} as the rig describes it"
    yield f"Mount the motor {name_of(step.name)} ({what}) on the {name_of(step.bodies[0])}"
    mount = motor.mount
    if mount is None:
        yield "the rig doesn't say what holds it: a plate or bracket that takes its torque, before anything else is on"
    else:
        held = "" if mount.held_by is None else f", {mount.held_by.called}"
        yield f"{mount.words}{held}"
    yield f"its shaft in one line with the joint {name_of(motor.joint)}"
    yield "try on the bench first, clamped down, which way it turns"


def _join(at: Bench, step: Step) -> Iterator[str]:
    there, new = map(name_of, step.bodies)
    joint = next(j for j in at.run.assembly.joints if j.name == step.name)
    if step.does == "close":
        yield f"Close the loop at {name_of(step.name)}: {there} to {new}"
    else:
        yield f"Put the {new} on the {there} at {name_of(step.name)}"
    hold = joint.kind.held_by
    if hold is not None:
        yield f"with {hold.called}"
    elif joint.kind.needs_fastener:
        yield "the rig doesn't say what holds it"
    else:
        yield "no fastener: its shape guides it"
    if len(step.row) > 1:
        yield f"on the axis, {_way(joint.axis)}: {', '.join(map(name_of, step.row))}; a washer between what turns"
    motors = [n for n, m in at.run.rig.motors.items() if m.joint == joint.name and not m.figures.unwired]
    if motors:
        named = ", ".join(map(name_of, motors))
        yield f"leave the hub loose on the shaft of the motor {named} until all turns freely by hand"
    if step.does == "close":
        yield "if it doesn't meet without force, look for the piece that is too long before you bend anything"
    elif joint.freedoms:
        yield f"{_free(joint.freedoms)} by hand without scraping?"
    if step.loose:
        yield "it hangs loose until its loop is closed: tie it up"


def _free(freedoms: tuple[object, ...]) -> str:
    hows = {getattr(f, "how", "") for f in freedoms}
    return "turns and slides" if hows == {"turn", "slide"} else "slides" if hows == {"slide"} else "turns"


def _way(axis: Array) -> str:
    best = max(WAYS, key=lambda row: float(np.dot(row[0], axis)))
    return best[1] if float(np.dot(best[0], axis)) > 0.9 else "along its axis"


def _couple(at: Bench, step: Step) -> Iterator[str]:
    kind = at.run.rig.couplings[step.name].kind.replace("_", " ")
    one, two = map(name_of, step.bodies)
    yield f"Couple {one} and {two} by {name_of(step.name)} ({kind})"
    if step.endless:
        yield "it goes round both wheels in one piece: lay it on before the second wheel is pushed home"
    yield "does the one turn the other the right way, without a tight spot over the whole turn?"


def _turn(at: Bench, step: Step) -> Iterator[str]:
    yield "Turn it by hand through its whole motion, before springs, cords and motors act on it"
    if not step.travels:
        yield "nothing in the run moves: only what is fitted next makes it go"
    for travel in step.travels:
        yield _travel(travel)
    asked = [
        f"{number(load.peak.value)} {load.peak.unit} at {name_of(at.run.rig.motors[load.name].joint)}"
        for load in step.driven
    ]
    if asked:
        said = f"with all fitted, the run asks for up to {', '.join(asked)}"
        yield f"{said}: if your hand needs much more now, something rubs"


def _travel(travel: Travel) -> str:
    """What a joint should do, as a question with the number of the run."""
    name = name_of(travel.joint)
    if travel.motion == "slide":
        return f"{name}: travel {1e3 * travel.size:.0f} mm?"
    if travel.round:
        return f"{name}: free over the whole turn?"
    return f"{name}: swings {degrees(travel.size):.0f} deg?"


def _fit(at: Bench, step: Step) -> Iterator[str]:
    ends = [name_of(b) for b in step.bodies]
    between = f"on the {ends[0]}" if len(ends) == 1 else f"between {', '.join(ends[:-1])} and {ends[-1]}"
    words = {"pull": at.run.rig.pulls[step.name].kind.replace("_", " ")} if step.sort == "pull" else {}
    if step.sort == "pusher":
        words["pusher"] = at.run.rig.pushers[step.name].figures.word
    yield f"Fit the {words.get(step.sort, step.sort)} {name_of(step.name)} {between}"
    spans = span_names(step.name, at.run.rig.cords[step.name]) if step.sort == "cord" else (step.name,)
    held = [end.value for end in at.run.loads.lines if end.name in spans and end.sort in (step.sort, "strip")]
    if held:
        yield f"it pulls or pushes with up to {number(max(held))} N in the run, and so on what holds its ends"
    if step.sort == "cord":
        yield from _cord(at, step.name)
    lengths = [(n, k) for k, (n, _) in enumerate(at.run.rig.lines) if n == step.name]
    if lengths and step.sort in ("pusher", "spring", "pull"):
        low, high = _length(at, lengths[0][1])
        if high - low > 1e-3:
            yield f"from end to end {1e3 * low:.0f} to {1e3 * high:.0f} mm over the motion: is there room at both ends?"
        else:
            yield f"from end to end {1e3 * low:.0f} mm"


def _cord(at: Bench, name: str) -> Iterator[str]:
    """Where a cord runs, from its first end to its last."""
    cord = at.run.rig.cords[name]
    over = [
        f"over {'a wheel or bar' if p.diameter is not None else 'an eye'} on the {p.body}" for p in cord.over
    ]
    ways = [f"from the {cord.start.body}", *over, f"to the {cord.end.body}"]
    what = cord.material if isinstance(cord.material, str) else "cord"
    yield f"{name_of(what)} of {1e3 * cord.diameter:.2g} mm, {', '.join(map(name_of, ways))}"


def _length(at: Bench, line: int) -> tuple[float, float]:
    ends = at.run.track.line_end[:, line] - at.run.track.line_start[:, line]
    lengths = np.linalg.norm(ends, axis=1)
    return float(lengths.min()), float(lengths.max())


def _hub(at: Bench, step: Step) -> Iterator[str]:
    yield f"Tighten the hub of the motor {name_of(step.name)} on the {name_of(step.bodies[0])}"
    yield "in the start pose of the drawing; strike a line of paint over hub and shaft"


def _power(at: Bench, step: Step) -> Iterator[str]:
    yield "Wire it, put the fence up, and run it once from beside the stop button"
    yield "hands and hair clear; the first run with nobody within reach; then the tune-up sheet"
