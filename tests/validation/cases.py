"""All validation cases."""

from __future__ import annotations

from dataclasses import replace

from tests.validation import chains, forces, linkages, motors, pendulums
from tests.validation.harness import Case

IMPLICIT = {
    "A01 simple pendulum": {"position error at 5 s": 1e-4, "position error at 10 s": 3e-4},
    "A02 four-bar chain, N = 2": {},
    "A03 squeezing mechanism": {},
    "four-bar 40/120/80/100 under a constant torque": {},
    "in-line slider-crank at 1200 rpm": {"crankpin force at 90 deg": 2e-3, "wrist force at 90 deg": 2e-3},
    "block stopped by dry friction": {},
    "arm falls on a springy stop": {},
    "skew disc on a shaft": {},
    "spinning wheel on a turning arm": {},
    "hoist: DC motor, gear of 10, drum of 20 mm, 0.5 kg": {},
    "rotor of a motor that itself moves": {},
}
"""Cases that exudyn runs too, at bullet's step and tolerances: both are of second order. Its own where they differ: the
phase of a long swing, and a force that passes its extreme there."""


def _with_exudyn(case: Case) -> Case:
    own = IMPLICIT.get(case.name)
    if own is None:
        return case
    quantities = [
        replace(q, tolerance={**q.tolerance, "exudyn": own.get(q.name, q.tolerance["bullet"])})
        if "bullet" in q.tolerance
        else q
        for q in case.quantities
    ]
    return replace(case, step={**case.step, "exudyn": case.step["bullet"]}, quantities=tuple(quantities))


CASES = tuple(
    _with_exudyn(case)
    for case in (*pendulums.CASES, *chains.CASES, *linkages.CASES, *forces.CASES, *motors.CASES)
)
