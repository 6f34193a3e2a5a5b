"""What a stocktake did not find, as long as nothing else says where it is.

An item is missing no longer once it was scanned in a stocktake, moved, poured from or into, or gauged since; written
off, it holds nothing.

>>> from pourbook import Book
>>> missing(Book.create(":memory:", house="Quillmere"))
()
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, ledger, view
from pourbook.book.search import mentioning, stated
from pourbook.book.stocktakes import stocktakes
from pourbook.codes.identifiers import key_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.journal import Logged
    from pourbook.book.store import Store

__all__ = ["Missing", "missing"]


class Missing(NamedTuple):
    """An item that is missing.

    Attributes:
        view: the item, with its place by the book.
        stocktake: name of the last that did not find it.
        entry: that ended it.
        ended_us: when.
        who: ended it.
    """

    view: ItemView
    stocktake: str
    entry: int
    ended_us: int
    who: str


def missing(book: "BookCore") -> tuple[Missing, ...]:
    """What is missing, the longest first."""
    latest: dict[str, tuple[str, Logged]] = {}
    for taken in stocktakes(book.store):
        if taken.end and taken.result:
            latest |= dict.fromkeys(taken.result.missing, (taken.stocktake.name, taken.end))
    found = [
        Missing(view(book.store, item), name, end.number, end.happened_us, end.entry["who"])
        for item, (name, end) in latest.items()
    ]
    still = [one for one in found if one.view.holding.mass_mg and not _was_met_since(book.store, one)]
    return tuple(sorted(still, key=lambda one: (one.ended_us, one.entry)))


def _was_met_since(store: "Store", one: Missing) -> bool:
    key = key_of(one.view.id)
    seen = mentioning(store, [key], "seen").get(key, [])
    return (
        any(entry.number > one.entry for entry in seen)
        or any(row.happened_us > one.ended_us for row in ledger(store, key))
        or any(fact.place > one.entry for fact in stated(store, ("place",), (key,)))
    )
