"""Where and when a paper is printed: house, moment, and where the journal stands.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> imprint = imprint_of(book)
>>> imprint.house, imprint.printed, imprint.entries, len(imprint.head_hash)
('Quillmere', '1970-01-01 00:00 UTC', 1, 64)
"""

from typing import TYPE_CHECKING

from pourbook.book.journal import entry_of
from pourbook.papers.page import Imprint
from pourbook.times import house_zone, moment_of, shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["imprint_of", "imprint_of_state"]


def imprint_of(book: "BookCore") -> Imprint:
    """The imprint of a paper printed from this book now."""
    return _imprint(book, book.clock(), "Printed")


def imprint_of_state(book: "BookCore") -> Imprint:
    """An imprint dated by the last entry, so the same state of the book gives the same paper."""
    entries, _ = book.head()
    recorded = moment_of(entry_of(book.store, entries).entry["recorded"])
    return _imprint(book, recorded, "State of the book at")


def _imprint(book: "BookCore", moment_us: int, moment: str) -> Imprint:
    settings = book.settings
    entries, head = book.head()
    printed = shown(moment_us, house_zone(settings["zone"]))
    stated = {name: settings[name] for name in ("address", "licence", "contact")}
    return Imprint(settings["house"], printed, entries, head, settings["decimal_mark"], moment=moment, **stated)
