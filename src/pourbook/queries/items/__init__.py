"""Questions about one item: what it is, what it holds, what its label says."""
