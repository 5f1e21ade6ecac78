"""From a scene to pixels."""
