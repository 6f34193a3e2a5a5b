"""How often a test is answered right, for how far apart two products are: d', by the model of Thurstone.

A product is felt as a number, normally distributed with a standard deviation of one; d' is the distance between the
means of two products. Who answers compares what was felt, by the rule of the test. Formulas: Ennis (1993), The power of
sensory discrimination methods, J. Sensory Studies 8, 353-370; tetrad: Ennis et al. (1998), Br. J. Math. Stat. Psych.
51, 205-215 (both quoted second-hand).

>>> round(proportion_correct("triangle", 1.0), 6), round(d_prime_of("triangle", 0.418047), 4)
(0.418047, 1.0)
"""

import math
from collections.abc import Callable, Mapping
from statistics import NormalDist

from pourbook.errors import OutOfRange

__all__ = ["GUESSED", "MOST_D_PRIME", "d_prime_of", "discriminators", "integral", "proportion_correct", "slope"]

GUESSED: Mapping[str, float] = {
    "triangle": 1 / 3,
    "duo-trio": 1 / 2,
    "paired": 1 / 2,
    "three-afc": 1 / 3,
    "tetrad": 1 / 3,
}
"""The tests, and how often mere guessing is right."""

MOST_D_PRIME = 20.0
"""Beyond it everybody is always right, as far as a number can say."""

_NORMAL = NormalDist()
_cdf, _pdf = _NORMAL.cdf, _NORMAL.pdf
_STEPS = 200
_HALVINGS = 50


def integral(of: Callable[[float], float], start: float, end: float) -> float:
    """Of a smooth function, by Simpson's rule."""
    step = (end - start) / _STEPS
    weights = (1 if place in (0, _STEPS) else 4 if place % 2 else 2 for place in range(_STEPS + 1))
    return step / 3 * math.fsum(weight * of(start + step * place) for place, weight in enumerate(weights))


# -- right answers for a d' ------------------------------------------------------------


def _triangle(d: float) -> float:
    """The two alike are felt nearer to each other than either is to the odd one.

    How far the odd one is from the middle of the two, and they from each other, are independent and normal: a plane
    with its centre at a distance, of which a wedge of 60 degrees, to both sides, is right. Summed over directions.
    """
    centre = d * math.sqrt(2 / 3)

    def both_ways(angle: float) -> float:
        along, across = centre * math.cos(angle), centre * math.sin(angle)
        return math.exp(-centre * centre / 2) / math.pi + along * _pdf(across) * (2 * _cdf(along) - 1)

    return integral(both_ways, -math.pi / 6, math.pi / 6)


def _duo_trio(d: float) -> float:
    nearer, between = _cdf(d / math.sqrt(2)), _cdf(d / math.sqrt(6))
    return 1 - nearer - between + 2 * nearer * between


def _paired(d: float) -> float:
    return _cdf(d / math.sqrt(2))


def _three_afc(d: float) -> float:
    """The one that has more is felt above both others."""
    return integral(lambda z: _pdf(z - d) * _cdf(z) ** 2, -9.0, 9.0 + d)


def _tetrad(d: float) -> float:
    """Both of one product are felt above both of the other, or below."""
    return 1 - 2 * integral(lambda z: _pdf(z) * (2 * _cdf(z) * _cdf(z - d) - _cdf(z - d) ** 2), -9.0, 9.0)


_RIGHT = {
    "triangle": _triangle,
    "duo-trio": _duo_trio,
    "paired": _paired,
    "three-afc": _three_afc,
    "tetrad": _tetrad,
}


def proportion_correct(method: str, d_prime: float) -> float:
    """How often the answer is right; below 0 only in a paired test, where it says which product has more.

    Raises:
        OutOfRange: no such d' of that test.
    """
    least = -MOST_D_PRIME if method == "paired" else 0.0
    if not least <= d_prime <= MOST_D_PRIME:
        raise OutOfRange(f"a d' of {d_prime:g}", f"give one from {least:g} to {MOST_D_PRIME:g}")
    return _RIGHT[method](d_prime)


def d_prime_of(method: str, proportion: float, *, signed: bool = False) -> float:
    """The d' at which so many answers are right: 0 for no more than guessing, infinite where all are.

    `signed`, of a paired test: below guessing it is negative, as the other product has more.
    """
    if signed and proportion < 0.5:
        return -d_prime_of(method, 1 - proportion)
    if proportion <= GUESSED[method]:
        return 0.0
    if proportion >= 1.0:
        return math.inf
    low, high = 0.0, MOST_D_PRIME
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _RIGHT[method](middle) < proportion else (low, middle)
    return (low + high) / 2


def slope(method: str, d_prime: float) -> float:
    """How fast right answers become more with d'."""
    near = 1e-4
    return (_RIGHT[method](d_prime + near) - _RIGHT[method](max(d_prime - near, 0.0))) / (near + min(near, d_prime))


def discriminators(method: str, proportion: float, *, signed: bool = False) -> float:
    """The proportion of assessors who tell them apart, if all others guess (Abbott's formula); 0 below guessing.

    `signed`, of a paired test: below guessing it is negative, as the other product has more.

    >>> discriminators("triangle", 0.5), discriminators("paired", 0.25, signed=True)
    (0.25, -0.5)
    """
    guessed = GUESSED[method]
    told = round((proportion - guessed) / (1 - guessed), 15)
    return told if signed else max(0.0, told)
