"""Why a cask is not in a plan.

>>> from pourbook.planning.plan import plan
>>> from pourbook.planning.recipe import Limits, Part, Target
>>> recipe = Recipe({"base": Part(100.0)}, Target(180.0, 40.0, 170.0, 190.0), Limits(least_age_years=4))
>>> stock = [Cask("1", "base", 120.0, 62.0, 2000), Cask("2", "base", 110.0, 63.0, 900), Cask("3", "base", 90.0, 60.0)]
>>> [(one.cask.ref, one.reason) for one in left_out(recipe, stock, plan(recipe, stock).takes)]
[('2', 'too young'), ('3', 'age unknown')]
"""

from collections.abc import Iterable
from typing import Literal, NamedTuple

from pourbook.planning.blend import Take
from pourbook.planning.casks import Cask
from pourbook.planning.recipe import Recipe, least_days

__all__ = ["LeftOut", "Reason", "left_out"]

Reason = Literal["on hold", "of no component", "empty", "age unknown", "too young", "not needed"]


class LeftOut(NamedTuple):
    """A cask that a plan does not open, and why."""

    cask: Cask
    reason: Reason


def left_out(recipe: Recipe, casks: Iterable[Cask], takes: Iterable[Take] = ()) -> tuple[LeftOut, ...]:
    """Every cask that is not opened, with the first reason that holds; in their order."""
    opened = {take.ref for take in takes}
    return tuple(LeftOut(cask, _reason(recipe, cask)) for cask in casks if cask.ref not in opened)


def _reason(recipe: Recipe, cask: Cask) -> Reason:
    least = least_days(recipe.limits)
    if cask.hold:
        return "on hold"
    if cask.component not in recipe.components:
        return "of no component"
    if not cask.volume_l > 0.0:
        return "empty"
    if least is not None and cask.wood_days is None:
        return "age unknown"
    if least is not None and cask.wood_days is not None and cask.wood_days < least:
        return "too young"
    return "not needed"
