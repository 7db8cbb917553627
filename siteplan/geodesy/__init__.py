"""Positions on the Earth: distances, bearings, projections."""
