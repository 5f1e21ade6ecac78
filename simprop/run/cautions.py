"""What to beware of, put together from what a prop has. It defers to local codes and to licensed practice."""

from __future__ import annotations

from collections.abc import Iterator

from simprop.drives.kinds import Motor, Pusher
from simprop.rig.model import Rig

LOW_VOLTAGE = "Low voltage: keep the mains side of the supply indoors or in a rated box, and fuse the wire."
ALWAYS = (
    "Moving parts pinch and crush: guard cranks, slides and closing gaps, keep visitors out of reach, isolate before "
    "reaching in.",
    "Keep a stop button beside whoever runs the prop; it must not start by itself when power returns.",
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
        >>> cautions(rig) == ALWAYS
        True
    """
    drives: list[Motor | Pusher] = [*rig.motors.values(), *rig.pushers.values()]
    things = (*(d.figures for d in drives), *_others(rig))
    found = [text for thing in things for text in getattr(thing, "cautions", ())]
    if any(d.supply is not None for d in drives):
        found.append(LOW_VOLTAGE)
    return tuple(dict.fromkeys((*found, *ALWAYS)))


def _others(rig: Rig) -> Iterator[object]:
    yield from (*rig.springs.values(), *rig.pulls.values(), *rig.joints.values(), *rig.contacts.values())
