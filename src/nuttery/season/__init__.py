"""season."""
