"""Where variants run: processes here or a cluster, and the store that keeps what came of them."""
