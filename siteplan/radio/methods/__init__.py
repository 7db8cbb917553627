"""One file for each propagation method, all with one call shape."""
