"""How far assessors agree, how well each says the same again, and how each uses the scale.

Kendall's W is Friedman's chi-squared as a share of its most; intraclass correlations and their limits are those of two
ways (assessors and products, both as drawn from many) of McGraw and Wong (1996), Psychological Methods 1, 30-46
(remembered). Repeatability is of ISO 5725: the limit is 2.8 standard deviations (remembered).

>>> scores = {("Isla", "ash"): (6, 7), ("Isla", "oak"): (3,), ("Tom", "ash"): (5,), ("Tom", "oak"): (4,)}
>>> found = agreement(scores)
>>> found.assessors[0].repeatability, found.w
(0.70..., 1.0)
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from pourbook.errors import OutOfRange
from pourbook.numerals import counted
from pourbook.panels.ranking import mean_ranks

__all__ = ["Agreement", "Assessor", "Correlation", "agreement"]


class Correlation(NamedTuple):
    """The value of an intraclass correlation, its lower and its upper limit (95 %); 0 is no better than chance."""

    value: float
    lower: float
    upper: float


class Assessor(NamedTuple):
    """One assessor.

    Attributes:
        name: as given.
        mean: of all scores.
        deviation: their standard deviation.
        lowest: the lowest score.
        highest: the highest score.
        range_used: how much of the scale lies between them, 0 to 1.
        repeats: how often a product was scored again.
        repeatability: the standard deviation of the same product scored again; None where none was.
    """

    name: str
    mean: float
    deviation: float
    lowest: float
    highest: float
    range_used: float
    repeats: int
    repeatability: float | None


class Agreement(NamedTuple):
    """A panel.

    Attributes:
        products: their names.
        w: Kendall's W of the order each assessor gives the products: 0 none, 1 whole agreement.
        w_p_value: how often it is as large by chance (chi-squared).
        one: how well a single assessor's scores tell products apart, counting who scores higher than others.
        one_order: the same, not counting it (consistency).
        panel: of the mean of the panel, counting it.
        panel_order: of the mean of the panel, not counting it.
        assessors: each of them.
        repeatability: standard deviation of the same product scored again, of all; None where none was.
        repeats: how often a product was scored again.
        scale: lowest and highest of the scale, or of all scores where none is given.
    """

    products: tuple[str, ...]
    w: float
    w_p_value: float
    one: Correlation | None
    one_order: Correlation | None
    panel: Correlation | None
    panel_order: Correlation | None
    assessors: tuple[Assessor, ...]
    repeatability: float | None
    repeats: int
    scale: tuple[float, float]

    @property
    def repeatability_limit(self) -> float | None:
        """Two scores of the same product differ by more in one of twenty; None where none was scored again."""
        return None if self.repeatability is None else 2.8 * self.repeatability


def agreement(scores: Mapping[tuple[str, str], Sequence[float]], scale: tuple[float, float] | None = None) -> Agreement:
    """How far a panel agrees; `scores` by assessor and product, several where it was hidden again.

    Raises:
        OutOfRange: fewer than two assessors or products, a score off the scale, a scale without width, or an
            assessor without a score of one of the products.
    """
    names = tuple(dict.fromkeys(assessor for assessor, _ in scores))
    products = tuple(dict.fromkeys(product for _, product in scores))
    if len(names) < 2 or len(products) < 2:
        raise OutOfRange(
            f"{counted(len(names), 'assessor')} and {counted(len(products), 'product')} cannot be compared",
            "give 2 of each, or more",
        )
    if lacking := [(who, what) for who in names for what in products if not scores.get((who, what))]:
        raise OutOfRange(f"'{lacking[0][0]}' has no score of '{lacking[0][1]}'", "add it, or leave this assessor out")
    given = [score for cell in scores.values() for score in cell]
    low, high = scale or (min(given), max(given))
    if scale and not low < high:
        raise OutOfRange(f"a scale from {low:g} to {high:g}", "give the lowest score, then the highest")
    if off := [score for score in given if not low <= score <= high]:
        raise OutOfRange(
            f"a score of {off[0]:g} lies off the scale of {low:g} to {high:g}", "check the ballot, or the scale"
        )
    means = [[_mean(scores[who, what]) for what in products] for who in names]
    each = tuple(_assessor(who, [scores[who, what] for what in products], high - low) for who in names)
    whole = _pooled(scores.values())
    return Agreement(products, *_kendall(means), *_correlations(means), each, *whole, (low, high))


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _squares(values: Sequence[float]) -> float:
    """Sum of squares about their mean."""
    mean = _mean(values)
    return math.fsum((value - mean) ** 2 for value in values)


def _assessor(name: str, cells: Sequence[Sequence[float]], width: float) -> Assessor:
    own = [score for cell in cells for score in cell]
    repeatability, repeats = _pooled(cells)
    used = (max(own) - min(own)) / width if width else 0.0
    deviation = math.sqrt(_squares(own) / (len(own) - 1))
    return Assessor(name, _mean(own), deviation, min(own), max(own), used, repeats, repeatability)


def _pooled(cells: Iterable[Sequence[float]]) -> tuple[float | None, int]:
    """The standard deviation within cells, and its degrees of freedom."""
    again = [cell for cell in cells if len(cell) > 1]
    df = sum(len(cell) - 1 for cell in again)
    return (math.sqrt(math.fsum(map(_squares, again)) / df) if df else None), df


def _kendall(means: Sequence[Sequence[float]]) -> tuple[float, float]:
    """Kendall's W with ties, and its p-value; 0 where nobody told any two apart."""
    from scipy.special import chdtrc

    ranks = [mean_ranks(row) for row in means]
    n, k = len(ranks), len(ranks[0])
    most = n * math.fsum(map(_squares, ranks))
    w = _squares([math.fsum(column) for column in zip(*ranks, strict=True)]) / most if most else 0.0
    return w, float(chdtrc(k - 1, n * (k - 1) * w))


