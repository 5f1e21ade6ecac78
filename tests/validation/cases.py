"""All validation cases."""

from __future__ import annotations

from tests.validation import chains, linkages, pendulums

CASES = (*pendulums.CASES, *chains.CASES, *linkages.CASES)
