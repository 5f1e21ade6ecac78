"""What the builder said: the rig file as text, as a checked and frozen model."""
