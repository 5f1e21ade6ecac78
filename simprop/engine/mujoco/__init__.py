"""The default engine."""
