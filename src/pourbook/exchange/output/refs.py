"""What the house calls the items that a table names, beside their identifiers.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> _ = book.record(Draft(Item("C000001H", {"ref": "Row 3/12"}), 0, "M. Aldane"))
>>> refs = Refs(book.store)
>>> refs.learn("C000001H", "water")
>>> refs
{'C000001H': 'Row 3/12', 'water': ''}
"""

from pourbook.book.items import facts
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of

__all__ = ["Refs"]


class Refs(dict[str, str]):
    """Refs of items by identifier, as far as they were learnt; empty for an item without one, and for outside."""

    def __init__(self, store: Store) -> None:
        super().__init__()
        self._store = store

    def learn(self, *ends: str) -> None:
        """Look up those that are not known yet, each once."""
        for end in ends:
            if end not in self:
                self[end] = facts(self._store, key_of(end)).get("ref", "") if end[:1].isupper() else ""
