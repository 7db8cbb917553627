"""What is sold: the verdict rules."""
