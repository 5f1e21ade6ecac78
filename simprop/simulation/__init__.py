"""Runs: from an assembly to a recording that is fine enough to trust."""
