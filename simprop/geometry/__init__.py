"""Plain arrays: turning, surfaces, solids, sweeps."""
