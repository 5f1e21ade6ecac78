"""Figures of materials, pipes, motors and supplies, as text files with a source for every row."""
