"""What the load report says of slides that may bind, of contacts, of play and of surfaces that rub."""

from __future__ import annotations

import math
from typing import Any

from simprop.catalog.friction import Surfaces
from simprop.loads.binding import Binding
from simprop.loads.joints import JointLoads

TIGHT = 1.5
"""A binding margin under this is worth a word: coefficients of friction spread by 30 % and more."""


def binding_line(found: Binding) -> str:
    """The binding margin of a slide in one sentence.

    Example:
        >>> binding_line(Binding("tee", 2.0, 0.9, 0.45, 1.25))
        'Slide tee: it locks at a friction of 0.9 and has 0.45 (margin 2.00, at 1.250 s)'
    """
    name = found.joint
    if found.margin is None and found.locking is not None and not math.isinf(found.locking):
        return f"Slide {name}: would lock at a friction of {found.locking:.2g}; margin not computed, {found.reason}"
    if found.margin is None:
        return f"Slide {name}: binding margin not computed, {found.reason}"
    if math.isinf(found.margin):
        return f"Slide {name}: can't bind, what pushes it doesn't press it sideways"
    figures = f"it locks at a friction of {found.locking:.2g} and has {found.present:.2g}"
    figures += f" (margin {found.margin:.2f}, at {found.time:.3f} s)"
    advice = "guide it longer or push nearer to its axis"
    if found.margin <= 1.0:
        return f"Slide {name} BINDS: {figures}; {advice}"
    if found.margin < TIGHT:
        return f"Slide {name} is near binding: {figures}; {advice}"
    return f"Slide {name}: {figures}"


def rubbing_lines(loads: JointLoads) -> list[str]:
    """What rubs on what, with play and contact stiffness as derived, one sentence each."""
    rig = loads.recording.assembly.rig
    rubs = [("Joint", name, getattr(j, "friction", None)) for name, j in rig.joints.items()]
    rubs += [("Contact", name, c.friction) for name, c in rig.contacts.items()]
    lines = []
    for what, name, rub in rubs:
        if isinstance(rub, Surfaces) and rub.name:
            assumed = ", assumed" if rub.assumed else ""
            lines.append(
                f"{what} {name}: {rub.name}, friction {rub.static:g} at rest, {rub.kinetic:g} sliding{assumed} "
                f"({rub.source}); real surfaces differ by 30 % and more"
            )
    if any(isinstance(rub, Surfaces) for what, _, rub in rubs if what == "Joint"):
        lines.append("Friction by coefficients goes with the load of the step before (a lag of one step)")
    notes = loads.recording.laws.notes
    return lines + [n for n in notes if n.startswith(("joints.", "contacts."))]


def as_data(found: Binding) -> dict[str, Any]:
    """A binding margin for JSON; null is 'not computed', or 'can't bind' as `reason` says."""
    endless = found.margin is not None and math.isinf(found.margin)
    finite = found.locking is not None and math.isfinite(found.locking)
    return {
        "margin": None if endless else found.margin,
        "locking_friction": found.locking if finite else None,
        "present_friction": found.present,
        "time_s": None if endless else found.time,
        "reason": "what pushes it doesn't press it sideways" if endless else found.reason or None,
    }
