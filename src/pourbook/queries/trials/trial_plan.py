"""The plan of a trial: its recipe, its total, and what to pour, from what the book holds.

The recipe of a trial is the one that stood when the trial was opened; one of the same name
written later is another. What has been poured since does not change the plan: components are
taken as they were just before the first pour.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, trial = book.next_id("cask"), book.next_id("trial")
>>> filled = Move("origin", cask, read_amount("200 l"), read_strength("60"))
>>> entries = (
...     Item(cask, {}),
...     Pour("fill", (filled,)),
...     Recipe("Ash", (RecipePart(cask, "3"), RecipePart("water", "1"))),
...     Item(trial, {"follows": "Ash", "total": "100 ml"}),
... )
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(pour.component, pour.volume_ml) for pour in plan_of(book.store, trial).pours]
[('C000001H', 75.0), ('water', 25.0)]
"""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import NamedTuple

from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL, mix, water_to_reach
from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.bench.bounds import Bounds, bounds_of
from pourbook.bench.components import by_pure_alcohol, by_volume, strengths_of
from pourbook.bench.kept_parts import KeptPart
from pourbook.bench.trials import WATER, PlannedPour, fractions, laid_out
from pourbook.book.core import BookCore
from pourbook.book.entries import Recipe, RecipePart
from pourbook.book.items import entered_in, facts, held, ledger
from pourbook.book.journal import Logged, recipe, recipe_before
from pourbook.book.settings import settings
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of
from pourbook.errors import NotThere, Refused, Unknown
from pourbook.gauging.as_typed import amount_again, strength_again
from pourbook.liquid import Liquid
from pourbook.numerals import read_decimal, with_mark
from pourbook.queries.items.called import called

__all__ = [
    "RecipeCard", "TrialPlan", "beside_water", "kept_parts", "part_bounds", "plan_of", "planned_volumes",
    "recipe_card", "recipe_followed", "recipe_of_trial", "stood_for", "target_of_trial",
]  # fmt: skip


class RecipeCard(NamedTuple):
    """A recipe as it stands, or stood.

    Attributes:
        entry: that wrote it.
        recipe: what it says.
        fractions: of its components as it says them, by volume or by pure alcohol; they add to one.
        called: what each component is called beside its identifier, where the recipe itself was asked for.
        volumes: fractions by volume as poured, by the strengths that items have now; empty where any has none.
        alcohol: fractions of the pure alcohol, in the same way.
    """

    entry: int
    recipe: Recipe
    fractions: dict[str, Fraction]
    called: Mapping[str, str] = {}
    volumes: Mapping[str, Fraction] = {}
    alcohol: Mapping[str, Fraction] = {}


class TrialPlan(NamedTuple):
    """What a trial is to be.

    Attributes:
        card: the recipe it follows.
        superseded: whether a recipe of that name was written after the trial was opened.
        to_percent: strength to be reached, % vol at 20 °C, by water that is computed; None where it is the recipe's.
        total_ml: sum of the volumes to pour, at 20 °C, all water in it.
        before_us: the moment that components are taken at; None is now.
        pours: what to pour; `left_ml` is negative where a component does not suffice.
    """

    card: RecipeCard
    superseded: bool
    to_percent: float | None
    total_ml: float
    before_us: int | None
    pours: tuple[PlannedPour, ...]


def recipe_card(book: BookCore, name: str) -> RecipeCard:
    """The latest recipe of that name.

    Raises:
        Unknown: no such recipe.
    """
    card = _card(recipe(book.store, name), book.settings["decimal_mark"])
    return _both_ways(book.store, card._replace(called=called(book.store, card.fractions)))


def _both_ways(store: Store, card: RecipeCard) -> RecipeCard:
    """With its fractions by volume and by pure alcohol, where every component is an item that holds some, or water."""
    by_alcohol = bool(card.recipe.by)
    volumes, alcohol = ({}, card.fractions) if by_alcohol else (card.fractions, {})
    items = [name for name in card.fractions if name != WATER]
    strengths = strengths_of({name: held(store, key_of(name)).liquid for name in items if is_identifier(name)})
    if all(strengths.get(name) for name in items) and items:
        if by_alcohol:
            volumes = by_volume(alcohol, strengths)
        else:
            alcohol = by_pure_alcohol(volumes, strengths)
    return card._replace(volumes=volumes, alcohol=alcohol)


def _card(entry: Logged, decimal_mark: str) -> RecipeCard:
    body = entry.entry["body"]
    kept = (RecipePart(**part) for part in body["parts"])
    parts = tuple(
        part._replace(
            parts=with_mark(part.parts, decimal_mark),
            bounds=with_mark(part.bounds, decimal_mark),
            fixed=bool(part.fixed),
        )
        for part in kept
    )
    shares = fractions(((part.component, part.parts) for part in parts), decimal_mark)
    return RecipeCard(
        entry.number, Recipe(body["name"], parts, body.get("revised_from", ""), body.get("by", "")), shares
    )


def part_bounds(parts: Iterable[RecipePart], decimal_mark: str) -> dict[str, Bounds]:
    """Bounds of the parts that have some, as fractions of the whole of these parts."""
    return bounds_of(((part.component, part.parts, part.bounds) for part in parts), decimal_mark)


def kept_parts(parts: Iterable[RecipePart], decimal_mark: str) -> dict[str, KeptPart]:
    """Parts as numbers, with what is kept of them while others change."""
    return {
        one.component: KeptPart(Fraction(read_decimal(one.parts, decimal_mark)), one.fixed, one.ratio) for one in parts
    }


