"""What was found in glasses: notes on an item, and notes found by what they say."""
