"""A picture laid behind the prop at true scale, and the rig file that follows what is drawn on it."""
