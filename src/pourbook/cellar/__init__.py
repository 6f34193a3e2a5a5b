"""The cellar: what the gauges of a cask over time say of it, and what to expect of it."""
