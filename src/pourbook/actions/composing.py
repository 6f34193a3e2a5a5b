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

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.new_item import new_item
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.bench.bounds import check_bounds, read_part
from pourbook.bench.components import PURE_ALCOHOL
from pourbook.bench.trials import WATER, PlannedPour, fractions, planned
from pourbook.book.components import component_called
from pourbook.book.entries import Component, Item, Recipe, RecipePart
from pourbook.book.items import held
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, named
from pourbook.errors import Malformed, OutOfRange, Question, Refused, ToConfirm, answered
from pourbook.gauging.as_typed import amount_again, kept_amount, kept_strength, strength_again
from pourbook.queries.items.called import called
from pourbook.queries.trials.components import choice, component_or_item, kinds_in, unfit
from pourbook.queries.trials.revised_parts import revised_parts
from pourbook.queries.trials.trial_plan import beside_water, part_bounds, recipe_card, recipe_of_trial

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.quantities import Amount, Strength
    from pourbook.queries.trials.revised_parts import PartChange

__all__ = ["Composed", "RecipeWritten", "TrialFacts", "compose_trial", "revise_trial", "taken", "write_recipe"]


class RecipeWritten(NamedTuple):
    """A recipe that was written, its components by identifier."""

    recipe: Recipe
    recorded: "Recorded"


class TrialFacts(NamedTuple):
    """What else is known of a trial: the house's ref, its name, the trial it was revised from.

    `given` is a label printed ahead; None takes the next number. To reach the strength `to`, the trial's water is
    computed from what its components hold; None leaves it to the recipe. Of a blending session: its name in `blending`,
    and the guest whose blend it is.
    """

    ref: str = ""
    name: str = ""
    revised_from: str = ""
    given: str | None = None
    to: "Strength | None" = None
    blending: str = ""
    guest: str = ""


_UNNAMED = TrialFacts()
_NOTHING: Mapping[str, str] = {}
_FIXED = " fixed"


class Composed(NamedTuple):
    """A trial: its id, the plan to pour in order, the pending entries behind it, and what was recorded.

    `called` is what each component is called beside its identifier.
    """

    id: str
    plan: tuple[PlannedPour, ...]
    pending: tuple[int, ...]
    recorded: "Recorded"
    called: Mapping[str, str]


def write_recipe(
    book: "BookCore", how: Happening, name: str, parts: Sequence[RecipePart], revised_from: str = "", by: str = ""
) -> RecipeWritten:
    """Write a recipe: parts by volume, of components, items (identifier or outside name) and water.

    A part may be typed with its bounds: `4 in 2..5`, or `20..30` for their middle; and `4 fixed`, `4 in 2..5 fixed` if
    it keeps its part while others change. By `PURE_ALCOHOL`, parts are of the
    pure alcohol; they have no bounds then, and none is water.

    Raises:
        PourbookError: a component is not known, a part is invalid, or no recipe is called `revised_from`.
    """
    with how.transaction(book):
        if revised_from:
            recipe_card(book, revised_from)
        written = Recipe(name, _found(book, parts, by), revised_from, by)
        return RecipeWritten(written, how.record(book, written))


def compose_trial(
    book: "BookCore", how: Happening, total: "Amount", recipe: str = "", parts: Sequence[RecipePart] = (),
    about: TrialFacts = _UNNAMED, uses: Mapping[str, str] = _NOTHING, by: str = "",
) -> Composed:  # fmt: skip
    """Give a trial a number, and lay out what to pour; `total` is the sum of the volumes to pour.

    It follows a recipe; with `parts`, one is written with it, under the name `recipe` where that is given. `uses` are
    the items taken for components that the recipe names; `by` is what `parts` are of, as in `write_recipe`.

    Raises:
        ToConfirm: an item is not of the kind that it is taken for, or none was named where one alone is.
        Refused: none was named, and several, or none, are of that kind.
        NotThere: a component holds too little.
        OutOfRange: its components are weaker than the strength it is to reach.
        PourbookError: it follows no recipe, or something it names is not known.
    """
    if not recipe and not parts:
        raise Malformed("a trial needs a recipe", "give --recipe NAME, or its components with --part")
    if about.to and any(not _is_named(part) for part in parts):
        raise Malformed("with --to, the water is computed", "leave out --part water=…, or --to")
    with how.transaction(book):
        identifier = new_item(book, "trial", about.given)
        own = hyphened(identifier)
        written = [Recipe(recipe or own, _found(book, parts, by), by=by)] if parts else []
        follows = written[0] if written else recipe_card(book, recipe).recipe
        poured = taken(book, how, follows.parts, uses)
        if follows.name == own:
            written = [follows._replace(parts=poured)]
        elif poured != follows.parts:
            written.append(Recipe(own, poured, by=follows.by))
        told = {
            "ref": about.ref, "name": about.name, "blending": about.blending, "guest": about.guest,
            "revised_from": book.find(about.revised_from) if about.revised_from else "",
            "total": kept_amount(total), "target_strength": kept_strength(about.to) if about.to else "",
            "follows": follows.name, "plan": own if poured != follows.parts and follows.name != own else "",
        }  # fmt: skip
        holdings = {one.component: held(book.store, key_of(one.component)) for one in beside_water(poured)}
        mark, wanted = book.settings["decimal_mark"], beside_water(poured) if about.to else poured
        plan = planned(
            [(one.component, one.parts) for one in wanted],
            float(total.volume_ml),
            {component: holding.liquid for component, holding in holdings.items()},
            mark,
            part_bounds(wanted, mark),
            target_percent(about.to) if about.to else None,
            by_alcohol=bool(follows.by),
        )
        pending = {entry for holding in holdings.values() for entry in pending_in(book.store, holding)}
        opened = Item(identifier, {fact: value for fact, value in told.items() if value})
        recorded = how.record(book, *written, opened)
        return Composed(identifier, plan, tuple(sorted(pending)), recorded, called(book.store, holdings))


