"""Which component of the house a cask was of, when it was poured from: by its spirit, wood, previous contents and age.

Of several it is the one with the most conditions, so that "old chestnut" goes before "chestnut".

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, kinds = book.next_id("cask"), [Component("base", "malt"), Component("accent", "malt", "chestnut")]
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"))
>>> entries = Item(cask, {"wood": "virgin chestnut"}), Pour("fill", (fill,)), *kinds
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> state = book.show(cask).holding.state
>>> Kinds(book).of(cask, state, 0, "malt spirit"), Kinds(book).of(cask, state, 0, "rye spirit")
('accent', '')
"""

from collections.abc import Iterable
from typing import TYPE_CHECKING

from pourbook.book.entries import Component
from pourbook.book.items import ItemView, view
from pourbook.book.recall_scope import says
from pourbook.lineage.ages import age_of
from pourbook.queries.casks.choosing import latest_fill, youngest_in
from pourbook.queries.trials.components import components

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Kinds"]


class Kinds:
    """The components of a house; `have_ages` says whether any asks for an age."""

    def __init__(self, book: "BookCore") -> None:
        self._book = book
        self._kinds = sorted(components(book), key=lambda kind: (kind.gone, -_conditions(kind), kind.name))
        self.have_ages = any(_asks_for_age(kind) for kind in self._kinds)

    def of(self, item: str, state: int, at_us: int, spirit: str) -> str:
        """The name of the component that spirit in an item was of, in a state and at a moment; empty where of none.

        What the wood is goes by what is known today; what it held before, and the age, by that moment.
        """
        store, at_us = self._book.store, min(at_us, self._book.clock())
        found = view(store, item)
        then = found._replace(holding=found.holding._replace(state=state))
        return self.in_wood(then, at_us, spirit, found.facts.get("wood", ""), latest_fill(store, found, at_us).before)

    def in_wood(self, aged: ItemView, at_us: int, spirit: str, wood: str, previous: Iterable[str]) -> str:
        """The component that a spirit, as old as what an item holds, is of in some wood that held something before."""
        there = ((spirit,), (wood,), tuple(previous))
        alike = (kind for kind in self._kinds if _is_like(kind, there))
        return next((kind.name for kind in alike if self._is_of_age(kind, aged, at_us)), "")

    def _is_of_age(self, kind: Component, found: ItemView, at_us: int) -> bool:
        if not _asks_for_age(kind):
            return True
        age = age_of(youngest_in(self._book.store, found, at_us), self._book.zone)
        if age is None:
            return False
        return age.years >= kind.min_age and (kind.max_age is None or age.years <= kind.max_age)


def _is_like(kind: Component, there: Iterable[tuple[str, ...]]) -> bool:
    wanted = (kind.spirit, kind.wood, kind.previous)
    pairs = zip(wanted, there, strict=True)
    return all(not words or any(says(text, words) for text in texts) for words, texts in pairs)


def _asks_for_age(kind: Component) -> bool:
    return bool(kind.min_age) or kind.max_age is not None


def _conditions(kind: Component) -> int:
    return sum(map(bool, (kind.spirit, kind.wood, kind.previous, kind.min_age, kind.max_age is not None)))
