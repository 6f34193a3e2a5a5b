"""The book as it stood after an entry, or as of a moment: a second book, folded from the entries up to there.

Unlike `as_known`, it shows all of the book, not only the time before a moment; it costs as much as a verification.

>>> from pourbook import Book, Draft, Item
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> items = Item(cask, {"ref": "Row 3/12"}), Item(book.next_id("vial"), {})
>>> _ = book.record(*(Draft(item, 0, "M. Aldane") for item in items))
>>> with as_it_stood(book.store, 2) as earlier:
...     earlier.query("SELECT count(*) FROM item")
[(1,)]
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

from pourbook.book.core import BookCore
from pourbook.book.rebuilding import rebuild, standing
from pourbook.book.store import Store
from pourbook.errors import Unknown

__all__ = ["NOW", "AsOf", "as_it_stood", "seen"]

_HAPPENS = ("pour", "gauge", "facts", "hold", "note", "packed", "recall", "release")
"""Kinds of entries about what happened to items; all others are about the book itself."""


class AsOf(NamedTuple):
    """What a paper is about: the time up to a moment (at_us), as `known` after an entry; None is now, and all."""

    at_us: int | None = None
    known: int | None = None


NOW = AsOf()


@contextmanager
def seen(book: BookCore, as_of: AsOf = NOW) -> Iterator[BookCore]:
    """The book as of then: itself, or a scratch book that is gone at the end.

    Raises:
        Unknown: the journal has no such entry.
    """
    if as_of == NOW:
        yield book
        return
    last = book.head_number()
    number = last if as_of.known is None else as_of.known
    if not 1 <= number <= last:
        raise Unknown(f"the journal has no entry {number}", f"give a number from 1 to {last}")
    with as_it_stood(book.store, number, as_of.at_us) as earlier:
        at_us = as_of.at_us
        yield BookCore(earlier, book.clock if at_us is None else lambda: at_us)


@contextmanager
def as_it_stood(store: Store, number: int, at_us: int | None = None) -> Iterator[Store]:
    """A scratch book of the entries up to that one, with their hashes; gone at the end.

    With a moment, what happened to items later is not in it, neither in the tables nor in the journal.

    Raises:
        PourbookError: the journal cannot be folded.
    """
    earlier = Store.scratch()
    try:
        with earlier.transaction():
            earlier.execute_many(
                "INSERT INTO entry (number, kind, happened, place, gone, bytes, hash) VALUES (?,?,?,?,0,?,?)",
                store.stream(
                    "SELECT number, kind, happened, number, bytes, hash FROM entry WHERE number <= ? ORDER BY number",
                    (number,),
                ),
            )
            for corrected, (gone, place) in standing(earlier).items():
                earlier.execute("UPDATE entry SET gone = ?, place = ? WHERE number = ?", (gone, place, corrected))
            if at_us is not None:
                marks = ", ".join("?" for _ in _HAPPENS)
                earlier.execute(f"DELETE FROM entry WHERE happened > ? AND kind IN ({marks})", (at_us, *_HAPPENS))
            rebuild(earlier)
        yield earlier
    finally:
        earlier.close()
