"""The plan of a batch: casks and amounts that keep every demand at the least objective, with what is proved.

>>> from pourbook.planning.recipe import Part, Target
>>> recipe = Recipe({"rich": Part(10.0, 8.0, 12.0), "base": Part(90.0)}, Target(300.0, 40.0, 290.0, 310.0))
>>> casks = [Cask("1", "rich", 180.0, 60.0), Cask("2", "base", 190.0, 62.0), Cask("3", "base", 40.0, 55.0)]
>>> found = plan(recipe, casks)
>>> [take.ref for take in found.takes], found.objective, found.proved
(['1', '2'], 2.0, True)
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.errors import Malformed
from pourbook.planning.blend import Blend, Take, blended, broken
from pourbook.planning.casks import Cask
from pourbook.planning.linear import Program
from pourbook.planning.program import candidates, program_of
from pourbook.planning.recipe import Recipe
from pourbook.planning.solving import Clock, Progress, solved

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

__all__ = ["OutOfTime", "Plan", "objective_of", "plan", "takes_of"]

_PROVED = 1e-6
"""The gap at which a plan counts as proved to be the best."""

_EMPTY_L = 1e-7
"""Less than this left in a cask is nothing left."""


class Plan(NamedTuple):
    """What is to be taken from which cask, and what it comes to.

    Attributes:
        takes: an amount from each cask that is opened, in the order of the casks.
        fractions: of each component, 0 to 1, heel included.
        strength_before: of the vat before water, % vol at 20 °C.
        water_l: to be added, litres at 20 °C.
        volume_l: after reduction and losses.
        objective: weighted sum of the measures.
        bound: no plan is below it.
        seconds: taken to find it.
    """

    takes: tuple[Take, ...]
    fractions: Mapping[str, float]
    strength_before: float
    water_l: float
    volume_l: float
    objective: float
    bound: float
    seconds: float

    @property
    def gap(self) -> float:
        """By how much of its objective it may be above the best."""
        return 0.0 if self.objective <= self.bound else (self.objective - self.bound) / self.objective

    @property
    def proved(self) -> bool:
        """Whether no plan is better, but for a millionth."""
        return self.gap <= _PROVED


class OutOfTime(NamedTuple):
    """Time was over before any plan was found: no plan is below the bound."""

    bound: float
    seconds: float


def plan(
    recipe: Recipe,
    casks: Iterable[Cask],
    *,
    seconds: float = 60.0,
    without: Collection[str] = (),
    kept: Sequence[Take] = (),
    unlike: Sequence[Collection[str]] = (),
    progress: Progress | None = None,
) -> Plan | OutOfTime | None:
    """The best plan that can be found in so many seconds; None where it is proved that there is none.

    Args:
        recipe: what is asked.
        casks: what there is; those on hold, too young or of no component of the recipe are left out.
        seconds: when to stop, building the program included.
        without: names of demands that are dropped (`demands`).
        kept: takes that stay as they are.
        unlike: refs of the casks of other plans; this one differs from each in more than one cask.
        progress: called now and then while it works.

    Raises:
        Malformed: costs count, and a cask that may be chosen has none.
    """
    clock, casks = Clock(seconds), tuple(casks)
    _check_costs(recipe, candidates(recipe, casks, without))
    program = program_of(recipe, casks, without=without, kept=kept, unlike=unlike)
    found = solved(program, clock, progress)
    if found.is_impossible:
        return None
    if found.values is None:
        return OutOfTime(found.bound, clock.taken)
    takes = takes_of(program, found.values)
    blend = blended(recipe, casks, takes)
    if kept_not := set(broken(recipe, casks, takes, blend)) - set(without):
        raise ArithmeticError(f"the plan found does not keep {', '.join(sorted(kept_not))}: rounding went wrong")
    objective = objective_of(recipe, blend)
    bound = objective if objective - found.bound <= 1e-9 * max(1.0, objective) else found.bound
    return Plan(
        takes, blend.fractions, blend.strength_before, max(0.0, blend.water_l), blend.volume_l, objective,
        bound, clock.taken,
    )  # fmt: skip


def _check_costs(recipe: Recipe, casks: Sequence[Cask]) -> None:
    if recipe.objective.get("cost") and (unknown := [cask.ref for cask in casks if cask.cost_per_lpa is None]):
        more = f" and {len(unknown) - 3} more" if len(unknown) > 3 else ""
        raise Malformed(
            f"the cost of {', '.join(unknown[:3])}{more} is not known, and the objective weighs cost",
            "give each cask its cost per litre of pure alcohol, or leave cost out of the objective",
        )


def objective_of(recipe: Recipe, blend: Blend) -> float:
    """Weighted sum of the measures of a blend."""
    return sum(weight * blend.measures[measure] for measure, weight in recipe.objective.items() if weight)


def takes_of(program: Program, values: "Floats") -> tuple[Take, ...]:
    """Amounts from the columns of a program."""
    count = len(program.casks)
    takes = []
    for cask, whole, part, share in zip(
        program.casks, values[:count], values[count : 2 * count], values[2 * count : 3 * count], strict=True
    ):
        if whole > 0.5:
            takes.append(Take(cask.ref, cask.volume_l, whole=True))
        elif part > 0.5:
            taken = min(cask.volume_l, float(share) * cask.volume_l)
            empty = cask.volume_l - taken < _EMPTY_L
            takes.append(Take(cask.ref, cask.volume_l if empty else taken, whole=empty))
    return tuple(takes)
