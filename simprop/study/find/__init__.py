"""The search for the variant that does what is wanted: wants, goals, search, polish, and what is left of a choice."""
