"""Where casks lie: places read from a house's own words, in the order of a walk, and what lies in the way of what."""
