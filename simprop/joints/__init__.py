"""Joints between bodies, one kind a file; what a kind must say stands in `kinds`."""

from simprop.joints import pin, slider, cylindrical, ball, fixed, universal, slot, pipe_bearing  # noqa: F401, I001 - each enters `JOINTS`, in this order
