"""Whether cords break."""

from __future__ import annotations

import numpy as np

from simprop.checking.check import Check, judge, not_computed
from simprop.checking.context import peak
from simprop.cords.base import span_names
from simprop.loads.joints import JointLoads
from simprop.rules.cords import FACTOR, OVERHEAD, left

SOURCE = "a rigger's working load is a fifth of the breaking load, a tenth over people (common practice, from memory)"


def cords(loads: JointLoads) -> list[Check]:
    """The largest pull in any span of each cord against what knots and narrow wheels leave of its breaking load."""
    rig, track = loads.recording.assembly.rig, loads.recording.track
    names = [name for name, _ in rig.lines]
    factor = OVERHEAD if rig.visitors is not None and rig.visitors.overhead else FACTOR
    found = []
    for name, cord in rig.cords.items():
        place, breaks = f"cord {name}", cord.stuff().breaks
        if breaks is None:
            reason = "its breaking load isn't stated (`material: ...` or `breaks: ... N`)"
            found.append(
                not_computed("member", "pull", place, reason, unit="N", factor=factor, source=SOURCE)
            )
            continue
        own = [names.index(span) for span in span_names(name, cord)]
        most, row = peak(np.max(track.line_force[:, own], axis=1))
        narrow = min((p.diameter for p in cord.places if p.diameter is not None), default=None)
        share = left(cord.knot, cord.diameter, narrow)
        said = [f"knots and wheels leave {100 * share:.0f} % of its {breaks:.0f} N"]
        if cord.breaks is None:
            said.append(f"breaking load of {cord.material} (catalogue)")
        found.append(
            judge(
                "member",
                "pull",
                place,
                most,
                share * breaks,
                unit="N",
                factor=factor,
                assumed=said,
                source=SOURCE,
                time=float(track.time[row]),
            )
        )
    return found
