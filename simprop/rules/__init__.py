"""Pure formulas of strength, each with its source."""
