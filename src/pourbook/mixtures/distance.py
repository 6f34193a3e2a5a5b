"""How far two compositions are apart: half the sum of the absolute differences of their fractions.

It is the part of one that would have to be taken out and replaced to make the other: 0 for the same, 1 where they have
nothing in common. Known as total variation distance, and equal to that of Bray and Curtis where both add up to one; a
metric, so that two trials near a third are never far from each other.

>>> round(distance({"oak": 0.9, "chestnut": 0.1}, {"oak": 0.85, "chestnut": 0.1, "water": 0.05}), 12)
0.05
"""

from collections.abc import Mapping

__all__ = ["distance"]


def distance(first: Mapping[str, float], second: Mapping[str, float]) -> float:
    """From 0 to 1, of fractions by name that add up to one in each; what is absent is 0."""
    shared = sum(abs(part - second.get(name, 0.0)) for name, part in first.items())
    return (shared + sum(part for name, part in second.items() if name not in first)) / 2
