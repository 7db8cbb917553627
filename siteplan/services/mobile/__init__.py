"""Mobile internet: which sites are likely strongest."""
