"""The journal as it is read: entry by entry, of one item, up to a moment."""

from typing import TYPE_CHECKING

from pourbook.book.journal import Logged, journal
from pourbook.book.search import concerning
from pourbook.codes.identifiers import key_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["entries_listed"]


def entries_listed(
    book: "BookCore", first: int = 1, last: int = 1 << 62, item: str | None = None, until_us: int | None = None
) -> list[Logged]:
    """Entries from one number to another, in the order they were recorded; of one item, up to a moment, if given.

    Raises:
        PourbookError: no such item.
    """
    found = journal(book.store, first, last) if item is None else concerning(book.store, [key_of(book.find(item))])
    return [
        entry for entry in found
        if first <= entry.number <= last and (until_us is None or entry.happened_us <= until_us)
    ]  # fmt: skip
