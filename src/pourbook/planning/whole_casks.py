"""One batch after the other of whole casks, as a planner chooses them: what a look ahead asks where the stock is small.

>>> from pourbook.planning.recipe import Limits, Part, Recipe, Target
>>> recipe = Recipe({"base": Part(100.0)}, Target(500.0, 40.0, 480.0, 520.0), Limits(most_part_casks=0))
>>> casks = [Cask("1", "base", 330.0, 60.0), Cask("2", "base", 200.0, 60.0)]
>>> chosen = WholeCasks(recipe, casks, seconds=5.0)
>>> shares = [Share(one.ref, one.component, one.volume_l, one.strength_vol) for one in casks]
>>> chosen(shares), chosen(shares[1:]), chosen.ran_out_of_time
({('1', 'base'): 330.0}, None, False)
"""

from collections.abc import Iterable, Mapping, Sequence

from pourbook.planning.casks import Cask
from pourbook.planning.enough import Share
from pourbook.planning.plan import OutOfTime, Plan, plan
from pourbook.planning.recipe import Recipe

__all__ = ["WholeCasks"]


class WholeCasks:
    """Chooses the casks of one batch of what is left, by the objective of a recipe; heel and ages are left out.

    Of a cask that is of several components, the first that the recipe names counts.
    """

    def __init__(self, recipe: Recipe, casks: Iterable[Cask], seconds: float) -> None:
        """`seconds` are for each batch."""
        ageless = recipe.limits._replace(least_age_years=None, least_age_days=None)
        self._recipe = recipe._replace(limits=ageless, heel=None, in_vat=())
        self._casks = {one.ref: one for one in casks}
        self._order = {name: at for at, name in enumerate(recipe.components)}
        self._seconds = seconds
        self.ran_out_of_time = False

    def __call__(self, shares: Sequence[Share]) -> Mapping[tuple[str, str], float] | None:
        """What the batch takes, litres by cask and component; None where no choice is found."""
        first: dict[str, Share] = {}
        for one in sorted(shares, key=lambda one: self._order[one.component]):
            first.setdefault(one.ref, one)
        casks = {
            ref: self._casks[ref]._replace(
                component=one.component, volume_l=one.volume_l, strength_vol=one.strength_vol, hold=""
            )
            for ref, one in first.items()
        }
        found = plan(self._recipe, casks.values(), seconds=self._seconds)
        if isinstance(found, OutOfTime):
            self.ran_out_of_time = True
        if not isinstance(found, Plan):
            return None
        return {(one.ref, casks[one.ref].component): one.volume_l for one in found.takes}
