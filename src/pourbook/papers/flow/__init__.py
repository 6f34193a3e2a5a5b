"""The flow picture of a trace: ribbons as wide as their pure alcohol."""