def revise_trial(
    book: "BookCore", how: Happening, trial: str, changes: "Sequence[PartChange]", total: "Amount | None" = None,
    recipe: str = "", about: TrialFacts = _UNNAMED, uses: Mapping[str, str] = _NOTHING,
) -> Composed:  # fmt: skip
    """Compose a trial from another by what changes; total and strength to reach stay, unless others are given.

    Raises:
        Refused: the trial follows no recipe.
        ToConfirm: a part leaves its bounds; confirmed, it has none.
        PourbookError: a change cannot be made, or a component holds too little.
    """
    with how.transaction(book):
        parent = book.show(trial)
        by = recipe_of_trial(book.store, parent.id)[0].recipe.by
        parts = _within_bounds(book, how, revised_parts(book, parent.id, changes))
        wanted = total or amount_again(parent.facts["total"], book.settings["volume_unit"])
        kept = parent.facts.get("target_strength")
        to = about.to or (strength_again(kept) if kept else None)
        if to and any(change.component == WATER for change in changes):
            raise Malformed(f"the water of {hyphened(parent.id)} is computed", "change another part, or its strength")
        told = about._replace(revised_from=parent.id, to=to)
        return compose_trial(book, how, wanted, recipe, beside_water(parts) if to else parts, told, uses, by)


def _within_bounds(book: "BookCore", how: Happening, parts: tuple[RecipePart, ...]) -> tuple[RecipePart, ...]:
    """Parts that keep their bounds; one that leaves them is asked about, and then has none."""
    left = [one for one in parts if not _is_within(book, one)]
    if left and not how.confirm:
        said = (f"part {one.parts} of {named(one.component)} leaves its bounds {one.bounds}" for one in left)
        raise ToConfirm(*(Question("bounds-left", one, "if that is meant, it will have no bounds.") for one in said))
    return tuple(one._replace(bounds="") if one in left else one for one in parts)


def _is_within(book: "BookCore", part: RecipePart) -> bool:
    try:
        check_bounds(part.component, part.parts, part.bounds, book.settings["decimal_mark"])
    except OutOfRange:
        return False
    return True


def _found(book: "BookCore", parts: Sequence[RecipePart], by: str) -> tuple[RecipePart, ...]:
    """Parts as a recipe keeps them: components by identifier, bounds apart from the part they were typed with."""
    if by not in ("", PURE_ALCOHOL):
        raise Malformed(f"parts cannot be by '{by}'", f"write {PURE_ALCOHOL}, or nothing for the volume as poured")
    mark, found = book.settings["decimal_mark"], []
    for one in parts:
        stays = one.parts.removesuffix(_FIXED)
        target, bounds = read_part(stays, mark)
        kept = one._replace(parts=target, bounds=bounds or one.bounds, fixed=one.fixed or stays != one.parts)
        found.append(kept._replace(component=_item_or_kind(book, one.component)) if _is_named(one) else kept)
    fractions(((one.component, one.parts) for one in found), mark)
    if by and any(one.bounds or not _is_named(one) for one in found):
        raise Malformed(
            "parts by pure alcohol have no bounds, and none is water", "leave them out, or write it by volume"
        )
    for one in found:
        check_bounds(one.component, one.parts, one.bounds, mark)
    return tuple(found)


def _item_or_kind(book: "BookCore", text: str) -> str:
    """A component in use, or an item."""
    name = component_or_item(book, text)
    if not is_identifier(name) and component_called(book.store, name).gone:
        raise Refused(
            f"component '{name}' is retired", f"take another; or write it again: pourbook component '{name}' …"
        )
    return name


def taken(
    book: "BookCore", how: Happening, parts: Sequence[RecipePart], uses: Mapping[str, str]
) -> tuple[RecipePart, ...]:
    """Parts with an item for each component that they name; what is not of its kind, or was not named, is asked about.

    An item is taken with the role of its kind, where the recipe says none.

    Raises:
        ToConfirm: an item is not of the kind that it is taken for, or none was named where one alone is.
        Refused: none was named, and several, or none, are of that kind.
    """
    items = {component_called(book.store, name).name: book.find(item) for name, item in uses.items()}
    kinds = kinds_in(book, (one.component for one in parts))
    if strange := next((name for name in items if name not in kinds), ""):
        raise Malformed(f"'{strange}' is not a component of the recipe", "see its parts: pourbook recipe NAME")
    asked: list[Question] = []
    for name, kind in kinds.items():
        if name in items:
            asked += unfit(book, kind, (items[name],))
        else:
            items[name], question = choice(book, kind, "vial", items.values())
            asked.append(question)
    answered(asked, by_person=how.confirm)

    def taken(part: RecipePart, kind: Component) -> RecipePart:
        return part._replace(component=items[kind.name], role=part.role or kind.role, stands_for=kind.name)

    return tuple(taken(one, kinds[one.component]) if one.component in kinds else one for one in parts)


def _is_named(part: RecipePart) -> bool:
    return part.component != WATER
