"""Motors and pushers, and the supplies that feed them."""
