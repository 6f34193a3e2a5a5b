"""EPCIS 2.0: lineages between houses, as events."""
