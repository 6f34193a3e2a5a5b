"""The least change of one demand alone, all others of the recipe kept, that admits a plan.

A limit becomes a column of the program, by how much it is missed, and that is made least. A limit on a ratio is linear
only for a given limit, so what a plan reaches is the next one asked for more than, until nothing reaches more
(Dinkelbach). Ages and casks of each are whole numbers and searched by halves. The target's strength moves the volumes
as well: there, intervals of strengths are searched, each in the loosest form that it can have.

>>> from pourbook.planning.recipe import Limits, Part, Target
>>> recipe = Recipe({"base": Part(100.0)}, Target(300.0, 40.0, 290.0, 310.0), Limits(most_casks=1, vat_l=500.0))
>>> stock = [Cask("1", "base", 120.0, 62.0), Cask("2", "base", 110.0, 63.0)]
>>> for one in nearest(recipe, stock, ("target.volume_low_l", "limits.most_casks")):
...     print(one.demand, one.asked, one.needed, [take.ref for take in one.takes or ()])
target.volume_low_l 290.0 186.0 ['1']
limits.most_casks 1 2 ['1', '2']
"""

from collections.abc import Iterable, Sequence
from math import ceil, floor
from typing import NamedTuple

from pourbook.planning.blend import Take, blended, is_most, reached
from pourbook.planning.casks import Cask
from pourbook.planning.eased import eased
from pourbook.planning.plan import Plan, plan, takes_of
from pourbook.planning.program import candidates
from pourbook.planning.recipe import Recipe, asked_of, days_of_years, with_asked
from pourbook.planning.solving import Clock, solved

__all__ = ["Nearest", "nearest"]

_AGES = ("limits.least_age_years", "limits.least_age_days")
_WHOLE_NUMBERS = ("limits.most_casks", "limits.most_part_casks")
_STEPS = 40
_DECIMALS = 6
"""Of a limit that is not a whole number."""
_SAME = 1e-7
"""Of what is asked: nearer than this is the same."""


class Nearest(NamedTuple):
    """The least change of a demand that admits a plan.

    Attributes:
        demand: its name.
        asked: what the recipe has.
        needed: what it would have to be: the least change where there was time to prove it, else the least found;
            None where no change of it alone helps, or none was found in time.
        takes: of such a plan; None with it.
    """

    demand: str
    asked: float
    needed: float | None = None
    takes: tuple[Take, ...] | None = None


def nearest(
    recipe: Recipe, casks: Iterable[Cask], demands: Sequence[str], *, seconds: float = 60.0
) -> tuple[Nearest, ...]:
    """The nearest plan for each of some demands, in an equal share of the time."""
    stock = tuple(casks)
    return tuple(_nearest(recipe, stock, demand, Clock(seconds / len(demands))) for demand in demands)


def _nearest(recipe: Recipe, casks: tuple[Cask, ...], demand: str, clock: Clock) -> Nearest:
    if demand == "target.strength_20c":
        found = _Strengths(recipe, casks, clock).nearest()
    elif demand in _AGES or demand == "house.casks_of_each":
        found = _whole_number(recipe, casks, demand, clock)
    else:
        found = _reached(recipe, casks, demand, clock)
    asked = asked_of(recipe, demand)
    if found is None:
        return Nearest(demand, asked)
    return _confirmed(recipe, casks, Nearest(demand, asked, *found), clock)


_Found = tuple[float, tuple[Take, ...]]
"""A limit, and a plan that keeps it."""


def _confirmed(recipe: Recipe, casks: tuple[Cask, ...], found: Nearest, clock: Clock) -> Nearest:
    """The limit rounded to the looser side, as much as makes it admit a plan; the best such plan, if there is time."""
    assert found.needed is not None
    if isinstance(found.asked, int):
        limits = [float(found.needed)]
    else:
        limits = [_rounded(found.needed, found.needed < found.asked, hairs) for hairs in (0, 1, 10, 100)]
    for limit in limits:
        value = round(limit) if isinstance(found.asked, int) else limit
        best = plan(_weighed(with_asked(recipe, found.demand, value), casks), casks, seconds=max(1.0, clock.left / 2))
        if best is not None:
            return found._replace(needed=value, takes=best.takes if isinstance(best, Plan) else found.takes)
    return found


def _weighed(recipe: Recipe, casks: tuple[Cask, ...]) -> Recipe:
    """The recipe, costs not weighed where a cask that may be chosen by now has none that is known."""
    if all(cask.cost_per_lpa is not None for cask in candidates(recipe, casks)):
        return recipe
    return recipe._replace(objective={name: one for name, one in recipe.objective.items() if name != "cost"})


def _rounded(limit: float, down: bool, hairs: int) -> float:
    """To six decimals outward, unless it is that already, and so many further on."""
    unit = 10.0**_DECIMALS
    scaled = limit * unit
    whole = round(scaled)
    if abs(scaled - whole) > 1e-3:
        whole = floor(scaled) if down else ceil(scaled)
    return max(0.0, (whole - hairs if down else whole + hairs) / unit)


