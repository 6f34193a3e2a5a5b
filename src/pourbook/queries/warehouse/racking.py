"""What racking a leaking cask into a sound one would change, said before anything flows.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> casks = Item("C000001H", {"wood": "ash"}), Item("C000002F", {"wood": "plum", "capacity_l": "190"})
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("60")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (*casks, fill)))
>>> found = racking_outlook(book, "C000001H", "C000002F")
>>> found.wood, found.is_mixed, round(found.lacks_ml)
(('ash', 'plum'), False, 10000)
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, keys_of_kind, ledger, views
from pourbook.codes.identifiers import key_of
from pourbook.errors import PourbookError
from pourbook.queries.casks.choosing import held_before, latest_fill
from pourbook.queries.trials.kinds_of_spirit import Kinds
from pourbook.queries.trials.targets import targets
from pourbook.queries.trials.trial_plan import recipe_of_trial

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Outlook", "Wanting", "racking_outlook", "wanted_by"]


class Wanting(NamedTuple):
    """A batch under way, its `view`, and how much its plan still takes of a source, `to_go_ml` at 20 °C."""

    view: ItemView
    to_go_ml: float


class Outlook(NamedTuple):
    """A leaking cask and what its spirit is to go into.

    Attributes:
        leaker: the leaking cask.
        into: what it goes into.
        wood: of the one and of the other, as typed; empty where not known.
        kinds: the house's component that the spirit is of now, and would be of there; empty for none.
        is_mixed: whether what it goes into holds spirit already, so that two become one.
        lacks_ml: how much of the spirit finds no room by the book; None where the capacity is not on record.
        wanted: batches whose plan still takes from the leaking cask.
    """

    leaker: ItemView
    into: ItemView
    wood: tuple[str, str]
    kinds: tuple[str, str]
    is_mixed: bool
    lacks_ml: float | None
    wanted: tuple[Wanting, ...]

    def after(self, leaker: ItemView, into: ItemView) -> "Outlook":
        """Both casks as they are once it is done, and what found no room by what arrived."""
        return self._replace(leaker=leaker, into=into, lacks_ml=_lacks_ml(leaker, into))


def racking_outlook(book: "BookCore", leaker: str, into: str) -> Outlook:
    """What racking one item into another changes; both by identifier or name.

    Raises:
        PourbookError: no such item.
    """
    here, there = book.show(leaker), book.show(into)
    return Outlook(
        here,
        there,
        (here.facts.get("wood", ""), there.facts.get("wood", "")),
        _kinds(book, here, there),
        bool(there.holding.mass_mg),
        _lacks_ml(here, there),
        wanted_by(book, here.id),
    )


def _kinds(book: "BookCore", here: ItemView, there: ItemView) -> tuple[str, str]:
    kinds, now_us = Kinds(book), book.clock()
    spirit = latest_fill(book.store, here).spirit
    now = kinds.of(here.id, here.holding.state, now_us, spirit)
    return now, kinds.in_wood(here, now_us, spirit, there.facts.get("wood", ""), held_before(book.store, there))


def _lacks_ml(here: ItemView, there: ItemView) -> float | None:
    capacity = there.facts.get("capacity_l")
    if not capacity:
        return None
    return max(here.volume_ml_20c + there.volume_ml_20c - float(capacity) * 1000, 0.0)


def wanted_by(book: "BookCore", source: str) -> tuple[Wanting, ...]:
    """Batches under way whose plan still takes from a source (its identifier)."""
    store = book.store
    planned = (one for one in views(store, keys_of_kind(store, "batch")).values() if one.facts.get("plan"))
    found = (Wanting(one, _to_go_ml(book, one.id, source)) for one in planned if _is_open(book, one))
    return tuple(one for one in found if one.to_go_ml)


def _is_open(book: "BookCore", batch: ItemView) -> bool:
    """Whether it is still to be poured: it holds something, or never did."""
    return bool(batch.holding.mass_mg) or not ledger(book.store, key_of(batch.id))


def _to_go_ml(book: "BookCore", batch: str, source: str) -> float:
    try:
        card, _ = recipe_of_trial(book.store, batch)
    except PourbookError:
        return 0.0  # a plan that was set by hand and is none
    if source not in {part.component for part in card.recipe.parts}:
        return 0.0
    return sum(one.to_go_ml for one in targets(book, batch) if one.component == source)
