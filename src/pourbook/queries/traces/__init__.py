"""Questions of lineage: back, forward, why, how old, at what cost."""
