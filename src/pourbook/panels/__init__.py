"""Tests of tasters as statistics: difference, ranking, agreement, orders of serving. Values in, values out."""
