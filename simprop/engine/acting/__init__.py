"""Every law that acts on a prop, as data and at a state."""
