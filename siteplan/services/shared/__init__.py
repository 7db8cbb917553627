"""shared."""
