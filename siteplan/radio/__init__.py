"""Propagation, antennas and budgets."""
