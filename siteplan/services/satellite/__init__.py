"""Satellite: can a dish here see what is wanted."""
