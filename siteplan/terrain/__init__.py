"""The ground and what stands on it, from arrays."""
