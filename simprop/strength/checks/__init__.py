"""A check for each thing that can give way."""
