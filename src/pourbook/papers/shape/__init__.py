"""The shape of a drink: from values to a picture and its table."""
