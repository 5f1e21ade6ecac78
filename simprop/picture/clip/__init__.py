"""Moving pictures."""
