"""What ties the motions of two joints together, one kind a file; what a kind must say stands in `base`."""
