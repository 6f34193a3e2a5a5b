"""The bench: recipes, trials, what they would be, and how they differ."""
