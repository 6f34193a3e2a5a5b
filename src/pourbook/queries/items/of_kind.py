"""Items of a kind, page by page: the places, people and instruments of a house, or anything else it numbers.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> for name in ("Vat 1", "Vat 2", "Vat 3"):
...     _ = book.record(Draft(Item(book.next_id("place"), {"ref": name}), 0, "M. Aldane"))
>>> [view.ref for view in of_kind(book, "place", most=2)]
['Vat 1', 'Vat 2']
>>> [view.ref for view in of_kind(book, "place", after="S0000022", most=2)]
['Vat 3']
"""

from typing import TYPE_CHECKING

from pourbook.book.items import next_keys, views
from pourbook.book.numbering import end_key
from pourbook.codes.identifiers import key_of, kind_of, read_or_none

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView

__all__ = ["of_kind"]


def of_kind(book: "BookCore", kind: str, after: str = "", most: int = 100) -> tuple["ItemView", ...]:
    """Items of a kind in the order of their numbers, as they are now, beginning after one of them."""
    last = read_or_none(after)
    beyond = key_of(last) if last and kind_of(last) == kind else -1
    keys = next_keys(book.store, kind, beyond, end_key(book.store, kind), most)
    found = views(book.store, keys)
    return tuple(found[key] for key in keys)
