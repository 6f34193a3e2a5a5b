"""Who is served what, in which order and under which code: orders balanced for place and carry-over, blind codes.

Chance is a parameter: `draw(n)` gives a whole number from 0 to n - 1, such as `secrets.randbelow`.

>>> orders = serving_orders(4, 4, lambda count: 0)
>>> orders
((1, 2, 4, 3), (2, 3, 1, 4), (3, 4, 2, 1), (4, 1, 3, 2))
>>> balance(orders)
Balance(in_each_place=(1, 1), after_each_other=(1, 1))
"""

from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from itertools import pairwise, permutations, product
from typing import NamedTuple, TypeVar

from pourbook.errors import OutOfRange
from pourbook.numerals import counted

__all__ = ["SETS", "Balance", "Draw", "balance", "draw_codes", "serving_orders", "set_orders", "whole_set"]

Draw = Callable[[int], int]
"""Chance: a whole number from 0 up to, but without, the one given."""

MOST_PRODUCTS = 26
MOST_ASSESSORS = 10_000

_T = TypeVar("_T")


# -- orders ----------------------------------------------------------------------------


class Balance(NamedTuple):
    """How even a set of orders is: how often, at least and at most.

    Attributes:
        in_each_place: each product stands in each place.
        after_each_other: each product comes directly after each other one.
    """

    in_each_place: tuple[int, int]
    after_each_other: tuple[int, int]

    @property
    def is_whole(self) -> bool:
        """Whether no product has an advantage of place or of neighbour."""
        return all(least == most for least, most in self)


def whole_set(products: int) -> int:
    """How many assessors, or how many times as many, make the orders quite even.

    >>> whole_set(6), whole_set(5)
    (6, 10)
    """
    return products if products % 2 == 0 else 2 * products


def serving_orders(products: int, assessors: int, draw: Draw) -> tuple[tuple[int, ...], ...]:
    """An order of the products, numbered from 1, for each assessor.

    Squares of Williams (1949): in a whole set (`whole_set`) each product stands equally often in each place and
    comes equally often directly after each other one; an odd number of products takes a square and its mirror
    image. Of a set that is not whole, places are kept within one of each other first. Which product is which in a
    square, and who gets which row, is drawn.

    Raises:
        OutOfRange: fewer than two products, nobody to serve, or more than are ever served.
    """
    if not 2 <= products <= MOST_PRODUCTS:
        raise OutOfRange(
            f"{counted(products, 'product')} cannot be put in balanced orders", f"give 2 to {MOST_PRODUCTS}"
        )
    _refuse_crowd(assessors)
    orders: list[tuple[int, ...]] = []
    while len(orders) < assessors:
        orders += _williams(products, draw)
    return tuple(orders[:assessors])


SETS: Mapping[str, tuple[tuple[int, ...], ...]] = {
    "triangle": (*dict.fromkeys(permutations((1, 1, 2))), *dict.fromkeys(permutations((1, 2, 2)))),
    "duo-trio": ((1, 1, 2), (1, 2, 1), (2, 1, 2), (2, 2, 1)),
    "paired": ((1, 2), (2, 1)),
    "three-afc": tuple(dict.fromkeys(permutations((1, 1, 2)))),
    "tetrad": tuple(dict.fromkeys(permutations((1, 1, 2, 2)))),
}
"""The sets of glasses of each test, each served equally often (triangle: ISO 4120; the others: common practice).

The first glass of a duo-trio is the reference; the odd one of a 3-AFC is product 2, the one expected to have more.
"""


def set_orders(test: str, assessors: int, draw: Draw) -> tuple[tuple[int, ...], ...]:
    """The glasses of a test for each assessor, of products 1 and 2; each set of `SETS` as often as can be, drawn.

    Raises:
        OutOfRange: nobody to serve, or more than are ever served.
    """
    _refuse_crowd(assessors)
    orders: list[tuple[int, ...]] = []
    while len(orders) < assessors:
        orders += _shuffled(SETS[test], draw)
    return tuple(orders[:assessors])


