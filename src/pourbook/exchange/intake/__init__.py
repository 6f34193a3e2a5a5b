"""What comes in from tables: a house's history, its casks, a round of gauges."""
