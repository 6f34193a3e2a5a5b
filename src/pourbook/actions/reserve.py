"""Reserved numbers, so that labels can be printed ahead.

>>> from pourbook import Book
>>> from pourbook.actions.happening import Happening
>>> reserve(Book.create(":memory:", house="Quillmere"), Happening("M. Aldane"), "vial", 2).ids
('V000001R', 'V000002P')
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Reserve
from pourbook.book.numbering import next_id

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["Reserved", "reserve"]


class Reserved(NamedTuple):
    """The ids of a kind that were reserved, and what was recorded."""

    kind: str
    ids: tuple[str, ...]
    recorded: "Recorded"


def reserve(book: "BookCore", how: "Happening", kind: str, count: int) -> Reserved:
    """Reserve the next numbers of a kind; each is assigned to an item when that is opened."""
    with how.transaction(book):
        ids: list[str] = []
        for _ in range(count):
            ids.append(next_id(book.store, kind, int(ids[-1][1:-1]) + 1 if ids else 0))
        return Reserved(kind, tuple(ids), how.record(book, Reserve(tuple(ids))))