def balance(orders: Sequence[Sequence[int]]) -> Balance:
    """How even orders of the same products are."""
    products = sorted(set(orders[0]))
    places = Counter((place, one) for order in orders for place, one in enumerate(order))
    pairs = Counter(pair for order in orders for pair in pairwise(order))
    in_place = [places[cell] for cell in product(range(len(products)), products)]
    after = [pairs[pair] for pair in permutations(products, 2)]
    return Balance((min(in_place), max(in_place)), (min(after), max(after)))


def _refuse_crowd(assessors: int) -> None:
    if not 1 <= assessors <= MOST_ASSESSORS:
        raise OutOfRange(f"{counted(assessors, 'assessor')} cannot be served", f"give 1 to {MOST_ASSESSORS}")


def _williams(products: int, draw: Draw) -> list[tuple[int, ...]]:
    """A whole set: rows of a square, and of its mirror image where the number is odd.

    The first row steps up and down around a circle (1, 2, n, 3, n - 1, …), so that no step in it is taken twice
    where n is even, and the others are the same a place further round.
    """
    first = [(place + 1) // 2 if place % 2 else -(place // 2) for place in range(products)]
    names = _shuffled(range(1, products + 1), draw)
    square = [tuple(names[(step + turn) % products] for step in first) for turn in range(products)]
    mirrored = [row[::-1] for row in square] if products % 2 else []
    return [*_shuffled(square, draw), *_shuffled(mirrored, draw)]


def _shuffled(values: Sequence[_T], draw: Draw) -> list[_T]:
    left = list(values)
    return [left.pop(draw(len(left))) for _ in values]


# -- codes -----------------------------------------------------------------------------


def _says_nothing(digits: tuple[int, ...]) -> bool:
    """Whether a code has no meaning of its own: no digit twice, no run such as 234, no other code upside down.

    Random three-digit codes are of ISO 4120:2021, 5.5 and ISO 13299:2016; what makes one unfit is common practice.
    """
    steps = {second - first for first, second in pairwise(digits)}
    return len(set(digits)) == len(digits) and steps not in ({1}, {-1}) and not set(digits) <= {0, 1, 6, 8, 9}


CODES = tuple(
    "".join(map(str, digits)) for digits in product(range(1, 10), range(10), range(10)) if _says_nothing(digits)
)
"""Every three-digit code that is given out; none begins with a zero."""


def draw_codes(
    glasses: int, assessors: int, draw: Draw, taken: Collection[str] = (), *, may_return: bool = False
) -> tuple[tuple[str, ...], ...]:
    """Codes for the glasses of each assessor, drawn at random; no code twice, and none of those taken.

    Codes of one assessor differ in two digits at least and are no rearrangement of each other, so that one slip of
    the pen makes no other glass of it. For one set that serves all, give one assessor. Where `may_return`, codes begin
    anew when they run out: another assessor may then meet them (ISO 4120:2021, 5.5 allows it).

    Raises:
        OutOfRange: there are not so many codes.
    """
    used = set(taken)
    free = [code for code in CODES if code not in used]
    left, drawn = list(free), []
    for _ in range(assessors):
        own = _own_codes(glasses, left, draw)
        if own is None and may_return:
            left = list(free)
            own = _own_codes(glasses, left, draw)
        if own is None:
            raise OutOfRange(
                "there are not enough three-digit codes that differ", "use one set of codes for all, or fewer glasses"
            )
        drawn.append(own)
    return tuple(drawn)


def _own_codes(glasses: int, left: list[str], draw: Draw) -> tuple[str, ...] | None:
    """Codes that cannot be taken for each other, taken out of what is left; None where that is too few."""
    own: list[str] = []
    fit = left
    while len(own) < glasses:
        if own:
            fit = [code for code in fit if not _are_alike(code, own[-1])]
        if not fit:
            return None
        own.append(fit[draw(len(fit))])
    left[:] = [code for code in left if code not in own]
    return tuple(own)


def _are_alike(code: str, other: str) -> bool:
    return sum(map(str.__ne__, code, other)) < 2 or set(code) == set(other)
