"""A tasting session as a plan: who gets which glass in which order, what goes into a glass, and what that takes.

Chance is a parameter, as in `pourbook.panels.orders`.

>>> from pourbook.alcoholometry.volumes import liquid_of_volume
>>> one = glass_of(liquid_of_volume(200, 60.0), 15.0, 21.0)
>>> f"{one.spirit_ml:.2f} ml with {one.water_ml:.2f} ml of water: {one.ethanol_mg / 1000:.2f} g of pure alcohol"
'5.25 ml with 9.83 ml of water: 2.49 g of pure alcohol'
>>> laid_out(("T1", "T2"), ("Isla Farrow", "M. Aldane"), lambda count: 0, "paired")
{'Isla Farrow': ('T1', 'T2'), 'M. Aldane': ('T2', 'T1')}
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL, water_to_reach
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.errors import Malformed
from pourbook.liquid import Liquid
from pourbook.panels.orders import Draw, serving_orders

__all__ = ["TESTS", "Glass", "Layout", "expected_ballots", "glass_of", "laid_out", "most_of_each", "passes"]


class Layout(NamedTuple):
    """How a test of two items is served and asked.

    Attributes:
        orders: of the two, A the first named and B the second; each as often as every other.
        asks: what the assessor is asked; empty where the host puts the question.
        picks: how many glasses answer it.
    """

    orders: tuple[str, ...]
    asks: str
    picks: int = 1


TESTS: Mapping[str, Layout] = {
    "triangle": Layout(("ABB", "BAB", "BBA", "AAB", "ABA", "BAA"), "Which glass is the odd one?"),
    "duo-trio": Layout(("AAB", "ABA", "BBA", "BAB"), "Which of the other two is the same as the first glass?"),
    "paired": Layout(("AB", "BA"), ""),
    "three-afc": Layout(("AAB", "ABA", "BAA"), ""),
    "tetrad": Layout(("AABB", "ABAB", "ABBA", "BAAB", "BABA", "BBAA"), "Which two glasses are alike?", 2),
}
"""Tests of differences by name. The six orders of a triad: ISO 4120; of the others, every order there is."""


def laid_out(
    glasses: Sequence[str], assessors: Sequence[str], draw: Draw, test: str = ""
) -> dict[str, tuple[str, ...]]:
    """The glasses of each assessor in the order of serving, each assessor's own and balanced over all of them.

    Raises:
        Malformed: a test of other than two items.
        OutOfRange: fewer than two glasses, or more than can be put in balanced orders.
    """
    if test:
        if len(set(glasses)) != 2 or len(glasses) != 2:
            raise Malformed(f"a {test} test compares two items, not {len(set(glasses))}", "name two glasses, no repeat")
        orders = _each_as_often(TESTS[test].orders, len(assessors), draw)
        served = [[glasses["AB".index(letter)] for letter in order] for order in orders]
    else:
        served = [[glasses[one - 1] for one in order] for order in serving_orders(len(glasses), len(assessors), draw)]
    return {assessor: tuple(order) for assessor, order in zip(assessors, served, strict=True)}


def _each_as_often(orders: Sequence[str], assessors: int, draw: Draw) -> list[str]:
    """One for each assessor: all orders, shuffled anew each time they are used up."""
    drawn: list[str] = []
    while len(drawn) < assessors:
        left = list(orders)
        drawn += [left.pop(draw(len(left))) for _ in orders]
    return drawn[:assessors]


def most_of_each(glasses: Sequence[str], assessors: int, test: str = "") -> dict[str, int]:
    """How many glasses of each item there may be at most, whatever is drawn.

    >>> most_of_each(("T1", "T2", "T1"), 4), most_of_each(("T1", "T2"), 8, "triangle")
    ({'T1': 8, 'T2': 4}, {'T1': 13, 'T2': 13})
    """
    if not test:
        return {item: count * assessors for item, count in Counter(glasses).items()}
    orders = TESTS[test].orders
    whole, rest = divmod(assessors, len(orders))
    return {
        item: whole * sum(order.count(letter) for order in orders) + rest * max(order.count(letter) for order in orders)
        for item, letter in zip(glasses, "AB", strict=True)
    }


def expected_ballots(test: str, glasses: int) -> int:
    """How many ballots an assessor of so many glasses fills in: one for each, or those of a test that are picked."""
    return TESTS[test].picks if test else glasses


def passes(test: str, served: str, picked: Sequence[int]) -> bool:
    """Whether an answer is right: what was served, in order, as in `Layout.orders`, and the places picked, from 0.

    Of a paired test and a 3-AFC it is the second item named that should be picked.

    >>> passes("triangle", "ABA", [1]), passes("tetrad", "ABBA", [0, 2]), passes("duo-trio", "BAB", [2])
    (True, False, True)
    """
    chosen = [served[place] for place in picked]
    match test:
        case "triangle":
            return served.count(chosen[0]) == 1
        case "duo-trio":
            return chosen[0] == served[0]
        case "tetrad":
            return len(set(chosen)) == 1
        case _:
            return chosen[0] == "B"


# -- what is in a glass ----------------------------------------------------------------


class Glass(NamedTuple):
    """What goes into one glass: spirit (mL at 20 °C, mg), water (mL); its ethanol, and its strength in percent vol."""

    spirit_ml: float
    spirit_mg: float
    water_ml: float
    ethanol_mg: float
    percent_vol: float

    @property
    def is_reduced(self) -> bool:
        """Whether water goes in."""
        return self.water_ml > 0


def glass_of(liquid: Liquid, glass_ml: float, percent_vol: float | None) -> Glass:
    """A glass of so many mL, of a liquid reduced to a strength; as it is, where it is weaker or none is given."""
    present = strength_20c(liquid) or 0.0
    water = Liquid(0, 0)
    if percent_vol is not None and present - percent_vol > SAME_PERCENT_VOL:
        water = water_to_reach(liquid, percent_vol)
    whole = liquid + water
    part = glass_ml / volume_ml(whole)
    reached = strength_20c(whole) or 0.0
    return Glass(
        part * volume_ml(liquid), part * liquid.mass_mg, part * volume_ml(water), part * whole.ethanol_mg, reached
    )
