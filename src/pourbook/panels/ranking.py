"""Products put in order by assessors: do they differ (Friedman), which, and do they follow an expected order (Page).

Ranks are those of each assessor, 1 to k; products that tie share the mean of their ranks. Formulas: Friedman's
chi-squared with ties, the F of it and the least significant difference of rank sums: Conover, Practical Nonparametric
Statistics (1999), 5.8 (remembered); all pairs by the range of normal numbers: Newell and MacFarlane (1987), J. Food
Science 52, with the spread of ranks as they tied; an expected order: Page (1963), JASA 58.

>>> found = ranking(("ash", "oak", "elm"), [(1, 2, 3)] * 4 + [(1, 3, 2)])
>>> found.rank_sums, round(found.friedman.statistic, 2), round(found.friedman.exact_p_value or 0, 6)
((5.0, 11.0, 14.0), 8.4, 0.008488)
>>> round(page(found.products, found.ranks, ("ash", "oak", "elm")).p_value, 6)
0.001415
"""

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache, reduce
from itertools import combinations, permutations
from statistics import NormalDist
from typing import TYPE_CHECKING, NamedTuple

from pourbook.errors import OutOfRange
from pourbook.numerals import counted
from pourbook.panels.d_prime import integral

if TYPE_CHECKING:
    import numpy as np

__all__ = ["Friedman", "Page", "Pair", "Ranking", "mean_ranks", "page", "ranking", "ranks_as_typed"]

MOST_PRODUCTS = 60
_NORMAL = NormalDist()
_MOST_WORK = 100_000
"""Orders added to others that an exact Friedman may take: a fraction of a second."""
_MOST_EXACT_PAGE = 10, 120_000
"""Products, and assessors times their cube, up to which all orders are gone through: less than a second."""


# -- ranks -----------------------------------------------------------------------------


def mean_ranks(values: Sequence[float]) -> tuple[float, ...]:
    """The ranks of values, the lowest 1; equal ones share the mean of theirs.

    >>> mean_ranks([5.0, 3.0, 5.0])
    (2.5, 1.0, 2.5)
    """
    return tuple(
        sum(other < value for other in values) + (sum(other == value for other in values) + 1) / 2 for value in values
    )


def ranks_as_typed(typed: Sequence[float]) -> tuple[float, ...] | None:
    """Ranks as an assessor wrote them, with ties as means; None where they are no ranks.

    Ties may be written as means (1, 2.5, 2.5, 4), or as one place shared (1, 2, 2, 4 and 1, 2, 2, 3).

    >>> ranks_as_typed([1, 2, 2, 4]), ranks_as_typed([1, 2, 4, 4])
    ((1.0, 2.5, 2.5, 4.0), None)
    """
    ranks = mean_ranks(typed)
    shared = [1 + sum(other < value for other in typed) for value in typed]
    dense = [1 + len({other for other in typed if other < value}) for value in typed]
    return ranks if list(typed) in (list(ranks), shared, dense) else None


# -- do they differ, and which -----------------------------------------------------------


class Friedman(NamedTuple):
    """Whether products differ at all.

    Attributes:
        statistic: chi-squared, corrected for ties.
        df: its degrees of freedom, k - 1.
        p_value: by chi-squared.
        exact_p_value: the same by every order that could have been given; None where there are too many.
        f: F of Conover; infinite where all assessors agree.
        f_df: its degrees of freedom.
        f_p_value: by F.
    """

    statistic: float
    df: int
    p_value: float
    exact_p_value: float | None
    f: float
    f_df: tuple[int, int]
    f_p_value: float

    @property
    def best_p(self) -> float:
        """The exact p-value, or that by chi-squared."""
        return self.p_value if self.exact_p_value is None else self.exact_p_value


class Pair(NamedTuple):
    """Two products compared with all others in view.

    Attributes:
        first: its name.
        second: its name.
        difference: of rank sums, first less second.
        p_value: how often the widest of all differences is as wide, where no products differ.
    """

    first: str
    second: str
    difference: float
    p_value: float


class Ranking(NamedTuple):
    """What ranks of a panel say.

    Attributes:
        products: their names.
        ranks: a row for each assessor, in the order of the products.
        rank_sums: by product.
        friedman: whether they differ.
        pairs: every two products.
        lsd: the least significant difference of two rank sums that were to be compared from the beginning (Conover).
        hsd: that of any two of all (Newell and MacFarlane).
        alpha: the risk of both.
    """

    products: tuple[str, ...]
    ranks: tuple[tuple[float, ...], ...]
    rank_sums: tuple[float, ...]
    friedman: Friedman
    pairs: tuple[Pair, ...]
    lsd: float
    hsd: float
    alpha: float

    @property
    def has_ties(self) -> bool:
        """Whether anybody put two products in one place."""
        return any(len(set(row)) < len(row) for row in self.ranks)