def _reached(recipe: Recipe, casks: tuple[Cask, ...], demand: str, clock: Clock) -> _Found | None:
    """The limit that the best of all plans reaches where this demand may be missed."""
    best: _Found | None = None
    sign = -1.0 if is_most(demand) else 1.0
    asked, beyond = asked_of(recipe, demand), 0.0
    for _ in range(_STEPS):
        program = eased(recipe if best is None else with_asked(recipe, demand, best[0]), casks, demand, beyond)
        found = solved(program, clock)
        if found.values is None:
            break
        takes, missed = takes_of(program, found.values), float(found.values[-1])
        value = reached(recipe, casks, takes, blended(recipe, casks, takes), demand)
        if value is None or (best and sign * (value - best[0]) <= _SAME * max(1e-3, abs(asked)) * 0.01):
            break
        best, beyond = (value, takes), beyond or max(missed, 1e-6)
        if demand in _WHOLE_NUMBERS:
            break
    return best


def _whole_number(recipe: Recipe, casks: tuple[Cask, ...], demand: str, clock: Clock) -> _Found | None:
    """The greatest number below what is asked that admits a plan: fewer casks of each, or an age that casks have."""
    asked = int(asked_of(recipe, demand))
    if demand == "house.casks_of_each":
        numbers = list(range(1, asked))
    elif demand == "limits.least_age_years":
        ages = {cask.wood_days for cask in casks if cask.wood_days is not None}
        numbers = sorted({years for years in map(_years_of, ages) if years < asked})
    else:
        numbers = sorted({cask.wood_days for cask in casks if cask.wood_days is not None and cask.wood_days < asked})
        heel = recipe.heel.wood_days if recipe.heel else None
        numbers = sorted({*numbers, *((heel,) if heel is not None and heel < asked else ())})
    found, low, high = None, 0, len(numbers)
    while low < high:
        middle = (low + high) // 2 if found else low
        eased_recipe = with_asked(recipe._replace(objective={}), demand, numbers[middle])
        answer = plan(eased_recipe, casks, seconds=clock.left)
        if isinstance(answer, Plan):
            found, low = (float(numbers[middle]), answer.takes), middle + 1
        elif found is None:
            return None
        else:
            high = middle
    return found


def _years_of(days: int) -> int:
    """The most years that so many days are enough for."""
    years = days // 365
    while years and days_of_years(years) > days:
        years -= 1
    return years


class _Strengths:
    """Strengths of the target that admit a plan, the nearest to the one asked."""

    def __init__(self, recipe: Recipe, casks: tuple[Cask, ...], clock: Clock) -> None:
        self._recipe, self._casks, self._clock = recipe._replace(objective={}), casks, clock
        self._asked = recipe.target.strength_vol

    def nearest(self) -> _Found | None:
        lower = self._below(0.5, self._asked)
        most = 100.0 if lower is None else min(100.0, 2.0 * self._asked - lower[0])
        higher = self._above(self._asked, most)
        return higher or lower

    def _below(self, low: float, high: float) -> _Found | None:
        """The highest from low to high."""
        found = self._between(low, high)
        if found is None:
            return None
        low, best = max(low, found[0]), found if found[1] else None
        if high - low <= 2.0 * _SAME * self._asked:
            return best
        middle = (low + high) / 2.0
        return self._below(middle, high) or self._below(low, middle) or best

    def _above(self, low: float, high: float) -> _Found | None:
        """The lowest from low to high."""
        found = self._between(low, high)
        if found is None:
            return None
        if high - low <= 2.0 * _SAME * self._asked:
            return found if found[1] else None
        middle = (low + high) / 2.0
        return self._above(low, middle) or self._above(middle, high)

    def _between(self, low: float, high: float) -> _Found | None:
        """Whether there may be one: the highest that a plan keeps, without takes where that plan keeps none."""
        recipe, target = self._recipe, self._recipe.target
        least = max(low, recipe.limits.least_strength_before or 0.0)
        loose = recipe._replace(
            target=target._replace(
                strength_vol=high,
                volume_low_l=None if target.volume_low_l is None else target.volume_low_l * low / high,
            ),
            limits=recipe.limits._replace(least_strength_before=least),
        )
        answer = plan(loose, self._casks, seconds=self._clock.left, without=("target.strength_20c",))
        if not isinstance(answer, Plan):
            return None
        blend = blended(loose, self._casks, answer.takes)
        highest = min(high, answer.strength_before)
        if target.volume_low_l:
            highest = min(highest, blend.volume_l * high / target.volume_low_l)
        lowest = max(
            blend.volume_l * high / target.volume_high_l if target.volume_high_l else 0.0,
            blend.reduced_l * high / recipe.limits.vat_l if recipe.limits.vat_l else 0.0,
        )
        return (highest, answer.takes) if lowest <= highest and highest >= low else (low, ())
