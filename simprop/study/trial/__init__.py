"""One variant tried: read, put together, run, asked."""
