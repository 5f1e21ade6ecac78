"""All validation cases."""

from __future__ import annotations

from tests.validation import chains, pendulums

CASES = (*pendulums.CASES, *chains.CASES)
