"""How far to trust a run's loads, in sentences: what adds up, what joints share, what rubs on what."""

from __future__ import annotations

from simprop.catalog.friction import Surfaces
from simprop.loads.energy import Energy
from simprop.loads.joints import Peak
from simprop.report.figures import NOTHING, number
from simprop.run.run import Run


def audit_lines(run: Run) -> list[str]:
    """How well the run adds up, one sentence each."""
    lines = []
    for motor in run.loads.motors:
        if motor.difference is None:
            lines.append(
                f"Motor {motor.name}: the mechanism doesn't let its load be recovered from the motion; not audited."
            )
        else:
            lines.append(
                f"Motor {motor.name}: load recovered from the motion differs from its law by at most "
                f"{100 * motor.difference:.2g} % of the peak."
            )
    lines.append(
        f"Largest imbalance left in the equations of motion: {100 * run.loads.wrenches.unbalanced:.2g} % "
        "of the largest load."
    )
    lines.append(energy_line(run.loads.energy))
    if run.own:
        worst = max(run.own, key=lambda row: row.share)
        lines.append(
            f"The engine's own forces in {len(run.own)} joints, in what rigid bodies determine of them, differ from "
            f"these loads by at most {100 * worst.share:.2g} % of the largest peak (joint {worst.joint})."
        )
    made = run.recording.versions
    by = f" ({', '.join(f'{k} {v}' for k, v in made.items())})" if made else ""
    lines.append(
        f"Engine {run.recording.engine}{by}, step {run.track.step * 1000:.4g} ms, {len(run.track.time)} steps."
    )
    return lines


def energy_line(found: Energy) -> str:
    """Where the energy of the run went, in one sentence."""
    if found.share is None:
        return "Energy: not audited, nothing moved enough to exchange any."
    parts = [("motors gave", found.motor), ("gravity gave", found.gravity), ("springs gave", found.spring)]
    taken = [
        ("friction took", -found.friction),
        ("damping took", -found.damping),
        ("what bends holds", -found.bending),
        ("stops took", -found.stop),
        ("contacts and play took", -found.contact),
        ("air and folds took", -found.air),
        ("strips hold", -found.strips),
    ]
    said = [
        f"{what} {number(value)} J" for what, value in [*parts, *taken] if abs(value) > 1e-3 * found.exchanged
    ]
    said = [", ".join(said)] if said else []
    more = f"{number(found.kinetic)} J more motion at the end"
    return f"Energy: {'; '.join([*said, more])}; {100 * found.share:.2g} % unexplained."


def shared_lines(run: Run) -> list[str]:
    """Which loads joints share in a way that rigid bodies don't determine, and in which range each one's part lies."""
    words = {j.name: w for j, w in zip(run.assembly.joints, run.loads.wrenches.shared, strict=True) if w}
    found = [
        f"{force.name}: {words[force.name]} ({_range(force, 'N')}, {_range(moment, 'N*m')})"
        for force, moment in run.loads.joints
        if force.name in words
    ]
    if not found:
        return []
    return [
        "Shared: rigid bodies don't determine how the joints share these; pins, holes, guides and the members between "
        "them share them as they give. In brackets each joint's peaks from equal shares to one joint that bears all "
        "that it can (a rod end in place of a pin often makes a mechanism determinate): "
        + "; ".join(found)
        + "."
    ]


def _range(peak: Peak, unit: str) -> str:
    low, high = peak.range or (0.0, 0.0)
    return f"{number(low)} to {number(high)} {unit}" if high > NOTHING else f"0 {unit}"


def rubbing_lines(run: Run) -> list[str]:
    """What rubs on what, with play and contact stiffness as derived, one sentence each."""
    rubs = [("Joint", name, getattr(j, "friction", None)) for name, j in run.rig.joints.items()]
    rubs += [("Contact", name, c.friction) for name, c in run.rig.contacts.items()]
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
    return lines + [n for n in run.laws.notes if n.startswith(("joints.", "contacts.", "cords.", "strips."))]
