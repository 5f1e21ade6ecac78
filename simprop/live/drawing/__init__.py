"""A picture behind the prop: laid at true scale, points dragged on it, new ones set by a click."""
