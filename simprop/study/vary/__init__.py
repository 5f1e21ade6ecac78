"""Which variants there are: ranges and choices of fields, grids and samples of them, what has to hold."""
