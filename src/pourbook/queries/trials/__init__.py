"""Questions about a trial: what to pour, what was poured, and what is still to go."""
