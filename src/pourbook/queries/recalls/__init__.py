"""Recalls: what is affected, where it is, and whether the balance closes."""
