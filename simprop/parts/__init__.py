"""Part shapes."""
