"""From what was said to bodies with mass and inertia at a start pose that closes."""
