"""The motion for other programs."""
