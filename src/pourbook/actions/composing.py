"""Write a recipe; compose a trial, with or without a recipe of its own.

>>> from pourbook import Book
>>> from pourbook.quantities import read_amount, read_strength
>>> from pourbook.actions.pouring import PourDetails, pour
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> vial = book.next_id("vial")
>>> _ = how.record(book, Item(vial, {"ref": "S 27-01"}))
>>> _ = pour(book, how, vial, [("origin", read_amount("250 ml"))], PourDetails(read_strength("60")))
>>> parts = RecipePart("S 27-01", "3"), RecipePart("water", "1")
>>> composed = compose_trial(book, how, read_amount("100 ml"), parts=parts)
>>> composed.id, [one.volume_ml for one in composed.plan]
('T000002M', [75.0, 25.0])
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.new_item import new_item
from pourbook.bench.trials import WATER, PlannedPour, fractions, planned
from pourbook.book.entries import Item, Recipe, RecipePart
from pourbook.book.items import held
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Malformed
from pourbook.house_style import HouseStyle
from pourbook.queries.items.called import called
from pourbook.queries.trials.revised_parts import revised_parts
from pourbook.queries.trials.trial_plan import recipe_card

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.quantities import Amount
    from pourbook.queries.trials.revised_parts import PartChange

__all__ = ["Composed", "RecipeWritten", "TrialFacts", "compose_trial", "revise_trial", "write_recipe"]


class RecipeWritten(NamedTuple):
    """A recipe that was written, its components by identifier."""

    recipe: Recipe
    recorded: "Recorded"


class TrialFacts(NamedTuple):
    """What else is known of a trial: the house's ref, its name, the trial it was revised from.

    `given` is a label printed ahead; None takes the next number.
    """

    ref: str = ""
    name: str = ""
    revised_from: str = ""
    given: str | None = None


_UNNAMED = TrialFacts()


class Composed(NamedTuple):
    """A trial: its id, the plan to pour in order, the pending entries behind it, and what was recorded.

    `called` is what each component is called beside its identifier.
    """

    id: str
    plan: tuple[PlannedPour, ...]
    pending: tuple[int, ...]
    recorded: "Recorded"
    called: "Mapping[str, str]"


def write_recipe(
    book: "BookCore", how: Happening, name: str, parts: Sequence[RecipePart], revised_from: str = ""
) -> RecipeWritten:
    """Write a recipe: parts by volume, of items (identifier or outside name) and water.

    Raises:
        PourbookError: a component is not known, a part is invalid, or no recipe is called `revised_from`.
    """
    with how.transaction(book):
        if revised_from:
            recipe_card(book, revised_from)
        written = Recipe(name, _found(book, parts), revised_from)
        return RecipeWritten(written, how.record(book, written))


def compose_trial(
    book: "BookCore", how: Happening, total: "Amount", recipe: str = "", parts: Sequence[RecipePart] = (),
    about: TrialFacts = _UNNAMED,
) -> Composed:  # fmt: skip
    """Give a trial a number, and lay out what to pour; `total` is the sum of the volumes to pour.

    It follows a recipe; with `parts`, one is written with it, under the name `recipe` where that is given.

    Raises:
        NotThere: a component holds too little.
        PourbookError: it follows no recipe, or something it names is not known.
    """
    if not recipe and not parts:
        raise Malformed("a trial needs a recipe", "give --recipe NAME, or its components with --part")
    with how.transaction(book):
        identifier = new_item(book, "trial", about.given)
        written = [Recipe(recipe or hyphened(identifier), _found(book, parts))] if parts else []
        follows = written[0] if written else recipe_card(book, recipe).recipe
        told = {
            "ref": about.ref, "name": about.name,
            "revised_from": book.find(about.revised_from) if about.revised_from else "",
            "total": total.typed, "follows": follows.name,
        }  # fmt: skip
        holdings = {one.component: held(book.store, key_of(one.component)) for one in follows.parts if _is_item(one)}
        plan = planned(
            [(one.component, one.parts) for one in follows.parts],
            float(total.volume_ml),
            {component: holding.liquid for component, holding in holdings.items()},
            book.settings["decimal_mark"],
        )
        pending = {entry for holding in holdings.values() for entry in pending_in(book.store, holding)}
        opened = Item(identifier, {fact: value for fact, value in told.items() if value})
        recorded = how.record(book, *written, opened)
        return Composed(identifier, plan, tuple(sorted(pending)), recorded, called(book.store, holdings))


def revise_trial(
    book: "BookCore", how: Happening, trial: str, changes: "Sequence[PartChange]", total: "Amount | None" = None,
    recipe: str = "", about: TrialFacts = _UNNAMED,
) -> Composed:  # fmt: skip
    """Compose a trial from another by what changes; of the same total, unless another is given.

    Raises:
        Refused: the trial follows no recipe.
        PourbookError: a change cannot be made, or a component holds too little.
    """
    with how.transaction(book):
        parent = book.show(trial)
        parts = revised_parts(book, parent.id, changes)
        wanted = total or HouseStyle(book.settings).amount(parent.facts["total"])
        return compose_trial(book, how, wanted, recipe, parts, about._replace(revised_from=parent.id))


def _found(book: "BookCore", parts: Sequence[RecipePart]) -> tuple[RecipePart, ...]:
    found = tuple(one._replace(component=book.find(one.component)) if _is_item(one) else one for one in parts)
    fractions(((one.component, one.parts) for one in found), book.settings["decimal_mark"])
    return found


def _is_item(part: RecipePart) -> bool:
    return part.component != WATER
