"""Touch, play and load-dependent friction, for both engines."""
