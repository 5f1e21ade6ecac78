"""Plots, drawings and sheets."""
