"""geodesy."""
