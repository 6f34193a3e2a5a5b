"""Questions about gauges: fillings of a cask, the last gauge, and how sure the figures are."""
