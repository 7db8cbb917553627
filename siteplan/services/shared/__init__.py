"""Steps that several services use."""
