"""Bodies and joints that give: how a body answers loads at its joints, and how joints share a load."""
