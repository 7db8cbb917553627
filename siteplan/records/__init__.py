"""The nouns: frozen records with units in their field names; no sums beyond a property of one line."""
