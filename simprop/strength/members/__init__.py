"""Members cut along their length."""
