"""Other plans beside the best, and casks that could stand in for one of it.

>>> from pourbook.planning.recipe import Part, Target
>>> recipe = Recipe({"base": Part(100.0)}, Target(180.0, 40.0, 170.0, 190.0))
>>> stock = [Cask(str(number), "base", 116.0 + number, 62.0) for number in range(5)]
>>> best = plan(recipe, stock)
>>> len(best.takes), [len(one.takes) for one in other_plans(recipe, stock, best)]
(1, [2, 2])
>>> [one.stands for one in like_casks(recipe, stock, best, best.takes[0].ref)]
[True, True, True, True]
"""

from collections.abc import Iterable, Sequence
from math import inf
from statistics import pstdev
from typing import NamedTuple

from pourbook.errors import Unknown
from pourbook.planning.casks import Cask
from pourbook.planning.linear import Row
from pourbook.planning.plan import Plan, plan
from pourbook.planning.program import candidates, program_of
from pourbook.planning.recipe import Recipe
from pourbook.planning.solving import Clock, solved

__all__ = ["LikeCask", "like_casks", "other_plans"]


class LikeCask(NamedTuple):
    """A cask that could stand in for another.

    Attributes:
        cask: the one.
        apart: how unlike they are: differences in strength, volume, age and each attribute, in units of how the casks
            of the component differ among each other (standard deviations), added up; one not known counts as one unit.
        stands: whether the other casks of the plan make the batch with it.
    """

    cask: Cask
    apart: float
    stands: bool


def other_plans(
    recipe: Recipe, casks: Iterable[Cask], best: Plan, *, count: int = 2, seconds: float = 60.0
) -> tuple[Plan, ...]:
    """The next best plans, each with three casks or more opened or closed otherwise than in every one before it.

    So more than one cask is exchanged. Fewer than asked where there are no more, or time is over.
    """
    clock, stock, found = Clock(seconds), tuple(casks), [best]
    for still in range(count, 0, -1):
        unlike = [frozenset(take.ref for take in one.takes) for one in found]
        other = plan(recipe, stock, seconds=clock.left / still, unlike=unlike)
        if not isinstance(other, Plan):
            break
        found.append(other)
    return tuple(found[1:])


def like_casks(
    recipe: Recipe, casks: Iterable[Cask], found: Plan, missing: str, *, most: int = 5, seconds: float = 60.0
) -> tuple[LikeCask, ...]:
    """Casks like one of a plan that is missing, the likest first: of its component, and not in the plan.

    Raises:
        Unknown: the plan does not take that cask.
    """
    stock = {cask.ref: cask for cask in candidates(recipe, casks)}
    opened = [take.ref for take in found.takes]
    if missing not in opened:
        raise Unknown(f"the plan takes nothing from '{missing}'", f"name one that it takes: {', '.join(opened)}")
    gone = stock[missing]
    kin = [cask for cask in stock.values() if cask.component == gone.component]
    apart = _Apart(kin)
    likest = sorted((cask for cask in kin if cask.ref not in opened), key=lambda cask: (apart.of(cask, gone), cask.ref))
    others = [stock[ref] for ref in opened if ref != missing]
    clock = Clock(seconds)
    return tuple(LikeCask(cask, apart.of(cask, gone), _stands(recipe, others, cask, clock)) for cask in likest[:most])


def _stands(recipe: Recipe, others: Sequence[Cask], cask: Cask, clock: Clock) -> bool:
    """Whether a cask, opened, and as many of some others as are needed make the batch; amounts are free."""
    import numpy as np

    program = program_of(recipe._replace(objective={}), [cask, *others])
    opened = Row("", np.array([0, len(program.casks)]), np.ones(2), 1.0, inf)
    return solved(program._replace(rows=(*program.rows, opened)), clock).values is not None


class _Apart:
    """How unlike two casks are, by what casks of their kind differ in."""

    def __init__(self, kin: Sequence[Cask]) -> None:
        names = {name for cask in kin for name in cask.attributes}
        self._figures = {cask.ref: _figures(cask, names) for cask in kin}
        known: dict[str, list[float]] = {}
        for figures in self._figures.values():
            for name, value in figures.items():
                if value is not None:
                    known.setdefault(name, []).append(value)
        self._units = {name: pstdev(values) or 1.0 for name, values in known.items()}

    def of(self, one: Cask, other: Cask) -> float:
        """Their distance."""
        pairs = [
            (self._figures[one.ref][name], self._figures[other.ref][name], unit) for name, unit in self._units.items()
        ]
        return sum(1.0 if a is None or b is None else abs(a - b) / unit for a, b, unit in pairs)


def _figures(cask: Cask, attributes: Iterable[str]) -> dict[str, float | None]:
    return {
        " strength": cask.strength_vol,
        " volume": cask.volume_l,
        " age": cask.wood_days,
        **{name: cask.attributes.get(name) for name in attributes},
    }
