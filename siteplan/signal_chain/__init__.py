"""Antenna to outlet: cables, amplifiers, switches and outlets; levels, noise and direct current after each part."""
