"""mobile."""
