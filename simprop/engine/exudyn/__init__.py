"""Props stepped by exudyn: implicit, so that what is stiff needs no short steps; carries joints that give."""
