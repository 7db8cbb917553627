"""radio."""
