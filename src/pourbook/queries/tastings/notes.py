"""Tasting notes of one item.

>>> from pourbook import Book, Item
>>> from pourbook.actions.happening import Happening
>>> from pourbook.book.entries import Taste
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> _ = how.record(book, Item(cask := book.next_id("cask"), {"ref": "Row 3/12"}))
>>> _ = book.taste(how, Taste("Row 3/12", text="sweet, then short", score="71"))
>>> [(note.item, note.text, note.score) for note in notes_of(book, "Row 3/12")]
[('C000001H', 'sweet, then short', 71.0)]
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pourbook.book.contents import EVER
from pourbook.book.tasting_notes import About, TastingNote, notes

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["TastingNote", "notes_of"]


def notes_of(book: "BookCore", item: str, at_us: int | None = None) -> Iterator[TastingNote]:
    """Notes on an item itself that count, up to a moment if one is given, in the order it was tasted.

    Raises:
        PourbookError: no such item.
    """
    return notes(book.store, About(item=book.find(item), until_us=EVER if at_us is None else at_us))
