"""Cords: one over many places, as one law."""
