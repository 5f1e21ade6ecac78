"""The usual cautions for what a rig contains. They defer to local codes and to licensed practice."""

from __future__ import annotations

from simprop.rig.model import Rig

ALWAYS = (
    "Moving parts pinch and crush: guard cranks and slides, keep visitors out of reach, isolate before reaching in.",
    "Keep a stop button beside whoever runs the prop; it must not start by itself when power returns.",
    "This report approves nothing: local codes and a licensed person decide.",
)


def cautions(rig: Rig) -> list[str]:
    """Cautions that apply to a rig, most particular first.

    Args:
        rig: the rig.

    Returns:
        Sentences. Source: wiring rules and common practice (from memory).

    Example:
        >>> from simprop.rig.load import parse_rig
        >>> rig = parse_rig("rig: 1\\nname: Post\\nbodies: {post: {fixed: true}}\\nrun: {for: 1 s}")
        >>> cautions(rig) == list(ALWAYS)
        True
    """
    found = []
    kinds = {m.motor if isinstance(m.motor, str) else m.motor.kind for m in rig.motors.values()}
    if any("synchronous" in k for k in kinds):
        found.append(
            "Mains outdoors: only on a ground-fault device (GFCI or RCD), with outdoor-rated cord, boxes and drip "
            "loops; have it checked by a licensed electrician."
        )
    if any(m.supply for m in rig.motors.values()):
        found.append(
            "Low voltage: keep the mains side of the supply indoors or in a rated box, and fuse the wire."
        )
    if any("cylinder" in k for k in kinds):
        found.append(
            "Compressed air stores energy after power-off: regulator, dump valve, rated hose; "
            "never PVC pipe as a vessel or line."
        )
    if rig.springs:
        found.append("Springs store energy with the power off: let them down before work, shield the ends.")
    return [*found, *ALWAYS]
