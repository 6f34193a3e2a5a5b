"""Questions about gauges: fillings of a cask, the last gauge, and the uncertainty of the figures."""
