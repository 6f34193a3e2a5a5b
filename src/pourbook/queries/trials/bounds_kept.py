"""Parts of a blend beside the bounds that its recipe gives them: of a trial, and of a batch that follows one.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, trial = book.next_id("cask"), book.next_id("trial")
>>> parts = RecipePart(cask, "3"), RecipePart("water", "1", bounds="0.5..1.2")
>>> moves = (
...     Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("60")),)),
...     Pour("pour", (Move(cask, trial, read_amount("60 ml")), Move("water", trial, read_amount("40 ml")))),
... )
>>> opened = Item(cask, {}), Recipe("Ash", parts), Item(trial, {"follows": "Ash", "total": "100 ml"})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (*opened, *moves)))
>>> [(one.component, one.stands, one.high) for one in bounds_kept(book, trial)]
[('water', 'above', 0.3)]
"""

from collections.abc import Iterable, Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.bounds import Bounds, PartShare, beside_bounds
from pourbook.bench.trials import WATER
from pourbook.book.items import facts
from pourbook.codes.identifiers import key_of, kind_of, read_or_none
from pourbook.errors import PourbookError, Unknown
from pourbook.queries.traces.behind import BLENDS, Part, parts_of, sources_behind
from pourbook.queries.trials.targets import component_for
from pourbook.queries.trials.trial_plan import (
    beside_water,
    part_bounds,
    recipe_card,
    recipe_followed,
    stood_for,
)

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import RecipePart
    from pourbook.book.store import Store
    from pourbook.queries.trials.trial_plan import RecipeCard

__all__ = ["Bounded", "bounded_by", "bounds_followed", "bounds_kept"]


class Bounded(NamedTuple):
    """What a blend is held to.

    Attributes:
        parts: of its recipe.
        bounds: of the components that have some.
        beside_water: whether the whole is without water.
        taken: items that were poured, each with the component of these that it was taken for.
    """

    parts: "tuple[RecipePart, ...]"
    bounds: Mapping[str, Bounds]
    beside_water: bool
    taken: Mapping[str, str] = {}

    @property
    def components(self) -> tuple[str, ...]:
        """In the order of the recipe."""
        return tuple(part.component for part in self.parts)

    def told(self, store: "Store", part: Part) -> tuple[str, str]:
        """The component that a part was taken for, or what it stands for itself, and its role in the recipe."""
        name = self.component_of(store, part)
        own = next((one for one in self.parts if one.component == name), None)
        return (name, "") if own is None else (own.stands_for or name, own.role)

    def kind(self, component: str) -> str:
        """The kind of spirit that a component stands for; itself where it stands for none."""
        return next((one.stands_for for one in self.parts if one.component == component and one.stands_for), component)

    def shares(self, store: "Store", parts: Iterable[Part]) -> tuple[PartShare, ...]:
        """What was or is to be poured, beside the bounds; what the recipe does not know counts towards the whole."""
        return beside_bounds(self.bounds, self.volumes(store, parts))

    def volumes(self, store: "Store", parts: Iterable[Part]) -> dict[str, float]:
        """Volumes by component, mL, in the whole that bounds are of; what the recipe does not know by its source."""
        volumes: dict[str, float] = {}
        for part in parts:
            if part.source != WATER or not self.beside_water:
                name = self.component_of(store, part)
                volumes[name] = volumes.get(name, 0.0) + part.volume_ml
        return volumes

    def component_of(self, store: "Store", part: Part) -> str:
        """The component a part came by; else the first one that its cask is behind."""
        direct = self.taken.get(part.component) or component_for(store, self.components, part.component)
        if direct in self.components:
            return direct
        return next((one for one in self.components if part.source in sources_behind(store, one)), part.source)


def bounded_by(parts: "Iterable[RecipePart]", decimal_mark: str, *, water_is_computed: bool) -> Bounded:
    """The bounds of a recipe's parts; where water is computed, they are of what is poured beside it."""
    kept = beside_water(parts) if water_is_computed else tuple(parts)
    return Bounded(kept, part_bounds(kept, decimal_mark), water_is_computed)


def bounds_kept(book: "BookCore", item: str, at_us: int | None = None) -> tuple[PartShare, ...]:
    """Every part with bounds of a blend, as it was poured; none where it follows no recipe or holds nothing.

    A batch is held to the recipe of the trial that it follows; no vial of that is in it, so its parts are told by kind.
    """
    bounded = bounds_followed(book, item)
    if bounded is None or not bounded.bounds:
        return ()
    try:
        found = bounded.shares(book.store, parts_of(book.store, item, BLENDS, at_us))
    except PourbookError:
        return ()  # nothing was poured
    if kind_of(item) != "batch":
        return found
    return tuple(one._replace(component=bounded.kind(one.component)) for one in found)


def bounds_followed(book: "BookCore", item: str, *, water_is_computed: bool = False) -> Bounded | None:
    """The bounds behind a trial, or behind the trial that a batch follows; water is computed where one says so.

    A tolerance that was kept for the trial holds in place of its recipe.
    """
    store, poured, passed, computed = book.store, item, {item}, water_is_computed
    while True:
        known = facts(store, key_of(item))
        computed = computed or bool(known.get("target_strength"))
        before = read_or_none(known.get("follows", ""))
        if kind_of(item) != "batch" or not before or before in passed:
            break
        item = before
        passed.add(item)
    if not known.get("follows"):
        return None
    try:
        card = _card_held_to(book, item, known)
    except Unknown:
        return None
    found = bounded_by(card.recipe.parts, book.settings["decimal_mark"], water_is_computed=computed)
    of_kind = {part.stands_for: part.component for part in card.recipe.parts if part.stands_for}
    return found._replace(taken={one: of_kind.get(kind, kind) for one, kind in stood_for(store, poured).items()})


def _card_held_to(book: "BookCore", item: str, known: Mapping[str, str]) -> "RecipeCard":
    """The recipe of its tolerance, where one was kept and is there; else the one that it follows."""
    if tolerance := known.get("tolerance"):
        with suppress(Unknown):
            return recipe_card(book, tolerance)
    return recipe_followed(book.store, item, known.get("plan", "") if kind_of(item) == "trial" else "")[0]
