"""What verbs ask beside a plan: other plans, and casks like one that is missing."""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pourbook.cli.door import Door
    from pourbook.documents.shown import Shown
    from pourbook.planning.casks import Cask
    from pourbook.planning.plan import Plan
    from pourbook.planning.recipe import Recipe
    from pourbook.queries.plans.planned import BookPlan

__all__ = ["beside_book_plan", "beside_plan"]


def beside_plan(
    door: "Door", shown: "Shown", recipe: "Recipe", casks: "Sequence[Cask]", found: "Plan", seconds: float,
    asked: Mapping[str, Any], named: Callable[[str], str] = str,
) -> "Shown":  # fmt: skip
    """The answer with other plans, and casks like one that is missing, where they were asked."""
    from pourbook.documents.beside_plan import with_like_casks, with_others
    from pourbook.planning.alternatives import like_casks, other_plans

    if asked["others"]:
        others = other_plans(recipe, casks, found, seconds=seconds)
        shown = with_others(shown, recipe, (found, *others), door.style, named)
    if asked["missing"] is not None:
        likes = like_casks(recipe, casks, found, asked["missing"], seconds=seconds)
        shown = with_like_casks(shown, asked["missing"], likes, door.style, named)
    return shown


def beside_book_plan(
    door: "Door", shown: "Shown", planned: "BookPlan", found: "Plan", seconds: float, asked: Mapping[str, Any]
) -> "Shown":
    """The same of a plan from a book, where a cask may be called by the house's own name."""
    from pourbook.codes.identifiers import hyphened

    called = {name: one.cask.ref for one in planned.candidates.found for name in (one.view.ref, hyphened(one.cask.ref))}
    missing = asked["missing"]
    asked = {**asked, "missing": called.get(missing, missing)}
    casks = [one.cask for one in planned.candidates.found]
    return beside_plan(door, shown, planned.recipe.recipe, casks, found, seconds, asked, hyphened)
