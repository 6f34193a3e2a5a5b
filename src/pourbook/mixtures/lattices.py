"""Points spread evenly over a simplex of blends: the lattice and the centroids (Scheffé 1958, 1963).

Where only lower bounds bind, the region is a smaller simplex, and its points are laid out in that.

>>> whole = Region(tuple("abc"), ((Fraction(0), Fraction(1)),) * 3)
>>> len(lattice(whole, 2)), len(lattice(whole, 3)), len(simplex_centroids(whole))
(6, 10, 7)
"""

from collections.abc import Iterable
from fractions import Fraction
from itertools import combinations, combinations_with_replacement
from math import comb

from pourbook.errors import OutOfRange
from pourbook.mixtures.regions import Blend, Region, is_within, reached
from pourbook.numerals import counted

__all__ = ["lattice", "simplex_centroids"]

_MOST_POINTS = 2000
"""Of a lattice; nobody pours more."""


def lattice(region: Region, steps: int) -> tuple[Blend, ...]:
    """Every blend whose fractions are whole steps of `1 / steps` between the least that they reach and the rest.

    Raises:
        OutOfRange: `steps` is not above zero, an upper bound cuts off some of them, or no blend is within.
        Malformed: as `regions.vertices`.
    """
    if steps < 1:
        raise OutOfRange(f"a lattice of {steps} steps", "give 1 or more; 2 for a quadratic model")
    q = len(region.components)
    if (points := comb(q + steps - 1, steps)) > _MOST_POINTS:
        raise OutOfRange(
            f"a lattice of {steps} steps has {points} glasses, and {_MOST_POINTS} are the most", "give fewer steps"
        )
    chosen = combinations_with_replacement(range(q), steps)
    return _laid_out(region, (tuple(Fraction(one.count(place), steps) for place in range(q)) for one in chosen))


def simplex_centroids(region: Region) -> tuple[Blend, ...]:
    """Every component alone, every two in equal parts, every three and so on, above the least that they reach.

    Raises as `lattice`.
    """
    q = len(region.components)
    chosen = (one for size in range(1, q + 1) for one in combinations(range(q), size))
    return _laid_out(region, (tuple(Fraction(place in one, len(one)) for place in range(q)) for one in chosen))


def _laid_out(region: Region, points: Iterable[Blend]) -> tuple[Blend, ...]:
    lows = [low for low, _ in reached(region)]
    free = 1 - sum(lows)
    found = dict.fromkeys(tuple(low + free * part for low, part in zip(lows, one, strict=True)) for one in points)
    outside = sum(not is_within(region, blend) for blend in found)
    if outside:
        raise OutOfRange(
            f"upper bounds or limits cut off {outside} of {counted(len(found), 'point')}",
            "choose glasses within them instead: --glasses N",
        )
    return tuple(found)
