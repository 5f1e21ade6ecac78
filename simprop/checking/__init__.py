"""A check as data, what it is judged by, and the search for what would mend it."""
