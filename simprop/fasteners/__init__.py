"""What holds a joint together."""
