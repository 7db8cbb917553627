"""terrestrial."""
