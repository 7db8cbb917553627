"""methods."""