def ranking(products: Sequence[str], ranks: Iterable[Sequence[float]], alpha: float = 0.05) -> Ranking:
    """Compare products by the ranks of two assessors or more.

    Raises:
        OutOfRange: too few assessors or products, too many, or nobody told any two apart.
    """
    rows = tuple(tuple(row) for row in ranks)
    n, k = len(rows), len(products)
    if n < 2 or not 2 <= k <= MOST_PRODUCTS:
        raise OutOfRange(
            f"{counted(n, 'assessor')} and {counted(k, 'product')} cannot be compared",
            f"give 2 assessors or more, and 2 to {MOST_PRODUCTS} products",
        )
    if not 0.0 < alpha < 0.5:
        raise OutOfRange(f"a risk (alpha) of {alpha:g}", "give one above 0 and below 0.5, such as 0.05")
    sums = tuple(map(math.fsum, zip(*rows, strict=True)))
    spread = _spread(rows)
    if spread == 0.0:
        raise OutOfRange("no assessor told any two products apart", "ranks that all tie say nothing")
    error = math.sqrt(spread / (k - 1))
    pairs = (
        Pair(one, other, first - second, _range_beyond(abs(first - second) / error, k))
        for (one, first), (other, second) in combinations(zip(products, sums, strict=True), 2)
    )
    return Ranking(
        tuple(products), rows, sums, _friedman(rows, sums, spread), tuple(pairs),
        _least_significant(rows, sums, alpha), _range_quantile(alpha, k) * error, alpha,
    )  # fmt: skip


def _spread(rows: Sequence[Sequence[float]]) -> float:
    """Sum of squares of ranks about their mean: n k (k² - 1) / 12 without ties."""
    middle = (len(rows[0]) + 1) / 2
    return math.fsum((rank - middle) ** 2 for row in rows for rank in row)


def _friedman(rows: Sequence[Sequence[float]], sums: Sequence[float], spread: float) -> Friedman:
    from scipy.special import chdtrc, fdtrc

    n, k = len(rows), len(sums)
    statistic = (k - 1) * math.fsum((one - n * (k + 1) / 2) ** 2 for one in sums) / spread
    left = n * (k - 1) - statistic
    f = (n - 1) * statistic / left if left > 1e-9 else math.inf
    f_df = k - 1, (n - 1) * (k - 1)
    return Friedman(
        statistic, k - 1, float(chdtrc(k - 1, statistic)), _exact_friedman(rows, sums), f, f_df, float(fdtrc(*f_df, f))
    )


def _least_significant(rows: Sequence[Sequence[float]], sums: Sequence[float], alpha: float) -> float:
    from scipy.special import stdtrit

    n, k = len(rows), len(sums)
    squares = n * math.fsum(rank**2 for row in rows for rank in row) - math.fsum(one**2 for one in sums)
    df = (n - 1) * (k - 1)
    return float(stdtrit(df, 1 - alpha / 2)) * math.sqrt(2 * max(squares, 0.0) / df)


def _exact_friedman(rows: Sequence[Sequence[float]], sums: Sequence[float]) -> float | None:
    """How often rank sums are spread as wide, if every assessor gives own ranks to products at random.

    Which product has which sum does not matter, so sums are kept in order; everything is whole, as ranks are doubled.
    """
    reached: dict[tuple[int, ...], float] = {(0,) * len(sums): 1.0}
    work = 0
    for row in rows:
        if math.factorial(len(row)) > _MOST_WORK:
            return None
        orders = Counter(permutations(round(2 * rank) for rank in row))
        work += len(reached) * len(orders)
        if work > _MOST_WORK:
            return None
        chance = 1 / math.factorial(len(row))
        onward: dict[tuple[int, ...], float] = {}
        for sums_so_far, probability in reached.items():
            for order, times in orders.items():
                after = tuple(sorted(map(int.__add__, sums_so_far, order)))
                onward[after] = onward.get(after, 0.0) + probability * chance * times
        reached = onward
    found = sum(round(2 * one) ** 2 for one in sums)
    return min(1.0, math.fsum(chance for reached_sums, chance in reached.items() if _squares(reached_sums) >= found))


def _squares(sums: Iterable[int]) -> int:
    return sum(one * one for one in sums)


