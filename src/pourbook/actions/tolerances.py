"""Keep how far the parts of a trial or a recipe may drift: bounds that scaling it up is held to.

Those of a recipe are written with it. Those of a trial are the bounds of a recipe of its own, which the trial names in
the fact `tolerance`; so whatever tells of bounds tells of these.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_EVEN, Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.bench.bounds import Bounds
from pourbook.bench.trials import WATER
from pourbook.book.entries import Facts, Recipe, RecipePart
from pourbook.book.items import facts
from pourbook.codes.identifiers import hyphened, key_of, readable
from pourbook.errors import Refused, Unknown
from pourbook.numerals import as_decimal, read_decimal
from pourbook.queries.traces.made_of import By, Grouping, blended
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.trial_plan import part_bounds, recipe_card, recipe_of_trial

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.mixtures.neighbourhood import Drift

__all__ = ["Limit", "ToleranceKept", "cautious_limits", "keep_tolerance"]

_OF_ONE_KIND = 0.999
_DIGITS = 4
"""Of a part; those of bounds are rounded inwards, so that the target is within."""


class Limit(NamedTuple):
    """A `fraction` of a blend, and from which `low` to which `high` one it may drift."""

    fraction: float
    low: float
    high: float


class ToleranceKept(NamedTuple):
    """The trial (`id`, empty for a recipe), the `recipe` whose bounds are the tolerance, and what was `recorded`."""

    id: str
    recipe: Recipe
    recorded: "Recorded"


def cautious_limits(drifts: "Iterable[Drift]") -> dict[str, Limit]:
    """What is kept of how far parts may drift: the cautious limits, since few glasses must not allow more than many."""
    return {one.component: Limit(one.fraction, one.cautious.low, one.cautious.high) for one in drifts}


def keep_tolerance(
    book: "BookCore", how: Happening, blend: str, limits: Mapping[str, Limit], group_by: Grouping = "cask"
) -> ToleranceKept:
    """Keep limits of what a trial or a recipe is made of, told apart by `group_by`, as the tolerance of its parts.

    A part of one such kind may drift in the same proportion; one of several kinds has no limit of its own. Parts of a
    trial are as poured; bounds that the recipe has stay where they are narrower.

    Raises:
        Unknown: there is no such item or recipe.
        Refused: the trial follows no recipe, or no part has a limit.
    """
    with how.transaction(book):
        identifier, recipe = _found(book, blend)
        parts = _as_poured(book, identifier, recipe.parts) if identifier else recipe.parts
        own = part_bounds(recipe.parts, book.settings["decimal_mark"])
        bounded = tuple(_bounded(book, parts, part, limits.get(_kind(book, part, group_by)), own) for part in parts)
        if bounded == parts:
            raise Refused(
                f"no part of {readable(blend)} has a limit of its own that is narrower than its bounds",
                "tell its parts apart by what they are made of: --group-by",
            )
        if not identifier:
            written = recipe._replace(parts=bounded)
            return ToleranceKept("", written, how.record(book, written))
        written = Recipe(f"{hyphened(identifier)} tolerance", bounded, recipe.name)
        recorded = how.record(book, written, Facts(identifier, {"tolerance": written.name}))
        return ToleranceKept(identifier, written, recorded)


def _found(book: "BookCore", blend: str) -> tuple[str, Recipe]:
    """A trial with the recipe that it follows, or a recipe alone."""
    try:
        identifier = book.find(blend)
    except Unknown as no_item:
        try:
            return "", recipe_card(book, blend).recipe
        except Unknown:
            raise no_item from None
    return identifier, recipe_of_trial(book.store, identifier)[0].recipe


def _as_poured(book: "BookCore", trial: str, parts: Sequence[RecipePart]) -> tuple[RecipePart, ...]:
    """Its components in parts of a hundred: as poured, or as planned where nothing was; without computed water."""
    found, known = targets(book, trial), {part.component: part for part in parts}
    is_computed = bool(facts(book.store, key_of(trial)).get("target_strength"))
    is_poured = any(one.poured_ml for one in found)
    volumes = {one.component: one.poured_ml if is_poured else one.planned_ml for one in found}
    kept = {name: ml for name, ml in volumes.items() if ml > 0 and not (is_computed and name == WATER)}
    percent, mark = 100 / sum(kept.values()), book.settings["decimal_mark"]
    return tuple(
        known.get(name, RecipePart(name, ""))._replace(
            parts=_written(Decimal(ml * percent), mark, ROUND_HALF_EVEN), bounds=""
        )
        for name, ml in kept.items()
    )


def _kind(book: "BookCore", part: RecipePart, group_by: Grouping) -> str:
    """What a part is of; empty where it is of several kinds."""
    name, share = next(iter(blended(book, {part.component: 1.0}, By(group_by)).items()))
    return name if share >= _OF_ONE_KIND else ""


def _bounded(
    book: "BookCore", parts: Sequence[RecipePart], part: RecipePart, limit: Limit | None, own: Mapping[str, Bounds]
) -> RecipePart:
    """A part with its bounds, rounded inwards."""
    if limit is None or not limit.fraction:
        return part
    mark = book.settings["decimal_mark"]
    target, whole = read_decimal(part.parts, mark), sum(read_decimal(one.parts, mark) for one in parts)
    low, high = (target * Decimal(end / limit.fraction) for end in (limit.low, limit.high))
    if kept := own.get(part.component):
        low, high = max(low, whole * as_decimal(kept.low)), min(high, whole * as_decimal(kept.high))
    ends = _written(low, mark, ROUND_CEILING), _written(high, mark, ROUND_FLOOR)
    if read_decimal(ends[0], mark) > target or read_decimal(ends[1], mark) < target or ends[0] == ends[1]:
        return part  # as poured, it lies outside what it may be
    return part._replace(bounds="..".join(ends))


def _written(value: Decimal, mark: str, rounding: str) -> str:
    """A part in four digits."""
    if not value:
        return "0"
    return f"{value.quantize(Decimal(1).scaleb(value.adjusted() - _DIGITS + 1), rounding):f}".replace(".", mark)
