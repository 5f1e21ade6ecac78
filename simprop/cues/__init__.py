"""What the controller does and when."""
