"""What each command does, from arguments to files and the terminal; returns the exit code."""
