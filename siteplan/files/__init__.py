"""Bytes to records and back; calculates nothing. The only floor that knows formats and column names."""
