"""Questions about gauges: what a cask loses, the last gauge, and the uncertainty of the figures."""