def beside_water(parts: Iterable[RecipePart]) -> tuple[RecipePart, ...]:
    """The parts that a trial of a strength has: its water is computed, whatever the recipe says of it."""
    return tuple(part for part in parts if part.component != WATER)


def target_of_trial(known: Mapping[str, str]) -> float | None:
    """The strength that a trial is to reach, by its facts, % vol at 20 °C; None where its recipe has the water.

    Raises:
        PourbookError: the fact is no strength.
    """
    typed = known.get("target_strength")
    return target_percent(strength_again(typed)) if typed else None


def planned_volumes(book: BookCore, text: str) -> dict[str, float]:
    """What to pour of each component of a trial, mL at 20 °C."""
    return {pour.component: pour.volume_ml for pour in plan_of(book.store, book.find(text)).pours}


def plan_of(store: Store, trial: str) -> TrialPlan:
    """The plan of a trial.

    Raises:
        Refused: it follows no recipe, or its total is not known.
        NotThere: a component never held anything.
        OutOfRange: its components are weaker than the strength that it is to reach.
    """
    card, superseded = recipe_of_trial(store, trial)
    house, known, rows = settings(store), facts(store, key_of(trial)), ledger(store, key_of(trial))
    before_us = rows[0].happened_us - 1 if rows else None
    wanted_ml, to_percent = _total_ml(trial, known["total"], house), target_of_trial(known)
    # The parts of a batch's plan are litres, and stay so whatever is found of the strength of a cask.
    in_litres = known.get("plan") and kind_of(trial) == "batch" and to_percent is not None
    asked_ml = None if in_litres else wanted_ml
    total_ml, pours = _poured_from(store, card.recipe, asked_ml, before_us, house["decimal_mark"], to_percent)
    return TrialPlan(card, superseded, to_percent, total_ml, before_us, pours)


def recipe_of_trial(store: Store, trial: str) -> tuple[RecipeCard, bool]:
    """The recipe that a trial follows, or that is the plan of a batch, as `recipe_followed`.

    Raises:
        Refused: it follows no recipe, or its total is not known.
    """
    known = facts(store, key_of(trial))
    if not (known.get("plan") or known.get("follows")) or not known.get("total"):
        raise Refused(
            f"{hyphened(trial)} follows no recipe", "compose it with: pourbook trial --recipe NAME --total VOLUME"
        )
    return recipe_followed(store, trial, known.get("plan", ""))


def recipe_followed(store: Store, item: str, plan: str = "") -> tuple[RecipeCard, bool]:
    """The recipe that an item follows, or its plan, as it stood when the item was opened; whether it was written anew.

    Raises:
        Unknown: it follows none.
    """
    latest = recipe(store, plan or facts(store, key_of(item)).get("follows", ""))
    opened = entered_in(store, key_of(item))
    entry = latest if latest.number < opened else recipe_before(store, latest.entry["body"]["name"], opened) or latest
    return _card(entry, settings(store)["decimal_mark"]), entry is not latest


def stood_for(store: Store, blend: str) -> dict[str, str]:
    """The component that each item poured into a trial or batch was taken for; of other items nothing is known."""
    known = facts(store, key_of(blend))
    plan = known.get("plan") or known.get("follows", "")
    if not plan or is_identifier(plan):
        return {}
    try:
        parts = recipe(store, plan).entry["body"]["parts"]
    except Unknown:
        return {}
    return {part["component"]: part["stands_for"] for part in parts if "stands_for" in part}


def _total_ml(trial: str, text: str, house: Mapping[str, str]) -> float:
    amount = amount_again(text, house["volume_unit"])
    if amount.dimension != "volume":
        raise Refused(
            f"the total of {hyphened(trial)}, '{text}', is not a volume", "set it: pourbook set TRIAL total=…"
        )
    return float(amount.volume_ml)


def _poured_from(
    store: Store, followed: Recipe, total_ml: float | None, at_us: int | None, mark: str, to_percent: float | None
) -> tuple[float, tuple[PlannedPour, ...]]:
    """The plan and its total; what is empty by now is taken as it last was, and counts as missing altogether.

    Without a total, parts are litres, and water to the strength comes upon them.
    """
    spirits = beside_water(followed.parts)
    wanted = followed.parts if to_percent is None else spirits
    components = [part.component for part in spirits]
    holds = {name: held(store, key_of(name), at_us).liquid for name in components}
    empty = {name for name, liquid in holds.items() if not liquid.mass_mg}
    last = {**holds, **{name: _last(store, name) for name in empty}}
    typed = [(part.component, part.parts) for part in wanted]
    bounds = part_bounds(wanted, mark)
    if total_ml is None:
        litres = sum(read_decimal(part, mark) for _, part in typed)
        undiluted = laid_out(typed, float(litres) * 1000, last, mark)
        total_ml = float(litres) * 1000 + _water_ml(mix([pour.liquid for pour in undiluted]), to_percent)
    pours = laid_out(typed, total_ml, last, mark, bounds, to_percent, by_alcohol=bool(followed.by))
    short = (pour._replace(left_ml=-pour.volume_ml) if pour.component in empty else pour for pour in pours)
    return total_ml, tuple(short)


def _water_ml(undiluted: Liquid, to_percent: float | None) -> float:
    strength = strength_20c(undiluted) or 0.0
    if to_percent is None or abs(strength - to_percent) <= SAME_PERCENT_VOL:
        return 0.0
    return volume_ml(water_to_reach(undiluted, to_percent))


def _last(store: Store, component: str) -> Liquid:
    for row in reversed(ledger(store, key_of(component))):
        if row.holding.mass_mg:
            return row.holding.liquid
    raise NotThere(f"nothing was ever poured into {hyphened(component)}", "fill it, or rewrite the recipe")
