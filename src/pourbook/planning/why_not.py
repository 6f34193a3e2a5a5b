"""Why no plan fits, and what would: the demands in conflict, each with the nearest plan."""

from collections.abc import Iterable
from typing import NamedTuple

from pourbook.planning.casks import Cask
from pourbook.planning.conflict import Conflict, conflict
from pourbook.planning.nearest import Nearest, nearest
from pourbook.planning.recipe import Recipe
from pourbook.planning.solving import Clock

__all__ = ["WhyNot", "why_not"]

_SHARE_FOR_THE_CONFLICT = 0.5


class WhyNot(NamedTuple):
    """Demands in conflict, and the least change of each alone that admits a plan, in the same order."""

    conflict: Conflict
    nearest: tuple[Nearest, ...]


def why_not(recipe: Recipe, casks: Iterable[Cask], *, seconds: float = 60.0) -> WhyNot:
    """Why a recipe has no plan; it is known already that there is none."""
    clock, stock = Clock(seconds), tuple(casks)
    found = conflict(recipe, stock, seconds=seconds * _SHARE_FOR_THE_CONFLICT)
    return WhyNot(found, nearest(recipe, stock, found.demands, seconds=clock.left) if found.demands else ())
