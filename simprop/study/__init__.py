"""One prop in many variants: what is asked of each, which are tried, where they run, and the search for the one that
does it."""
