"""Terrestrial TV: which transmitter, and is it strong enough."""
