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
from typing import NamedTuple

from pourbook.bench.trials import WATER, PlannedPour, laid_out
from pourbook.book.core import BookCore
from pourbook.book.entries import RecipePart
from pourbook.book.items import entered_in, facts, held, ledger, settings
from pourbook.book.logged import Logged, recipe, recipe_before
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import NotThere, Refused
from pourbook.liquid import Liquid
from pourbook.quantities import read_amount

__all__ = ["TrialPlan", "holds_of", "parts_of", "plan_of", "planned_volumes"]


class TrialPlan(NamedTuple):
    """What a trial is to be.

    Attributes:
        recipe: its name.
        entry: number of the entry it was written in.
        revised_from: the recipe it was revised from; may be empty.
        superseded: whether a recipe of that name was written after the trial was opened.
        parts: its parts, in the order they are poured.
        total_ml: sum of the volumes to pour, at 20 °C.
        before_us: the moment that components are taken at; None is now.
        pours: what to pour; `left_ml` is negative where a component does not suffice.
    """

    recipe: str
    entry: int
    revised_from: str
    superseded: bool
    parts: tuple[RecipePart, ...]
    total_ml: float
    before_us: int | None
    pours: tuple[PlannedPour, ...]


def parts_of(entry: Logged) -> tuple[RecipePart, ...]:
    """The parts of a recipe's entry, in order."""
    return tuple(RecipePart(**part) for part in entry.entry["body"]["parts"])


def holds_of(store: Store, components: Iterable[str], at_us: int | None = None) -> dict[str, Liquid]:
    """What each component holds, now or at a moment; water is left out."""
    return {name: held(store, key_of(name), at_us).liquid for name in components if name != WATER}


def planned_volumes(book: BookCore, text: str) -> dict[str, float]:
    """What to pour of each component of a trial, mL at 20 °C."""
    return {pour.component: pour.volume_ml for pour in plan_of(book.store, book.find(text)).pours}


def plan_of(store: Store, trial: str) -> TrialPlan:
    """The plan of a trial.

    Args:
        store: of the book.
        trial: its identifier.

    Raises:
        Refused: it follows no recipe, or its total is not known.
        NotThere: a component never held anything.
    """
    known = facts(store, key_of(trial))
    if not known.get("follows") or not known.get("total"):
        raise Refused(
            f"{hyphened(trial)} follows no recipe", "compose it with: pourbook trial --recipe NAME --total VOLUME"
        )
    latest = recipe(store, known["follows"])
    opened = entered_in(store, key_of(trial))
    entry = latest if latest.number < opened else recipe_before(store, latest.entry["body"]["name"], opened) or latest
    parts = parts_of(entry)
    before_us = _before_pouring(store, trial)
    holds = holds_of(store, (part.component for part in parts), before_us)
    house = settings(store)
    total_ml = _total_ml(trial, known["total"], house)
    pours = _poured_from(store, parts, total_ml, holds, house["decimal_mark"])
    revised_from = entry.entry["body"].get("revised_from", "")
    return TrialPlan(
        known["follows"], entry.number, revised_from, entry is not latest, parts, total_ml, before_us, pours
    )


def _before_pouring(store: Store, trial: str) -> int | None:
    rows = ledger(store, key_of(trial))
    return rows[0].happened_us - 1 if rows else None


def _total_ml(trial: str, text: str, house: Mapping[str, str]) -> float:
    amount = read_amount(text, house["volume_unit"], house["decimal_mark"])
    if amount.dimension != "volume":
        raise Refused(f"the total of {hyphened(trial)}, '{text}', is no volume", "set it: pourbook set TRIAL total=…")
    return float(amount.volume_ml)


def _poured_from(
    store: Store, parts: tuple[RecipePart, ...], total_ml: float, holds: Mapping[str, Liquid], decimal_mark: str
) -> tuple[PlannedPour, ...]:
    """The plan; what is empty by now is taken as it last was, and all of it counts as missing."""
    empty = {name for name, liquid in holds.items() if not liquid.mass_mg}
    last = {**holds, **{name: _last(store, name) for name in empty}}
    pours = laid_out([(part.component, part.parts) for part in parts], total_ml, last, decimal_mark)
    return tuple(pour._replace(left_ml=-pour.volume_ml) if pour.component in empty else pour for pour in pours)


def _last(store: Store, component: str) -> Liquid:
    for row in reversed(ledger(store, key_of(component))):
        if row.holding.mass_mg:
            return row.holding.liquid
    raise NotThere(f"nothing was ever poured into {hyphened(component)}", "fill it, or write the recipe anew")
