"""The journal as it is read: entry by entry, of one kind, by one person, of one item, of some time."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pourbook.book.journal import Logged
from pourbook.book.search import EVERYTHING, Wanted, wanted
from pourbook.codes.identifiers import key_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Wanted", "entries_listed"]


def entries_listed(
    book: "BookCore", which: Wanted = EVERYTHING, item: str | None = None, last: int | None = None
) -> Iterator[Logged]:
    """Entries, those that no longer count as well, in the order they were recorded; of an item, if one is named.

    With `last`, only so many of the last. They are read as they are gone through.

    Raises:
        PourbookError: no such item.
    """
    if item is not None:
        which = which._replace(item=key_of(book.find(item)))
    return wanted(book.store, which, last)
