"""Joint kinds."""
