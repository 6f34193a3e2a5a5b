"""The law of an error that is the sum of rectangular errors and a normal one, exactly.

A permissible error without more known of it, or a rounding, is as likely anywhere up to its limit: a rectangular
law (JCGM 100:2008, 4.3.7). Two equal ones make a triangle, several the pieces of a spline, and beside a normal error
each corner is rounded. So what JCGM 101 draws at random has a formula here.

With Φ integrated over n times, I_n, the probability below x of a normal error and n rectangular ones with half widths
a_1 … a_n is the sum over all signs s of s_1 … s_n I_n(x + s_1 a_1 + … + s_n a_n), divided by 2^n a_1 … a_n. By parts,
n I_n(x) = x I_(n-1)(x) + σ² I_(n-2)(x).

One rectangular error of ± 0.3 seen 0.1 inside: four parts of six lie below 0.1.

>>> f"{below(0.1, [0.3], 0.0):.4f}"
'0.6667'
"""

from collections.abc import Sequence
from itertools import product
from math import erfc, exp, factorial, fsum, hypot, pi, prod, sqrt
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pourbook.uncertainty.propagation import Uncertain

__all__ = ["below", "inside"]

_MOST = 8
"""Rectangular errors taken as such, the largest; more together are normal to the fourth digit."""

_NOTHING = 1e-6
"""A normal error below this part of the largest rectangular one rounds no corner that anybody could see."""

_LEAST = 0.05
"""Those below this part of the largest are taken as normal: their fourth cumulant is less than a hundred-thousandth."""


def inside(error: "Uncertain", low: float, high: float) -> float:
    """Probability that what was estimated with these sources of error lies from `low` to `high`."""
    half_widths, normal = _parts(error)
    by_left = below(high - error.value, half_widths, normal) - below(low - error.value, half_widths, normal)
    return min(1.0, max(0.0, by_left))


def _parts(error: "Uncertain") -> tuple[list[float], float]:
    """Half widths of the rectangular errors that count as such, and the standard deviation of all the rest."""
    rectangular, normal = [], []
    for source, share in error.sources.items():
        count = error.rectangles.get(source, 0)
        if 0 < count <= _MOST:
            rectangular += [abs(share) / sqrt(count)] * count
        else:
            normal.append(share)
    rectangular.sort(reverse=True)
    kept = [one for one in rectangular[:_MOST] if one > _LEAST * max(rectangular[0], hypot(*normal))]
    rest = hypot(*normal, *rectangular[len(kept) :])
    return [sqrt(3.0) * one for one in kept], rest if not kept or rest > _NOTHING * kept[0] else 0.0


def below(x: float, half_widths: Sequence[float], normal: float) -> float:
    """Probability that a sum of rectangular errors and a normal one of that standard deviation lies below x."""
    reach = sum(half_widths) + 9.0 * normal  # beyond, nothing is left that a double could hold
    if abs(x) >= reach:
        return 1.0 if x > 0.0 or not reach else 0.0
    count = len(half_widths)
    terms = []
    for signs in product((-1.0, 1.0), repeat=count):
        corner = fsum(sign * half for sign, half in zip(signs, half_widths, strict=True))
        terms.append(prod(signs) * _integrated(x + corner, count, normal))
    return fsum(terms) / (2.0**count * prod(half_widths))


def _integrated(x: float, times: int, normal: float) -> float:
    """The distribution function of a normal error, integrated over so often."""
    if not normal:
        return max(0.0, x) ** times / factorial(times)
    before, here = normal * _density(x / normal), erfc(-x / normal / sqrt(2.0)) / 2.0
    before /= normal * normal  # I_-1, the density itself
    for n in range(1, times + 1):
        before, here = here, (x * here + normal * normal * before) / n
    return here


def _density(deviations: float) -> float:
    return exp(-deviations * deviations / 2.0) / sqrt(2.0 * pi)
