"""Margins of motors, supply and heat from a run."""
