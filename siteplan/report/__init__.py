"""Records in, page text out; opens nothing and calculates nothing."""