def _range_beyond(width: float, count: int) -> float:
    """How often the range of so many standard normal numbers is wider."""

    def lowest_at(z: float) -> float:
        return _NORMAL.pdf(z) * (_NORMAL.cdf(z + width) - _NORMAL.cdf(z)) ** (count - 1)

    return max(0.0, 1 - count * integral(lowest_at, -9.0, 9.0))


@cache
def _range_quantile(alpha: float, count: int) -> float:
    low, high = 0.0, 20.0
    for _ in range(40):
        middle = (low + high) / 2
        low, high = (middle, high) if _range_beyond(middle, count) > alpha else (low, middle)
    return (low + high) / 2


# -- an expected order -------------------------------------------------------------------


class Page(NamedTuple):
    """Whether products follow an order that was expected before.

    Attributes:
        expected: from the one expected to have the lowest ranks.
        statistic: Page's L, the sum of rank sums, each times its expected place.
        p_value: how often L is as large where no products differ; exact, as if there were no ties and L rounded down
            (as Page's tables are used), or by the normal distribution where it is not exact.
        is_exact: whether it is.
        p_value_with_ties: exact, ties taken as they are; None where there are none, or it is not exact.
        normal_p_value: by the normal distribution.
    """

    expected: tuple[str, ...]
    statistic: float
    p_value: float
    is_exact: bool
    p_value_with_ties: float | None
    normal_p_value: float

    @property
    def best_p(self) -> float:
        """The p-value that takes ties as they are, where there is one."""
        return self.p_value if self.p_value_with_ties is None else self.p_value_with_ties


def page(products: Sequence[str], ranks: Sequence[Sequence[float]], expected: Sequence[str]) -> Page:
    """Page's test of an order expected before anybody tasted, from ranks by assessor in the order of the products.

    Raises:
        OutOfRange: the order does not name each product once.
    """
    if sorted(expected) != sorted(products):
        raise OutOfRange(
            f"the order '{', '.join(expected)}' does not name each product once", f"name {', '.join(products)}"
        )
    n, k = len(ranks), len(products)
    places = [expected.index(name) + 1 for name in products]
    statistic = math.fsum(place * rank for row in ranks for place, rank in zip(places, row, strict=True))
    mean, deviation = n * k * (k + 1) ** 2 / 4, math.sqrt(n * (k - 1) / 144) * k * (k + 1)
    normal = math.erfc((statistic - mean) / deviation / math.sqrt(2)) / 2
    untied = _exact_page([tuple(range(1, k + 1))] * n, math.floor(statistic))
    if untied is None:
        return Page(tuple(expected), statistic, normal, False, None, normal)
    has_ties = any(len(set(row)) < k for row in ranks)
    return Page(
        tuple(expected), statistic, untied, True, _exact_page(ranks, statistic) if has_ties else None, normal
    )  # fmt: skip


def _exact_page(rows: Sequence[Sequence[float]], statistic: float) -> float | None:
    """How often L is as large, if every assessor gives own ranks to products at random; None for a large panel."""
    import numpy as np

    k = len(rows[0])
    if k > _MOST_EXACT_PAGE[0] or len(rows) * k**3 > _MOST_EXACT_PAGE[1]:
        return None
    least, whole = 0, np.ones(1)
    for row, times in Counter(tuple(sorted(round(2 * rank) for rank in row)) for row in rows).items():
        lowest, chances = _page_of_one(row)
        least += times * lowest
        whole = reduce(np.convolve, [chances] * times, whole)
    return float(min(1.0, whole[max(0, math.ceil(2 * statistic - 1e-9) - least) :].sum()))


def _page_of_one(ranks: Sequence[int]) -> "tuple[int, np.ndarray[tuple[int], np.dtype[np.float64]]]":
    """The least L of one assessor who gives these ranks at random, and the probability of each from there on."""
    import numpy as np

    reached: dict[tuple[int, ...], dict[int, int]] = {tuple(ranks): {0: 1}}
    for place in range(1, len(ranks) + 1):
        onward: dict[tuple[int, ...], dict[int, int]] = {}
        for left, sums in reached.items():
            for at, rank in enumerate(left):
                ways = onward.setdefault(left[:at] + left[at + 1 :], {})
                for so_far, times in sums.items():
                    ways[so_far + place * rank] = ways.get(so_far + place * rank, 0) + times
        reached = onward
    (sums,) = reached.values()
    least = min(sums)
    chances = np.zeros(max(sums) - least + 1)
    for total, times in sums.items():
        chances[total - least] = times / math.factorial(len(ranks))
    return least, chances
