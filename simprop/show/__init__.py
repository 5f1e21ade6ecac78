"""Several props as one show: on shared supplies, by one clock."""
