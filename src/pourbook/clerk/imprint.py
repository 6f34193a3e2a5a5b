"""Where and when a paper is printed: house, moment, and where the journal stands.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> imprint = imprint_of(book)
>>> imprint.house, imprint.printed, imprint.entries, len(imprint.head_hash)
('Quillmere', '1970-01-01 00:00 UTC', 1, 64)
"""

from typing import TYPE_CHECKING

from pourbook.papers.page import Imprint
from pourbook.times import house_zone, shown

if TYPE_CHECKING:
    from pourbook.book.book import Book

__all__ = ["imprint_of"]


def imprint_of(book: "Book") -> Imprint:
    """The imprint of a paper printed from this book now."""
    settings = book.settings
    entries, head = book.head()
    printed = shown(book.clock(), house_zone(settings["zone"]))
    return Imprint(settings["house"], printed, entries, head, settings["decimal_mark"])
