"""Keep how far the parts of a trial may drift: bounds that scaling it up is held to.

They are the bounds of a recipe of its own, which the trial names in the fact `tolerance`; so whatever tells of bounds
tells of these.
"""

from collections.abc import Iterable, Mapping
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.bench.bounds import Bounds
from pourbook.bench.trials import WATER
from pourbook.book.entries import Facts, Recipe, RecipePart
from pourbook.book.items import facts
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.numerals import as_decimal, read_decimal
from pourbook.queries.traces.made_of import By, Grouping, blended
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.trial_plan import part_bounds, recipe_of_trial

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["Limit", "ToleranceKept", "keep_tolerance"]

_OF_ONE_KIND = 0.999
_DIGITS = 4
"""Of a part; those of bounds are rounded inwards, so that the target is within."""


class Limit(NamedTuple):
    """A `fraction` of a trial, and from which `low` to which `high` one it may drift."""

    fraction: float
    low: float
    high: float


class ToleranceKept(NamedTuple):
    """The trial (`id`), the `recipe` whose bounds are its tolerance, and what was `recorded`."""

    id: str
    recipe: Recipe
    recorded: "Recorded"


def keep_tolerance(
    book: "BookCore", how: Happening, trial: str, limits: Mapping[str, Limit], group_by: Grouping = "cask"
) -> ToleranceKept:
    """Keep limits of what a trial is made of, told apart by `group_by`, as the tolerance of its components.

    A component of one such kind may drift in the same proportion; one of several kinds has no limit of its own. Parts
    are as poured; bounds of the recipe stay where they are narrower.

    Raises:
        Refused: the trial follows no recipe, or no component of it has a limit.
    """
    identifier = book.find(trial)
    with how.transaction(book):
        card, _ = recipe_of_trial(book.store, identifier)
        parts = _as_poured(book, identifier, card.recipe.parts)
        own = part_bounds(card.recipe.parts, book.settings["decimal_mark"])
        bounded = tuple(_bounded(book, part, limits, group_by, own.get(part.component)) for part in parts)
        if not any(part.bounds for part in bounded):
            remedy = "tell its parts apart by what they are made of: --group-by"
            raise Refused(f"no component of {hyphened(identifier)} has a limit", remedy)
        name = f"{hyphened(identifier)} tolerance"
        written = Recipe(name, bounded, card.recipe.name)
        recorded = how.record(book, written, Facts(identifier, {"tolerance": name}))
        return ToleranceKept(identifier, written, recorded)


def _as_poured(book: "BookCore", trial: str, parts: Iterable[RecipePart]) -> list[RecipePart]:
    """Its components in parts of a hundred: as poured, or as planned where nothing was; without computed water."""
    found, known = targets(book, trial), {part.component: part for part in parts}
    is_computed = bool(facts(book.store, key_of(trial)).get("target_strength"))
    is_poured = any(one.poured_ml for one in found)
    volumes = {one.component: one.poured_ml if is_poured else one.planned_ml for one in found}
    kept = {name: ml for name, ml in volumes.items() if ml > 0 and not (is_computed and name == WATER)}
    percent, mark = 100 / sum(kept.values()), book.settings["decimal_mark"]
    return [
        known.get(name, RecipePart(name, ""))._replace(
            parts=_written(Decimal(ml * percent), mark, ROUND_HALF_EVEN), bounds=""
        )
        for name, ml in kept.items()
    ]


def _bounded(
    book: "BookCore", part: RecipePart, limits: Mapping[str, Limit], group_by: Grouping, own: Bounds | None
) -> RecipePart:
    """A part with its bounds, rounded inwards."""
    name, share = next(iter(blended(book, {part.component: 1.0}, By(group_by)).items()))
    limit = limits.get(name)
    if share < _OF_ONE_KIND or limit is None or not limit.fraction:
        return part
    mark = book.settings["decimal_mark"]
    target = read_decimal(part.parts, mark)
    low, high = (target * Decimal(end / limit.fraction) for end in (limit.low, limit.high))
    if own:
        low, high = max(low, 100 * as_decimal(own.low)), min(high, 100 * as_decimal(own.high))
    ends = _written(min(low, target), mark, ROUND_CEILING), _written(max(high, target), mark, ROUND_FLOOR)
    return part._replace(bounds="..".join(ends)) if ends[0] != ends[1] else part


def _written(value: Decimal, mark: str, rounding: str) -> str:
    """A part in four digits."""
    if not value:
        return "0"
    return f"{value.quantize(Decimal(1).scaleb(value.adjusted() - _DIGITS + 1), rounding):f}".replace(".", mark)
