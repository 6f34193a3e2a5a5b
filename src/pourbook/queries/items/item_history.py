"""What was recorded of an item, page by page from the latest entry back, with what it held after each.

>>> from pourbook import Book, Draft, Item, Move, Note, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fill = Pour("fill", (Move("origin", "C000001H", read_amount("200 l"), read_strength("63.5")),))
>>> for entry in (Item("C000001H", {}), fill, Note("C000001H", "bung replaced")):
...     _ = book.record(Draft(entry, 0, "M. Aldane"))
>>> latest, filled = item_history(book, "C000001H", most=2)
>>> latest.logged.kind, latest.after, filled.logged.number, round(filled.after.volume_ml_20c)
('note', None, 3, 200000)
>>> [one.logged.number for one in item_history(book, "C000001H", before=filled.logged.number)]
[2]
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ledger
from pourbook.book.search import Wanted
from pourbook.codes.identifiers import key_of
from pourbook.queries.journal.entries_listed import entries_listed

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.items import LedgerRow
    from pourbook.book.journal import Logged

__all__ = ["InHistory", "item_history"]


class InHistory(NamedTuple):
    """An entry that concerns an item, and what the item held after it; None where it moved nothing of it."""

    logged: "Logged"
    after: "LedgerRow | None"


def item_history(book: "BookCore", item: str, before: int | None = None, most: int = 25) -> tuple[InHistory, ...]:
    """The last entries about an item, those that no longer count as well, the latest first.

    `before` is the number of an entry: only those recorded earlier.

    Raises:
        PourbookError: no such item.
    """
    identifier = book.find(item)
    which = Wanted() if before is None else Wanted(last=before - 1)
    held = {row.entry: row for row in ledger(book.store, key_of(identifier))}
    found = tuple(entries_listed(book, which, identifier, most))
    return tuple(InHistory(one, held.get(one.number)) for one in reversed(found))
