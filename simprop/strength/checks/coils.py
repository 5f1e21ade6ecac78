"""Whether the wire of a spring bears its force, and whether its coils close up."""

from __future__ import annotations

import numpy as np

from simprop.catalog import spring_wires
from simprop.checking.check import ALLOWABLE, Check, judge
from simprop.checking.context import peak
from simprop.forces.springs import Wound
from simprop.loads.joints import JointLoads
from simprop.rules import coils


def springs(loads: JointLoads) -> list[Check]:
    """The checks of every spring whose wire is stated."""
    rig, track = loads.recording.assembly.rig, loads.recording.track
    found: list[Check] = []
    for k, (name, _) in enumerate(rig.lines):
        spring = rig.springs.get(name)
        wound = None if spring is None else spring.wound
        if spring is None or wound is None:
            continue
        lengths = np.linalg.norm(track.line_end[:, k] - track.line_start[:, k], axis=1)
        found += _wire(f"spring {name}", wound, track.line_force[:, k], track.time, spring.pulls)
        if not spring.pulls:
            found.append(_solid(f"spring {name}", wound, lengths, track.time))
    return found


def _wire(place: str, wound: Wound, force: np.ndarray, time: np.ndarray, hooked: bool) -> list[Check]:
    most, row = peak(force)
    wire = spring_wires.wire(wound.of)
    ultimate = wire.ultimate(wound.wire)
    assumed = [
        f"{wire.name} of {wound.wire * 1e3:.3g} mm: {ultimate / 1e6:.0f} MPa",
        "endless life isn't checked",
    ]
    rows = [
        ("wire in torsion", coils.shear_stress, wire.torsion, "8 F D / (pi d^3) by Bergstraesser's factor")
    ]
    if hooked:
        rows.append(("hook in bending", coils.hook_stress, wire.hook, "curved bar of a full hook"))
    return [
        judge(
            "fastener",
            name,
            place,
            law(most, wound.wire, wound.mean),
            share * ultimate,
            unit="Pa",
            factor=ALLOWABLE,
            assumed=assumed,
            source=f"{source}; {spring_wires.SOURCE}",
            time=float(time[row]),
        )
        for name, law, share, source in rows
    ]


def _solid(place: str, wound: Wound, lengths: np.ndarray, time: np.ndarray) -> Check:
    row = int(np.argmin(lengths))
    solid = wound.wire * wound.coils
    return judge(
        "fastener",
        "coils close up",
        place,
        solid,
        float(lengths[row]),
        unit="m",
        factor=ALLOWABLE,
        assumed=[f"{wound.coils:g} coils, ends ground"],
        source="geometry: wire times coils against the shortest length of the run",
        time=float(time[row]),
    )
