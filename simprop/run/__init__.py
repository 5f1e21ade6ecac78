"""A run of a prop."""
