"""satellite."""
