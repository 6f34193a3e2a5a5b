"""Why nothing fits: a smallest set of demands that cannot all be met, even if every other demand is dropped.

Found by implicit hitting sets. Whatever a plan does not keep is a *correction*: a conflict has at least one demand of
every correction, since that plan keeps all the others together. So a smallest set that has one of each correction known
is asked for; if a plan keeps it, what that plan breaks is one more correction, made smaller if that is soon done; if
none does, it is a smallest conflict.

>>> from pourbook.planning.recipe import Limits, Part, Target
>>> recipe = Recipe({"base": Part(100.0)}, Target(300.0, 40.0, 290.0, 310.0), Limits(most_casks=1, vat_l=500.0))
>>> conflict(recipe, [Cask("1", "base", 120.0, 62.0), Cask("2", "base", 110.0, 63.0)])
Conflict(demands=('target.volume_low_l', 'limits.most_casks'), smallest=True)
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pourbook.planning.casks import Cask
from pourbook.planning.met_together import OF_WHOLE_CASKS, MetTogether
from pourbook.planning.recipe import Recipe
from pourbook.planning.solving import Clock

__all__ = ["Conflict", "conflict"]

_SHARE_FOR_GROWTH = 0.02
"""Of all the time, for making one correction smaller."""


class Conflict(NamedTuple):
    """Demands that cannot be met together, in the order of the recipe.

    Attributes:
        demands: any one dropped, the others can be met; none at all where stock, holds and heel alone leave no plan.
        smallest: whether it is proved that no fewer demands are in conflict and none of these can be spared.
    """

    demands: tuple[str, ...]
    smallest: bool


def conflict(recipe: Recipe, casks: Iterable[Cask], *, seconds: float = 60.0) -> Conflict:
    """A smallest conflict of a recipe that no plan keeps; the smallest that is known, when time is over."""
    together = MetTogether(recipe, casks, Clock(seconds))
    corrections: list[frozenset[str]] = []
    while True:
        kept = _hitting(corrections)
        known = together.fewest_in_conflict
        if len(known) == len(kept):
            return Conflict(together.in_order(known), smallest=True)
        found = together.kept_beside(kept)
        if not isinstance(found, frozenset):
            return Conflict(together.in_order(kept if found is None else known), smallest=found is None)
        corrections.append(together.all - _grown(together, found, seconds * _SHARE_FOR_GROWTH))


def _grown(together: MetTogether, kept: frozenset[str], seconds: float) -> frozenset[str]:
    """Demands that a plan keeps and, as far as a little time allows, others that can be met with them.

    First all that no known conflict forbids, then those of them on what is poured, then one by one.
    """
    clock = Clock(seconds)
    most = together.all - _hitting([known - kept for known in together.in_conflict])
    for more in (most, kept | (most - OF_WHOLE_CASKS), *(frozenset((name,)) for name in together.in_order(most))):
        if clock.left and not more <= kept:
            found = together.kept_beside(kept | more, seconds / 3)
            kept = found if isinstance(found, frozenset) else kept
    return kept


def _hitting(corrections: Sequence[frozenset[str]]) -> frozenset[str]:
    """A smallest set with a member of every correction."""
    size = 0
    while (found := _hitting_within(corrections, size)) is None:
        size += 1
    return found


def _hitting_within(corrections: Sequence[frozenset[str]], size: int) -> frozenset[str] | None:
    """The same of no more than so many members, or None."""
    if not corrections:
        return frozenset()
    if not size:
        return None
    smallest = min(corrections, key=len)
    for name in sorted(smallest):
        found = _hitting_within([others for others in corrections if name not in others], size - 1)
        if found is not None:
            return found | {name}
    return None
