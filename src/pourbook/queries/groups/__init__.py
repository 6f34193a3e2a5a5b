"""Questions on a group's book: its sites, and what they do not agree on."""
