"""All validation cases."""

from __future__ import annotations

from tests.validation import chains, forces, linkages, motors, pendulums

CASES = (*pendulums.CASES, *chains.CASES, *linkages.CASES, *forces.CASES, *motors.CASES)
