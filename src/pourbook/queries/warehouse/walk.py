"""The house's places: how casks lie at its locations, and the order in which a walk passes them.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> _ = book.record(Draft(Item(book.next_id("place"), {"ref": "Row", "storage": "stow"}), 0, "M. Aldane"))
>>> the_walk(book).ordered(["Row 10/2", "Row 9/12"], str, str), the_walk(book).address("Row 9/12").storage.kind
(['Row 9/12', 'Row 10/2'], 'stow')
"""

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from pourbook.book.items import keys_of_kind, views
from pourbook.warehouse.places import Address, Storage, address, in_walking_order, storage_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Walk", "the_walk"]

_Thing = TypeVar("_Thing")


class Walk(NamedTuple):
    """How casks lie at the house's locations, and whether a walk goes back by every other row."""

    storages: tuple[Storage, ...]
    serpentine: bool

    def address(self, place: str) -> Address:
        """A place as row, tier and position."""
        return address(place, self.storages)

    def ordered(
        self, things: Iterable[_Thing], place_of: Callable[[_Thing], str], then: Callable[[_Thing], str]
    ) -> list[_Thing]:
        """Things in the order of a walk past their places; at one place in the order of `then`."""
        return in_walking_order(things, place_of, then, self.storages, serpentine=self.serpentine)


def the_walk(book: "BookCore") -> Walk:
    """The walk as the house's locations and its setting say."""
    found = (storage_of(one.ref, one.facts) for one in views(book.store, keys_of_kind(book.store, "place")).values())
    return Walk(tuple(one for one in found if one is not None), book.settings["walk"] == "serpentine")
