"""What to beware of, put together from what a prop has. It defers to local codes and to licensed practice."""

from __future__ import annotations

from collections.abc import Iterator

from simprop.drives.kinds import Motor, Pusher
from simprop.rig.model import Rig

LOW_VOLTAGE = "Low voltage: keep the mains side of the supply indoors or in a rated box, and fuse the wire."
MOVING = (
    "Moving parts pinch and crush: guard cranks, slides and closing gaps, keep visitors out of reach, isolate before "
    "reaching in.",
    "Keep a stop button beside whoever runs the prop; it must not start by itself when power returns.",
)
"""Of a prop on which something moves."""
FREE = (
    "It stands free: people who lean on it or pull it, soft ground and more wind than it was checked for tip it over. "
    "Stake, ballast or anchor it, and take it down in a storm.",
)
"""Of a prop that isn't anchored."""
OVERHEAD = (
    "What hangs or moves over people's heads falls on them when it fails: hold it by a second line of its own to "
    "something that stands still.",
)
"""Of a prop that visitors walk under."""
ALWAYS = (
    "Margins of what was simulated: people who pull, knock or climb are not in them.",
    "This report is no approval: its figures come from a model and from tables; local codes and a licensed person "
    "decide.",
)


def cautions(rig: Rig) -> tuple[str, ...]:
    """Cautions that apply to a rig, most particular first: each kind of thing in it brings its own words.

    Args:
        rig: the rig.

    Returns:
        Sentences, each once. Source: wiring rules and common practice (from memory).

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig("rig: 1\\nname: Post\\nbodies: {post: {fixed: true}}\\nrun: {for: 1 s}")
        >>> cautions(rig) == (*FREE, *ALWAYS)
        True
    """
    drives: list[Motor | Pusher] = [*rig.motors.values(), *rig.pushers.values()]
    things = (*(d.figures for d in drives), *_others(rig))
    found = [text for thing in things for text in getattr(thing, "cautions", ())]
    if any(d.supply is not None and d.supply.frequency is None for d in drives):
        found.append(LOW_VOLTAGE)
    overhead = OVERHEAD if rig.visitors is not None and rig.visitors.overhead else ()
    free = () if rig.stand is not None and rig.stand.anchored else FREE
    moving = MOVING if any(not (b.fixed or b.scenery) for b in rig.bodies.values()) else ()
    return tuple(dict.fromkeys((*found, *overhead, *moving, *free, *ALWAYS)))


def _others(rig: Rig) -> Iterator[object]:
    yield from (
        *rig.springs.values(),
        *rig.pulls.values(),
        *rig.cords.values(),
        *rig.strips.values(),
        *rig.joints.values(),
        *rig.contacts.values(),
    )