def _correlations(means: Sequence[Sequence[float]]) -> "_Four":
    """One assessor and the panel's mean, each counting level and not; None where all means are one."""
    n, k = len(means[0]), len(means)
    rows = list(zip(*means, strict=True))
    of_products = k * _squares([_mean(row) for row in rows]) / (n - 1)
    of_assessors = n * _squares([_mean(column) for column in means]) / (k - 1)
    total = _squares([score for row in rows for score in row])
    rest = (total - (n - 1) * of_products - (k - 1) * of_assessors) / ((n - 1) * (k - 1))
    if of_products == of_assessors == 0.0:
        return None, None, None, None
    rest = max(rest, 1e-12 * total)  # whole agreement, as far as numbers say
    one = _counting_level(of_products, of_assessors, rest, n, k)
    order = _not_counting_level(of_products / rest, n, k)
    one, order = (Correlation(*(max(0.0, figure) for figure in found)) for found in (one, order))
    return one, order, _of_mean(one, k), _of_mean(order, k)


_Maybe = Correlation | None
_Four = tuple[_Maybe, _Maybe, _Maybe, _Maybe]


def _counting_level(of_products: float, of_assessors: float, rest: float, n: int, k: int) -> Correlation:
    """ICC(A,1) of McGraw and Wong, with their limits."""
    from scipy.special import fdtri

    value = (of_products - rest) / (of_products + (k - 1) * rest + k / n * (of_assessors - rest))
    a = k * value / (n * (1 - value))
    b = 1 + a * (n - 1)
    df = (a * of_assessors + b * rest) ** 2 / (
        (a * of_assessors) ** 2 / (k - 1) + (b * rest) ** 2 / ((n - 1) * (k - 1))
    )
    spread = k * of_assessors + (k * n - k - n) * rest
    down, up = float(fdtri(n - 1, df, 0.975)), float(fdtri(df, n - 1, 0.975))
    lower = n * (of_products - down * rest) / (down * spread + n * of_products)
    upper = n * (up * of_products - rest) / (spread + n * up * of_products)
    return Correlation(value, lower, upper)


def _not_counting_level(f: float, n: int, k: int) -> Correlation:
    """ICC(C,1) of McGraw and Wong, with their limits; `f` is the ratio of products to what is left."""
    from scipy.special import fdtri

    df = (n - 1) * (k - 1)
    limits = f / float(fdtri(n - 1, df, 0.975)), f * float(fdtri(df, n - 1, 0.975))
    value, lower, upper = ((one - 1) / (one + k - 1) for one in (f, *limits))
    return Correlation(value, lower, upper)


def _of_mean(one: Correlation, k: int) -> Correlation:
    """Of the mean of so many assessors (Spearman and Brown)."""
    return Correlation(*(k * each / (1 + (k - 1) * each) for each in one))
