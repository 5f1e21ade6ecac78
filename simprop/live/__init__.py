"""A rig seen moving while it is written: its state, what is worked out from it in the background, and its page."""
