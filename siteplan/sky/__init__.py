"""Looking up: where satellites stand, and what stands before them."""
