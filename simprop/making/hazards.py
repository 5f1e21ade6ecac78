"""What can hurt somebody at this prop, by sorts, with the figures of the run."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from simprop.drives.kinds import Motor, Pusher
from simprop.run import cautions as words
from simprop.run.run import Run

HEAD_HIGH = 2.0
"""Where a prop is taller, somebody builds it from a ladder, m (assumed)."""
BURNS = ("straw", "foam", "cloth", "burlap", "fleece", "yarn", "mache", "coat", "cloak")
"""Words in the names of what catches fire from a lamp or a hot motor, from memory."""

BATTERY = (
    "A battery in place of a supply gives hundreds of amperes into a short: fuse it at its terminal, cover both "
    "terminals, wear no ring and carry no spanner over it, and charge it away from the prop by a charger made for it."
)
HEIGHT = (
    "Somebody works above head height: a ladder on firm ground that a second person holds, tools on a cord, nobody "
    "underneath."
)
FIRE = (
    "Keep what burns a hand's breadth off motors, lamps and supplies, no flame or smoke machine under it, an "
    "extinguisher within reach, and flame-retardant stuff where the local code asks for it."
)
PUBLIC = (
    "The public comes: children get under fences and old people fall over cords; light the way, cover cables, keep "
    "exits free, and leave nobody alone with the running prop."
)


@dataclass(frozen=True)
class Hazard:
    """One sort of hazard.

    Attributes:
        sort: its heading.
        told: what to know and do, a sentence each.
    """

    sort: str
    told: tuple[str, ...]


def hazards(run: Run) -> tuple[Hazard, ...]:
    """The cautions of a prop by sorts; those of `simprop.run.cautions.cautions` are among them, each once.

    Args:
        run: of at least one whole cycle.

    Source: common practice, no source, where a sentence names none.
    """
    left = list(run.cautions)

    def take(*wanted: str) -> list[str]:
        found = [text for text in dict.fromkeys(wanted) if text in left]
        for text in found:
            left.remove(text)
        return found

    pinch = take(*words.MOVING)
    if pinch:
        pinch += _pressing(run)
    tips = [*take(*words.FREE), *_tipping(run)]
    public = [*take(*words.OVERHEAD), PUBLIC] if pinch or tips else []
    fed: list[Motor | Pusher] = [*run.rig.motors.values(), *run.rig.pushers.values()]
    drives = [drive.figures for drive in fed]
    mains = take(*(text for d in drives if d.mains for text in d.cautions))
    power = [*take(words.LOW_VOLTAGE), BATTERY] if words.LOW_VOLTAGE in left else []
    air = take(*(text for d in drives if d.air is not None for text in d.cautions))
    pushed = take(*(text for d in drives for text in d.cautions))
    always = take(*words.ALWAYS)
    rows = (
        ("Pinch and crush", pinch),
        ("Mains outdoors", mains),
        ("Low voltage and batteries", power),
        ("Compressed air", air),
        ("Motors and actuators", pushed),
        ("Springs, cords and what hangs", left),
        ("Tip-over", tips),
        ("Heights", [HEIGHT] if _tall(run) else []),
        (
            "Fire",
            [f"What burns of it: {', '.join(burning)}. {FIRE}" for burning in [_burning(run)] if burning],
        ),
        ("Public access", public),
        ("In the end", always),
    )
    return tuple(Hazard(sort, tuple(told)) for sort, told in rows if told)


def _pressing(run: Run) -> Iterator[str]:
    """The body that presses hardest, and the gaps that close."""
    known = [(e.press.force, e) for e in run.strength.envelopes if e.press.force is not None]
    if known:
        force, most = max(known, key=lambda row: row[0])
        stored = most.press.stored
        off = f"; {stored:.0f} N of that with the power off" if stored >= 1 else ""
        yield f"It presses hardest with {most.body.replace('_', ' ')}: {force:.0f} N by {most.press.by}{off}."
    gaps = [c.place.replace("_", " ") for c in run.strength.checks if c.group == "reach" and "gap" in c.name]
    if gaps:
        yield f"Gaps that close on somebody: {', '.join(dict.fromkeys(gaps))}."


def _tipping(run: Run) -> Iterator[str]:
    for check in run.strength.checks:
        if check.group == "stability" and check.margin is not None and check.name.startswith("tipping"):
            factor = check.margin * check.factor
            times = "over 99" if factor > 99 else f"{factor:.2g}"
            yield f"In the run what holds it down is {times} times what tips it ({check.place})."


def _tall(run: Run) -> bool:
    own = ((b.com, s.box()) for b in run.assembly.drawn if not b.scenery for s in b.shapes)
    return any(
        float(com[2] + middle[2] + abs(turn[2]) @ half) > HEAD_HIGH for com, (middle, turn, half) in own
    )


def _burning(run: Run) -> list[str]:
    """What of it burns: names of materials, once each."""
    found = [s.material for b in run.assembly.drawn if not b.scenery for s in b.shapes]
    found += [s.looks for b in run.assembly.drawn if not b.scenery for s in b.shapes]
    found += [strips.of or "" for strips in run.rig.strips.values()]
    return [m for m in dict.fromkeys(found) if any(word in m.lower() for word in BURNS)]
