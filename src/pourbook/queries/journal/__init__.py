"""Questions about the journal itself: what moved between two moments, and whether history still agrees."""
