"""Springs, stops, pulls and contacts."""
