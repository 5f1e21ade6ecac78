"""The prop measured back: what to measure on it, and what its figures must be by that."""
